// What is due next, and what happens then: a chord that was early, a signal, a pulse, another idiom, a step, a figure's
// end.
#include <algorithm>

#include "dsp/player.h"

namespace seguente {

namespace {
constexpr int mostTurns = 512;  // a figure's steps at one sample, several times over
constexpr Ticks farTick{std::int64_t{1} << 60};
}  // namespace

void Player::schedule(const Stage& stage) noexcept {
  nextTick_ = farTick;
  turn_ = Turn::nothing;
  nextSample_ = never;
  if (!stage.clock.playing()) return;
  const auto consider = [&](Turn turn, Ticks tick) {
    if (tick < nextTick_) {
      nextTick_ = tick;
      turn_ = turn;
    }
  };
  if (hasPending_) consider(Turn::chord, pendingAt_);
  if (asked_ != Asked::nothing) consider(Turn::signal, askedAt_);
  if (mode_ == Mode::waiting) consider(Turn::pulse, nextPulse_);
  if (mode_ == Mode::running && !downbeatWaits_ && !landingWaits_ && asked_ != Asked::hold) {
    if (hasNextIdiom_) consider(Turn::idiom, idiomBar_);
    const Layer& layer = over_.figure != nullptr ? over_ : base_;
    if (layer.figure != nullptr)
      consider(layer.due < layer.until ? Turn::step : Turn::figure, std::min(layer.due, layer.until));
  }
  if (turn_ != Turn::nothing) nextSample_ = stage.clock.sampleOf(nextTick_);
}

void Player::takePending(Samples at, const Stage& stage) noexcept {
  const HeardChord heard = pending_;
  if (mode_ == Mode::running || mode_ == Mode::holding)
    activate(heard, pendingAt_, at, stage);
  else
    start(heard, pendingAt_, at, stage);
}

void Player::obeySignal(Samples at, const Stage& stage) noexcept {
  const Asked asked = asked_;
  become(asked == Asked::hold ? Mode::holding : Mode::running);
  heldByChart_ = false;
  reason_ = Reason::step;
  if (asked == Asked::hold) {
    startHold(askedAt_, at, stage);
    return;
  }
  stage.ledger.releaseAll(at, stage.sink);
  hasChord_ = hasChord_ && !gone_;
  if (asked == Asked::end)
    startEnd(askedAt_, stage);
  else if (hasChord_)
    enter(askedAt_, stage);
  else
    become(Mode::idle);
}

void Player::keepPulse(Samples at, const Stage& stage) noexcept {
  if (!stage.settings.waitForChord) {  // nobody waits any longer
    stage.ledger.releaseAll(at, stage.sink);
    hasChord_ = false;
    become(Mode::idle);
    return;
  }
  pulse(nextPulse_, at, stage);
  nextPulse_ = nextPulse_ + stage.clock.meter().beat();
}

void Player::changeIdiom(Samples at, const Stage& stage) noexcept {
  adoptIdiom();
  stage.ledger.shortenTo(idiomBar_, stage.clock);
  stage.ledger.releaseDue(at, stage.sink);
  over_.figure = nullptr;
  beginFigure(idiomBar_, stage);
}

inline void Player::playDue(Layer& layer, Samples at, const Stage& stage) noexcept {
  const Moment moment{nextTick_, nextSample_, at};  // of the layer's next step: it is this turn's
  const bool late = moment.due < at;
  if (!late) {  // from here on the hand is no longer late
    cause_ = DelayCause::none;
    if (reason_ == Reason::correction) reason_ = over_.figure != nullptr ? Reason::join : Reason::step;
  }
  // A short form that is cut, or a figure of any meter, sounds no further than its room.
  const bool cut = &layer == &over_ || active_->anyMeter;
  while (!layer.left.empty() && layer.due == moment.tick) {
    const Step& step = layer.left.front();
    Ticks off = layer.origin + swung(step.at + step.length);
    if (cut) off = std::min(off, layer.until);
    if (!late || stage.clock.sampleOf(off) > at) playStep(step, layer, moment, off, stage);
    passOver(layer);
  }
  lastStep_ = moment.tick;
}

inline void Player::step(Samples at, const Stage& stage) noexcept {
  if (over_.figure != nullptr)
    playDue(over_, at, stage);
  else if (!mayStop(stage) || nextTick_ != barAt(nextTick_, stage) || !stopsAt(nextTick_, at, stage))
    playDue(base_, at, stage);
}

void Player::endFigure(Samples at, const Stage& stage) noexcept {
  if (over_.figure != nullptr) {
    const Ticks until = over_.until;
    over_.figure = nullptr;
    reason_ = Reason::step;
    if (base_.figure != nullptr) seek(base_, until);
  } else if (base_.figure->kind == FigureKind::cadence && figures(stage).end.there()) {
    setBase(figures(stage).end, base_.until);
  } else if (closing()) {
    become(hasChord_ ? Mode::ended : Mode::idle);
    if (!hasChord_) stage.ledger.liftPedals(at, stage.sink);
  } else if (!stopsAt(base_.until, at, stage)) {
    beginFigure(base_.until, stage);
    // What may stop it at this bar line has just been asked: its first step comes in the same turn.
    if (base_.figure != nullptr && over_.figure == nullptr && base_.due == nextTick_) playDue(base_, at, stage);
  }
}

inline void Player::handle(Samples at, const Stage& stage) noexcept {
  // Fingers are landing on this beat, or just before it: whatever the figure has here is theirs to decide.
  if (stage.gather.landing() && turn_ >= Turn::idiom && fingersLand(nextTick_, stage)) {
    landingWaits_ = true;
    return;
  }
  switch (turn_) {
    case Turn::nothing:
      return;
    case Turn::chord:
      return takePending(at, stage);
    case Turn::signal:
      return obeySignal(at, stage);
    case Turn::pulse:
      return keepPulse(at, stage);
    case Turn::idiom:
      return changeIdiom(at, stage);
    case Turn::step:
      return step(at, stage);
    case Turn::figure:
      return endFigure(at, stage);
  }
}

void Player::run(Samples at, const Stage& stage) noexcept {
  // Bounded: each turn consumes a step, a figure, a gesture or a chord; figures have a length of at least one beat.
  for (int turns = 0; nextSample_ <= at && turns < mostTurns; ++turns) {
    handle(at, stage);
    schedule(stage);
  }
  if (nextSample_ > at) return;
  // Never seen since every place follows the clock; but the audio thread must not depend on that: from here on.
  base_.figure = over_.figure = nullptr;
  hasPending_ = false;
  turn_ = Turn::nothing;
  nextSample_ = {at.value + 1};
}

}  // namespace seguente
