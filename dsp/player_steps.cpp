// How a step is struck: its place under swing, its condition, its loudness, its keys, its reason.
#include <algorithm>

#include "dsp/idiom_family.h"
#include "dsp/player.h"

namespace seguente {

/// Long and short within a pair, at the swing in force when the figure began; whole pairs stay where they are.
Ticks Player::bent(Ticks straight) const noexcept {
  const auto pair = swingPair_.value;
  const auto half = pair / 2;
  const auto start = floorDivide(straight.value, pair) * pair;
  const auto place = straight.value - start;
  const auto longer = pair * swing_ / (1000 + swing_);
  if (place < half) return {start + place * longer / half};
  return {start + longer + (place - half) * (pair - longer) / half};
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

inline Velocity Player::velocityOf(const Step& step, const Part& part, const Stage& stage) const noexcept {
  const int played = part.level + 7 * step.stress;  // by ear: three of them are about one dynamic mark
  const int follow = (chord_.force.value - 64) * stage.settings.force / 100;
  return Velocity::clamped((played + follow) * stage.settings.level / 100);
}

void Player::playDue(Layer& layer, Samples at, const Stage& stage) noexcept {
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

/// The chord that comes after a step; null when nobody knows.
const Chord* Player::chordAfter(const Layer& layer, Ticks tick, const Stage& stage) const noexcept {
  if (hasPending_) return &pending_.chord;
  const Ticks next = layer.figure->kind == FigureKind::shortForm ? layer.until : tick + stage.clock.meter().beat();
  return stage.foresight.expected(next).chord;
}

void Player::playStep(const Step& step, const Layer& layer, const Moment& moment, Ticks off,
                      const Stage& stage) noexcept {
  const Settings& settings = stage.settings;
  const Part& part = active_->parts[step.part];
  const auto kind = static_cast<unsigned>(part.kind);
  if (((settings.partsOff >> step.part) & 1u) != 0 || ((settings.kindsOff >> kind) & 1u) != 0) return;
  if (!part.enabledByDefault && ((settings.kindsOn >> kind) & 1u) == 0) return;
  if (step.condition != Condition::always && !conditionHolds(step.condition, stage)) return;
  const bool oneHand =
      settings.density == Density::lean && (part.kind == PartKind::chords || part.kind == PartKind::bass);
  const VoicingContext context{
      .chord = &chord_.chord,
      .degrees = &chord_.degrees,
      .next = step.play.leads() ? chordAfter(layer, moment.tick, stage) : nullptr,
      .key = stage.key,
      .hand = chord_.hand,
      .lowestSounding = part.kind == PartKind::chords ? stage.ledger.lowestSounding() : 128,
      .spanLimit = oneHand ? settings.handSpan : 127,
      .octaves = settings.registerShift,
  };
  Attack& attack = stage.ledger.newAttack();
  stage.voicing.voice(step, part, context, attack.keys);
  const bool late = moment.due < moment.at;
  Strike& each = attack.each;
  each.channel = settings.outputChannel[step.part];
  each.velocity = velocityOf(step, part, stage);
  each.off = off;
  each.tick = late ? stage.clock.tickAt(moment.at) : moment.tick;
  each.reason = {0,          step.part,  layer.figure->kind, step.row, step.play.kind,
                 {},         chord_.id,  chord_.revision,    reason_,  late ? cause_ : DelayCause::none,
                 moment.due, moment.tick};
  if (part.pedal) stage.ledger.pressPedal(each.channel, moment.at, stage.sink);
  stage.ledger.strike(attack, stage.clock, moment.at, stage.sink);
}

/// The pulse that stays, softly, while the hand looks for the next chord: the bass alone on each beat.
void Player::pulse(Ticks tick, Samples at, const Stage& stage) noexcept {
  if (active_ == nullptr && idiom_.idiom != nullptr) active_ = inMeter(*idiom_.idiom, stage.clock.meter());
  if (active_ == nullptr || active_->parts.empty() || !hasChord_) return;
  Step step;
  step.play.count = 1;
  step.stress = -3;
  const Layer layer = layerOf(base_.figure != nullptr ? *base_.figure : active_->figures.front(), tick, tick);
  reason_ = Reason::hold;
  const Moment moment{tick, stage.clock.sampleOf(tick), at};
  playStep(step, layer, moment, tick + Ticks{stage.clock.meter().beat().value / 2}, stage);
}

}  // namespace seguente
