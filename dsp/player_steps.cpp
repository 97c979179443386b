// What is due next, and how a step is struck: its place under swing, its condition, its loudness, its keys, its reason.
// Nearly every moment runs through here, so what is the same for many steps is worked out in prepareParts.
#include <algorithm>

#include "dsp/idiom_family.h"
#include "dsp/player.h"

namespace seguente {

namespace {
constexpr int mostTurns = 512;  // a figure's steps at one sample, several times over
constexpr Ticks farTick{std::int64_t{1} << 60};
}  // namespace

/// Long and short within a pair.
Ticks Player::bent(Ticks straight) const noexcept { return seguente::swung(straight, swing_, swingPair_); }

bool Player::conditionHolds(Condition condition, const Stage& stage) const noexcept {
  if (condition == Condition::tuneRests) return stage.tune.leavesRoom(next_.due);
  const Chord& chord = chord_.chord;
  bool blue = semitonesOf(chord_.degrees, {3, 0}) == 4;
  const PitchClass third = chord.root + Interval{3};
  for (const int near : {-1, 0, 1}) {
    const auto p = third + Interval{near};
    blue = blue && !stage.melodyHeld.pitchClasses().has(p);
  }
  return blue == (condition == Condition::majorThirdWithRoom);
}

/// How hard each part is struck, by stress; by ear: three steps of stress are about one dynamic mark.
void Player::prepareLevels(const Stage& stage) noexcept {
  const Settings& settings = stage.settings;
  levelsFor_ = forceNow(stage);
  const int follow = (levelsFor_.value - 64) * settings.force / 100;
  for (std::size_t i = 0; i < std::min(active_->parts.size(), parts_.size()); ++i) {
    int played = active_->parts[i].level + follow - 4 * 7;
    for (Velocity& velocity : parts_[i].velocity) {
      velocity = Velocity::clamped(played * settings.level / 100);
      played += 7;
    }
  }
  levelsReady_ = true;
}

/// Off, or left off by the idiom and not asked for.
std::uint8_t Player::partsSilent(const Settings& settings) const noexcept {
  unsigned silent = settings.partsOff;
  for (std::size_t i = 0; i < std::min(active_->parts.size(), parts_.size()); ++i) {
    const Part& part = active_->parts[i];
    const auto kind = static_cast<unsigned>(part.kind);
    const bool off = (settings.kindsOff >> kind & 1u) != 0;
    const bool unasked = !part.enabledByDefault && (settings.kindsOn >> kind & 1u) == 0;
    if (off || unasked) silent |= 1u << i;
  }
  return static_cast<std::uint8_t>(silent);
}

void Player::settingsChanged(Samples at, const Stage& stage) noexcept {
  partsReady_ = levelsReady_ = memberReady_ = false;
  const std::uint8_t silent = active_ == nullptr ? silentParts_ : partsSilent(stage.settings);
  if (silent == silentParts_) return;
  silentParts_ = silent;
  // A part that is asked for comes in with its next step, not with those that have gone by unheard.
  for (Layer* const layer : {&base_, &over_}) {
    if (layer->figure == nullptr) continue;
    const Ticks next = layer->due;
    seek(*layer, lastStep_ + Ticks{1});
    while (layer->due < next && stage.clock.sampleOf(layer->due) < at) passOver(*layer);
  }
  schedule(stage);
}

void Player::prepareParts(const Stage& stage) noexcept {
  const Settings& settings = stage.settings;
  if (!levelsReady_ || levelsFor_ != forceNow(stage)) prepareLevels(stage);
  upperReady_ = false;
  voicing_.chord = &chord_.chord;
  voicing_.degrees = &chord_.degrees;
  voicing_.upper = &upper_;
  voicing_.hand = chord_.hand;
  voicing_.scale = stage.key.known ? scaleOf(stage.key) : PitchClassSet{0xFFF};
  voicing_.octaves = settings.registerShift;
  barKeys(stage);
  for (std::size_t i = 0; i < std::min(active_->parts.size(), parts_.size()); ++i) {
    const Part& part = active_->parts[i];
    const bool oneHand =
        settings.density == Density::lean && (part.kind == PartKind::chords || part.kind == PartKind::bass);
    PartNow& now = parts_[i];
    now.pedal = part.pedal;
    now.strike.channel = settings.outputChannel[i];
    now.strike.reason.part = static_cast<std::uint8_t>(i);
    now.strike.reason.chordId = chord_.id;
    now.strike.reason.chordRevision = chord_.revision;
    now.spanLimit = oneHand ? settings.handSpan : 127;
    now.voiced = voicedPart(part, voicing_);
  }
  partsReady_ = true;
}

/// The chord that comes after a step, if anybody knows it.
inline void Player::lookAhead(const Layer& layer, Ticks tick, const Stage& stage) noexcept {
  voicing_.next = nullptr;
  aheadBy_ = ExpectedSource::nobody;
  if (stage.foresight.silent()) return;
  const Ticks next = layer.figure->kind == FigureKind::shortForm ? layer.until : tick + stage.clock.meter().beat();
  const Expected e = stage.foresight.expected(next);
  voicing_.next = e.chord;
  aheadBy_ = e.source;
}

/// The plainest step, and the most frequent: one key, on time. Alone in its function, so that its values stay in
/// registers.
template <bool leads>
[[gnu::noinline]] void Player::playOne(const Step& step, const Layer& layer, Samples at, Ticks off,
                                       const Stage& stage) noexcept {
  const PartNow& now = parts_[step.part];
  if constexpr (leads) lookAhead(layer, next_.tick, stage);
  VoicedKey key = leads ? stage.voicing.voiceLeading(step, now.voiced, voicing_)
                        : stage.voicing.voiceDegree(step, now.voiced, voicing_);
  if (anyBarred_ && !yields(step, now, key, stage)) return;
  Attack& attack = stage.ledger.newAttack();
  fillAttack(attack, now, step, layer.figure->kind, next_, off);
  if constexpr (leads) tellAhead(attack.each.reason);
  if (now.pedal) stage.ledger.pressPedal(now.strike.channel, at, stage.sink);
  stage.ledger.strikeOne(attack, key, stage.clock.sampleOf(off), at, stage.sink);
}

/// Any step.
[[gnu::noinline]] void Player::playStep(const Step& step, const Layer& layer, const Moment& moment, Samples at,
                                        Ticks off, const Stage& stage) noexcept {
  if (!partsReady_) prepareParts(stage);
  const PartNow& now = parts_[step.part];
  if ((silentParts_ >> step.part & 1u) != 0) return;  // of a hold, or the pulse
  if (step.condition != Condition::always) {
    if (step.condition == Condition::apart) return playApart(step, layer, moment, at, off, stage);
    if (!conditionHolds(step.condition, stage)) return;
  }
  lookAround(step, now, stage);
  if (step.play.leads()) lookAhead(layer, moment.tick, stage);
  Attack& attack = stage.ledger.newAttack();
  attack.keys.count = 0;
  stage.voicing.voice(step, now.voiced, voicing_, attack.keys);
  if (anyBarred_) leaveRoom(step, now, attack.keys, stage);
  fillAttack(attack, now, step, layer.figure->kind, moment, off);
  if (step.play.leads()) tellAhead(attack.each.reason);
  send(attack, now, moment, at, stage);
}

[[gnu::always_inline]] inline void Player::playDue(Layer& layer, Samples at, const Stage& stage) noexcept {
  const Moment& moment = next_;  // of the layer's next step: it is this turn's
  const bool late = moment.due < at;
  if (!late) {  // from here on the hand is no longer late
    cause_ = DelayCause::none;
    if (reason_ == Reason::correction) reason_ = over_.figure != nullptr ? Reason::join : Reason::step;
  }
  while (!layer.left.empty() && layer.due == moment.tick) {
    const Step& step = layer.left.front();
    Ticks off = layer.origin + swungEnd(step);
    if (off > layer.until && cut(layer)) off = layer.until;
    const bool plain = !late && partsReady_ && step.condition == Condition::always;
    if (plain && step.play.oneDegree())
      playOne<false>(step, layer, at, off, stage);
    else if (plain && step.play.leads())
      playOne<true>(step, layer, at, off, stage);
    else if (!late || stage.clock.sampleOf(off) > at)
      playStep(step, layer, moment, at, off, stage);
    passOver(layer);
  }
  lastStep_ = moment.tick;
}

/// A layer that runs with nothing else asked for: its next step is next, or its end.
inline void Player::awaitStep(const Layer& layer, const Stage& stage) noexcept {
  const bool step = layer.due < layer.until;
  const Ticks tick = step ? layer.due : layer.until;
  turn_ = step ? Turn::step : Turn::figure;
  next_ = {tick, stage.clock.sampleOf(tick)};
}

inline void Player::findTurn(const Stage& stage) noexcept {
  next_.tick = farTick;
  turn_ = Turn::nothing;
  next_.due = never;
  if (!stage.clock.playing()) return;
  const auto consider = [&](Turn turn, Ticks tick) {
    if (tick < next_.tick) {
      next_.tick = tick;
      turn_ = turn;
    }
  };
  if (hasPending_) consider(Turn::chord, pendingAt_);
  if (asked_ != Asked::nothing) consider(Turn::signal, askedAt_);
  if (mode_ == Mode::waiting) consider(Turn::pulse, nextPulse_);
  if (mode_ == Mode::running && !downbeatWaits_ && !landingWaits_ && asked_ != Asked::hold) {
    if (hasNextIdiom_) consider(Turn::idiom, idiomBar_);
    const Layer& layer = running();
    if (layer.figure != nullptr)
      consider(layer.due < layer.until ? Turn::step : Turn::figure, std::min(layer.due, layer.until));
  }
  if (turn_ != Turn::nothing) next_.due = stage.clock.sampleOf(next_.tick);
}

void Player::schedule(const Stage& stage) noexcept { findTurn(stage); }

inline FigureRef Player::choose(const DensityFigures& f, Ticks bar, const Stage& stage) noexcept {
  if (f.vamp.there() && !stage.melodyHeard) return f.vamp;
  // The end of eight bars is livelier: the last, or the last two; where four end on the dominant they end open. Common
  // practice, no source: phrases of eight bars in two halves.
  if (f.halfCadence.there() && onDominant(stage) && endsPhrase(f.halfCadence, bar, 4, stage)) {
    closesHalf_ = false;
    return f.halfCadence;
  }
  if (f.lift.there() && endsPhrase(f.lift, bar, 8, stage)) return f.lift;
  return f.answer.there() && !answered_ ? f.answer : f.statement;
}

/// A figure begins on a bar line: statement, answer, vamp or lift; a short form over it when it is known that the chord
/// will not last.
[[gnu::always_inline]] inline void Player::layFigure(Ticks bar, const Stage& stage) noexcept {
  if (!memberReady_ || !(meter_ == stage.clock.meter())) chooseMember(stage);
  if (active_ == nullptr) {
    base_.figure = nullptr;
    return;
  }
  const DensityFigures& f = *figuresNow_;
  const FigureRef chosen = choose(f, bar, stage);
  setBase(chosen, bar);
  if (active_->anyMeter) base_.until = bar + stage.clock.meter().bar();
  answered_ = chosen.index != f.statement.index || chordSince_ > bar;
  if (!stage.foresight.silent()) layExpected(bar, stage);
}

void Player::beginFigure(Ticks bar, const Stage& stage) noexcept { layFigure(bar, stage); }

/// The base figure has ended, and nothing stops what comes after it.
[[gnu::always_inline]] inline Player::Layer* Player::layNext(const Stage& stage) noexcept {
  layFigure(base_.until, stage);
  // What may stop it at this bar line has just been asked: its first step comes in the same turn.
  return base_.figure != nullptr && over_.figure == nullptr && base_.due == next_.tick ? &base_ : nullptr;
}

Player::Layer* Player::nextFigure(const Stage& stage) noexcept { return layNext(stage); }

void Player::run(Samples at, const Stage& stage) noexcept {
  // Bounded: each turn consumes a step, a figure, a gesture or a chord; figures have a length of at least one beat.
  int turns = 0;
  do {
    const bool plain = turn_ >= Turn::step && stage.gather.atRest() && !stage.foresight.charted();
    Layer* const due = !plain                                   ? handle(at, stage)
                       : turn_ == Turn::step                    ? &running()
                       : over_.figure == nullptr && goesRound() ? layNext(stage)
                                                                : endFigure(at, stage);
    if (due != nullptr) playDue(*due, at, stage);
    if (due != nullptr && !hasPending_ && asked_ == Asked::nothing && !hasNextIdiom_)
      awaitStep(*due, stage);
    else
      findTurn(stage);
    if (next_.due > at) return;
  } while (++turns < mostTurns);
  // Never seen since every place follows the clock; but the audio thread must not depend on that: from here on.
  base_.figure = over_.figure = nullptr;
  forgetPending(stage);
  turn_ = Turn::nothing;
  next_.due = {at.value + 1};
}

/// The pulse that stays, softly, while the hand looks for the next chord: the bass alone on each beat.
void Player::pulse(Ticks tick, Samples at, const Stage& stage) noexcept {
  if (active_ == nullptr && idiom_.idiom != nullptr) playBy(inMeter(*idiom_.idiom, stage.clock.meter()));
  if (active_ == nullptr || active_->parts.empty() || !hasChord_) return;
  Step step;
  step.play.count = 1;
  step.stress = -3;
  const Layer layer = layerOf(base_.figure != nullptr ? *base_.figure : active_->figures.front(), tick, tick);
  reason_ = Reason::hold;
  const Moment moment{tick, stage.clock.sampleOf(tick)};
  playStep(step, layer, moment, at, tick + Ticks{stage.clock.meter().beat().value / 2}, stage);
}

}  // namespace seguente
