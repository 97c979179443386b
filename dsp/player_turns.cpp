// What happens in a turn that is no plain step: a chord that was early, a signal, a pulse, another idiom, a step or a
// figure's end at which something may stop it.
#include <algorithm>

#include "dsp/player.h"

namespace seguente {

namespace {
constexpr std::int64_t tagBars = 4;  // the last line of a song; common practice, no source
}  // namespace

void Player::takePending(Samples at, const Stage& stage) noexcept {
  const HeardChord heard = pending_;
  if (mode_ == Mode::running || mode_ == Mode::holding)
    activate(heard, pendingAt_, at, stage);
  else
    start(heard, pendingAt_, at, stage);
}

void Player::obeySignal(Samples at, const Stage& stage) noexcept {
  const Asked asked = asked_;
  if (asked == Asked::turnaround || asked == Asked::tag) {
    asked_ = Asked::nothing;
    const Ticks bar = stage.clock.meter().bar();
    if (asked == Asked::tag)
      stage.foresight.expectAgain(askedAt_ - bar * tagBars, askedAt_, bar);
    else
      startTurnaround(askedAt_, at, stage);
    return;
  }
  become(asked == Asked::hold ? Mode::holding : Mode::running);
  heldByChart_ = false;
  reason_ = Reason::step;
  if (asked == Asked::hold) {
    startHold(askedAt_, at, stage);
    return;
  }
  if (hasNextIdiom_ && idiomBar_ <= askedAt_) adoptIdiom();  // its bar has gone by while the chord was held on
  stage.ledger.releaseAll(at, stage.sink);
  takeUpRound(stage);
  hasChord_ = hasChord_ && !gone_;
  if (asked == Asked::end)
    startEnd(askedAt_, stage);
  else if (hasChord_)
    enter(askedAt_, stage);
  else
    become(Mode::idle);
}

/// What a kept round has missed while its chord was held on comes by whole bars later.
void Player::takeUpRound(const Stage& stage) noexcept {
  Rounds& rounds = stage.foresight.rounds();
  if (!rounds.kept()) return;
  const Ticks bar = stage.clock.bar();
  const auto missed = (askedAt_ - rounds.coming().at).value;
  if (missed > 0) rounds.shift(bar * ((missed + bar.value - 1) / bar.value));
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

Player::Layer* Player::step(Samples at, const Stage& stage) noexcept {
  if (over_.figure != nullptr) return &over_;
  return next_.tick != barAt(next_.tick, stage) || !stopsAt(next_.tick, at, stage) ? &base_ : nullptr;
}

Player::Layer* Player::handle(Samples at, const Stage& stage) noexcept {
  // Fingers are landing on this beat, or just before it: whatever the figure has here is theirs to decide.
  if (stage.gather.landing() && turn_ >= Turn::idiom && fingersLand(next_.tick, stage)) {
    landingWaits_ = true;
    return nullptr;
  }
  switch (turn_) {
    case Turn::nothing:
      break;
    case Turn::chord:
      takePending(at, stage);
      break;
    case Turn::signal:
      obeySignal(at, stage);
      break;
    case Turn::pulse:
      keepPulse(at, stage);
      break;
    case Turn::idiom:
      changeIdiom(at, stage);
      break;
    case Turn::step:
      return step(at, stage);
    case Turn::figure:
      return endFigure(at, stage);
  }
  return nullptr;
}

}  // namespace seguente
