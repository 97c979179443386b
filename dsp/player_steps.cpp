// How a step is struck: its place under swing, its condition, its loudness, its keys, its reason.
#include <algorithm>

#include "dsp/idiom_family.h"
#include "dsp/player.h"

namespace seguente {

/// Long and short within a pair, at the swing in force when the figure began; whole pairs stay where they are.
Ticks Player::swung(Ticks straight) const noexcept {
  if (swing_ == 1000) return straight;
  const auto pair = swingPair_.value;
  const auto half = pair / 2;
  const auto start = floorDivide(straight.value, pair) * pair;
  const auto place = straight.value - start;
  const auto longer = pair * swing_ / (1000 + swing_);
  if (place < half) return {start + place * longer / half};
  return {start + longer + (place - half) * (pair - longer) / half};
}

void Player::setCursor(Layer& layer, std::uint16_t cursor) const noexcept {
  layer.cursor = cursor;
  layer.due = cursor < layer.figure->first + layer.figure->count ? layer.origin + swung(active_->steps[cursor].at)
                                                                 : layer.until;
}

bool Player::conditionHolds(Condition condition, const Stage& stage) const noexcept {
  if (condition == Condition::always) return true;
  const Chord& chord = chord_.chord;
  bool blue = semitonesOf(chord_.degrees, {3, 0}) == 4;
  const PitchClass third = chord.root + Interval{3};
  for (const int near : {-1, 0, 1}) {
    const auto p = third + Interval{near};
    blue = blue && !stage.melodyHeld.pitchClasses().has(p);
  }
  return blue == (condition == Condition::majorThirdWithRoom);
}

Velocity Player::velocityOf(const Step& step, const Part& part, const Stage& stage) const noexcept {
  const int played = part.level + 7 * step.stress;  // by ear: three of them are about one dynamic mark
  const int follow = (chord_.force.value - 64) * stage.settings.force / 100;
  return Velocity::clamped((played + follow) * stage.settings.level / 100);
}

void Player::playDue(Layer& layer, Samples at, const Stage& stage) noexcept {
  const Ticks tick = layer.due;
  const Figure& figure = *layer.figure;
  const bool late = stage.clock.sampleOf(tick) < at;
  if (!late) {  // from here on the hand is no longer late
    cause_ = DelayCause::none;
    if (reason_ == Reason::correction) reason_ = over_.figure != nullptr ? Reason::join : Reason::step;
  }
  while (layer.cursor < figure.first + figure.count && layer.due == tick) {
    const Step& step = active_->steps[layer.cursor];
    Ticks off = layer.origin + swung(step.at + step.length);
    // A short form that is cut, or a figure of any meter, sounds no further than its room.
    if (&layer == &over_ || active_->anyMeter) off = std::min(off, layer.until);
    if (!late || stage.clock.sampleOf(off) > at) playStep(step, layer, tick, off, at, stage);
    setCursor(layer, static_cast<std::uint16_t>(layer.cursor + 1));
  }
  lastStep_ = tick;
}

/// The chord that a leading step leads to; null when nobody knows.
const Chord* Player::chordAfter(const Step& step, const Layer& layer, Ticks tick, const Stage& stage) const noexcept {
  if (step.play.kind != PlayKind::nextBass && step.play.kind != PlayKind::approach) return nullptr;
  if (hasPending_) return &pending_.chord;
  const Ticks next = layer.figure->kind == FigureKind::shortForm ? layer.until : tick + stage.clock.meter().beat();
  return stage.foresight.expected(next).chord;
}

void Player::playStep(const Step& step, const Layer& layer, Ticks tick, Ticks off, Samples at,
                      const Stage& stage) noexcept {
  const Settings& settings = stage.settings;
  const Part& part = active_->parts[step.part];
  const auto kind = static_cast<unsigned>(part.kind);
  if (((settings.partsOff >> step.part) & 1u) != 0 || ((settings.kindsOff >> kind) & 1u) != 0) return;
  if (!part.enabledByDefault && ((settings.kindsOn >> kind) & 1u) == 0) return;
  if (!conditionHolds(step.condition, stage)) return;
  VoicingContext context;
  context.chord = &chord_.chord;
  context.degrees = &chord_.degrees;
  context.next = chordAfter(step, layer, tick, stage);
  context.key = stage.key;
  context.hand = chord_.hand;
  context.octaves = settings.registerShift;
  if (part.kind == PartKind::chords || part.kind == PartKind::bass) {
    context.lowestSounding = part.kind == PartKind::chords ? stage.ledger.lowestSounding() : 128;
    if (settings.density == Density::lean) context.spanLimit = settings.handSpan;
  }
  const VoicedKeys keys = stage.voicing.voice(step, part, context);
  const Samples due = stage.clock.sampleOf(tick);
  Strike strike;
  strike.channel = settings.outputChannel[step.part];
  strike.velocity = velocityOf(step, part, stage);
  strike.off = off;
  strike.tick = due >= at ? tick : stage.clock.tickAt(at);
  strike.reason = {0,   step.part, layer.figure->kind, step.row, step.play.kind,
                   {},  chord_.id, chord_.revision,    reason_,  due >= at ? DelayCause::none : cause_,
                   due, tick};
  if (part.pedal) stage.ledger.pressPedal(strike.channel, at, stage.sink);
  for (std::size_t i = 0; i < keys.count; ++i) {
    strike.note = keys.keys[i];
    strike.reason.degree = keys.degrees[i];
    stage.ledger.strike(strike, stage.clock, at, stage.sink);
  }
}

/// The pulse that stays, softly, while the hand looks for the next chord: the bass alone on each beat.
void Player::pulse(Ticks tick, Samples at, const Stage& stage) noexcept {
  if (active_ == nullptr && idiom_.idiom != nullptr) active_ = inMeter(*idiom_.idiom, stage.clock.meter());
  if (active_ == nullptr || active_->parts.empty() || !hasChord_) return;
  Step step;
  step.play.count = 1;
  step.stress = -3;
  const Layer layer{base_.figure != nullptr ? base_.figure : &active_->figures.front(), tick, tick, 0, tick};
  reason_ = Reason::hold;
  playStep(step, layer, tick, tick + Ticks{stage.clock.meter().beat().value / 2}, at, stage);
}

}  // namespace seguente
