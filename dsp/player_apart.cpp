// What is struck apart from the plain path: a turnaround over chords of its own, and the counter-line.
#include <algorithm>

#include "dsp/player.h"

namespace seguente {

/// What is voiced from here on: a chord of the idiom's turnaround, or (0) the one that is held. Over a minor chord each
/// tone that its harmonic minor scale lacks is lowered by a semitone: I-vi-ii-V becomes i-VI-iio-V.
void Player::playOver(std::uint8_t chord, const Stage& stage) noexcept {
  const bool own = voicing_.chord == &own_;
  if (chord == 0 ? !own : own && chord == ownPlace_) return;
  stage.voicing.chordChanged(reachFor(next_.tick, next_.due, stage));
  upperReady_ = false;
  if (chord == 0) {
    partsReady_ = false;
    voicing_.chord = &chord_.chord;
    voicing_.degrees = &chord_.degrees;
    for (std::size_t i = 0; i < std::min(active_->parts.size(), parts_.size()); ++i)
      parts_[i].voiced = voicedPart(active_->parts[i], voicing_);
    return;
  }
  constexpr PitchClassSet harmonicMinor{0b100110101101};
  const bool minor = semitonesOf(chord_.degrees, {3, 0}) == 3;
  own_ = active_->chords[chord];
  const auto lowered = [&](unsigned tone) {
    return minor && !harmonicMinor.has(PitchClass::of(static_cast<int>(tone))) ? 1u : 0u;
  };
  const unsigned root = own_.root.value, down = lowered(root);
  for (std::size_t i = 0; i < own_.count; ++i)
    own_.tones[i] = static_cast<std::uint8_t>(own_.tones[i] + down - lowered(root + own_.tones[i]));
  own_.root = own_.bass = chord_.chord.root + Interval{static_cast<int>(root - down)};
  ownDegrees_ = degreesOf(own_);
  ownPlace_ = chord;
  voicing_.chord = &own_;
  voicing_.degrees = &ownDegrees_;
  upper_ = upperTonesOf(own_);
  upperReady_ = true;
  for (PartNow& part : parts_) part.voiced.foreignBass = false;
}

/// Fills in the bass: what it struck last, and what it strikes together with this step, found on a voicing of its own.
void Player::findBass(const Step& step, const Layer& layer, LineContext& line, const Stage& stage) noexcept {
  Voicing ahead = stage.voicing;
  const auto isBass = [&](std::size_t part) {
    return part < active_->parts.size() && active_->parts[part].kind == PartKind::bass &&
           ((silentParts_ >> part) & 1u) == 0;
  };
  for (std::size_t part = 0; part < limits::parts; ++part)
    if (const int last = ahead.lastKey(part); isBass(part) && last >= 0)
      line.bassBefore = std::min(line.bassBefore, last);
  line.bass = line.bassBefore;
  for (const Step& other : layer.left) {
    if (other.at != step.at) break;
    if (!isBass(other.part) || other.condition != Condition::always) continue;
    VoicedKeys keys;
    if (other.play.leads())
      voicing_.next =
          stage.foresight.silent() ? nullptr : stage.foresight.expected(next_.tick + stage.clock.meter().beat()).chord;
    ahead.voice(other, parts_[other.part].voiced, voicing_, keys);
    if (keys.count == 0) continue;
    if (const int last = stage.voicing.lastKey(other.part); last >= 0) line.bassBefore = last;
    if (const int root = stage.voicing.lastRoot(other.part); root >= 0) line.rootBefore = root;
    line.bass = keys.keys[0].value;
    break;
  }
}

VoicedKeys Player::lineKeys(const Step& step, const Layer& layer, const Stage& stage) noexcept {
  LineContext line;
  line.tune = stage.tune.lowest();
  line.tuneBefore = stage.tune.before(next_.due);
  line.ceiling = voicing_.ceiling;
  line.noParallels = active_->parts[step.part].noParallels;
  if (anyBarred_) line.barred = barred_;
  findBass(step, layer, line, stage);
  VoicedKeys keys;
  const int key = stage.voicing.lineKey(step.part, parts_[step.part].voiced, voicing_, line);
  if (key < 128) keys.add(keyWithin(key), degreeOf(*voicing_.chord, keyWithin(key)));
  return keys;
}

void Player::playApart(const Step& step, const Layer& layer, const Moment& moment, Samples at, Ticks off,
                       const Stage& stage) noexcept {
  const PartNow& now = parts_[step.part];
  const bool line = step.play.kind == PlayKind::line;
  if (!line) playOver(step.over, stage);
  lookAround(step, now, stage);
  voicing_.next = &chord_.chord;  // where a turnaround leads
  aheadBy_ = ExpectedSource::nobody;
  Attack& attack = stage.ledger.newAttack();
  attack.keys.count = 0;
  if (line) {
    attack.keys = lineKeys(step, layer, stage);
  } else {
    stage.voicing.voice(step, now.voiced, voicing_, attack.keys);
    if (anyBarred_) leaveRoom(step, now, attack.keys, stage);
    for (std::size_t i = 0; i < attack.keys.count; ++i)  // told over the chord that is told
      attack.keys.degrees[i] = degreeOf(chord_.chord, attack.keys.keys[i]);
  }
  fillAttack(attack, now, step, layer.figure->kind, moment, off);
  if (step.play.leads()) tellAhead(attack.each.reason);
  send(attack, now, moment, at, stage);
}

}  // namespace seguente
