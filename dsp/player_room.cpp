// Room for the tune, and its phrases: no key of ours over it within an octave, none on its key or a semitone under it,
// lighter while it moves, louder and softer with it. Common practice, no source.
#include <algorithm>
#include <cstdlib>

#include "dsp/player.h"

namespace seguente {

namespace {
constexpr int ninth = 13;
constexpr int lowestBass = 21;       // A0: a piano's lowest key
constexpr int substituteWithin = 3;  // semitones: a foreign note yields to a tone of the chord

/// A semitone under the tune, and up to a major seventh over it.
bool inTheWay(int key, int tune) noexcept { return key >= tune - 1 && key < tune + 12; }
}  // namespace

/// How hard the hand plays; once there is a tune, by half the hand and by half the tune, which is played louder by 16.
Velocity Player::forceNow(const Stage& stage) const noexcept {
  if (!stage.tune.heard()) return chord_.force;
  return Velocity::clamped((chord_.force.value + stage.tune.loudness().value - 16) / 2);
}

void Player::barKeys(const Stage& stage) noexcept {
  barred_ = {};
  voicing_.ceiling = stage.tune.floor() - 2;
  const int lowest = stage.tune.lowest();
  anyBarred_ = lowest < 128;
  if (!anyBarred_) return;
  for (int key = std::max(0, lowest - 1); key < std::min(128, lowest + 12); ++key) barred_.add(keyWithin(key));
  // A minor ninth under a note of the tune only where the chord has it.
  if (!hasChord_) return;
  const PitchClassSet tones = tonesWithBass(chord_.chord);
  stage.tune.held().forEach([&](NoteNumber note) {
    const int under = note.value - ninth;
    if (under >= 0 && !tones.has(PitchClass::of(under))) barred_.add(keyWithin(under));
  });
}

/// V-I, or V at the end: one of the chords that begin here is reached from its dominant, or the last of them is the
/// key's.
bool Player::cadenceIn(Ticks from, Ticks to, const Stage& stage) const noexcept {
  const bool inForce = stage.foresight.before() != nullptr && chordSince_ >= from && chordSince_ < to;
  return inForce && (cameFromDominant(stage) || onDominant(stage));
}

/// Where phrases end is felt: first by where the tune comes in, which ends the vamp; then by long notes and rests of
/// the tune, twice as much where there is a cadence. When another bar of eight has clearly more for it than the one
/// that is counted as the last, phrases are counted anew. Common practice, no source.
[[gnu::noinline]] void Player::feelPhrase(Samples at, const Stage& stage) noexcept {
  constexpr int clearly = 3, most = 12;
  constexpr std::size_t last = 7;  // of eight bars
  const Ticks now = stage.clock.tickAt(at), length = stage.clock.bar();
  const Ticks bar = barAt(now, stage);
  const bool upbeat = (now - bar).value * 2 >= length.value;
  if (!tuneCame_) {
    tuneCame_ = true;
    startBar_ = upbeat ? bar + length : bar;
    return;
  }
  const Ticks since = stage.clock.tickAt(at - stage.tune.paused());
  if ((now - since).value * 4 < length.value * 3) return;
  const Ticks ending = upbeat ? bar : bar - length;
  const auto counted = floorDivide((ending - startBar_).value, length.value);
  const auto place = static_cast<std::size_t>(counted - floorDivide(counted, 8) * 8);
  const int more = cadenceIn(ending, ending + length, stage) ? 2 : 1;
  felt_[place] = static_cast<std::uint8_t>(std::min(most, felt_[place] + more));
  if (felt_[place] < felt_[last] + clearly) return;
  startBar_ = ending + length;
  std::rotate(felt_.begin(), felt_.begin() + static_cast<std::ptrdiff_t>(place + 1), felt_.end());
}

void Player::tuneMoved(bool struck, Samples at, const Stage& stage) noexcept {
  lightness_ = stage.tune.moves() ? 3 : 4;
  barKeys(stage);
  if (struck && mode_ != Mode::idle && anyBarred_) {
    const int lowest = stage.tune.lowest();
    stage.ledger.giveWay(lowest - 1, lowest + 11, at, stage.sink);
  }
  if (struck && mode_ == Mode::running && (!tuneCame_ || stage.tune.paused().value > 0)) feelPhrase(at, stage);
  // Small changes of loudness wait for the next chord.
  if (levelsReady_ && std::abs(forceNow(stage).value - levelsFor_.value) >= 4) partsReady_ = false;
}

/// Another key for one that is in the tune's way, or false: then it is left out. A bass is never left out.
[[gnu::noinline]] bool Player::yields(const Step& step, const PartNow& now, VoicedKey& key,
                                      const Stage& stage) const noexcept {
  if (!barred_.has(key.key)) return true;
  const int was = key.key.value;
  const bool bass = now.voiced.kind == PartKind::bass;
  if (inTheWay(was, stage.tune.lowest())) {
    const int under = was - 12;
    const bool room = under >= (bass ? lowestBass : now.voiced.in.low) && !barred_.has(keyWithin(under));
    if (room) key.key = keyWithin(under);
    return room || bass;
  }
  if (step.length < stage.clock.meter().beat()) return true;  // it passes
  const PitchClassSet tones = tonesWithBass(chord_.chord);
  for (int away = 1; away <= substituteWithin; ++away) {
    const NoteNumber other = keyWithin(was - away);
    if (barred_.has(other) || !tones.has(other.pitchClass())) continue;
    key = {other, degreeOf(chord_.chord, other)};
    return true;
  }
  return bass;
}

/// The same for keys that are struck together: a bass goes an octave lower as a whole, of the others those that are in
/// the way are left out, and when all are, all go an octave lower if there they are clear.
[[gnu::noinline]] void Player::leaveRoom(const Step& step, const PartNow& now, VoicedKeys& keys,
                                         const Stage& stage) const noexcept {
  if (now.voiced.kind == PartKind::percussion) return;
  VoicedKeys left;
  const int lowest = stage.tune.lowest();
  const bool passes = step.length < stage.clock.meter().beat();
  for (std::size_t i = 0; i < keys.count; ++i) {
    const bool foreign = !inTheWay(keys.keys[i].value, lowest);
    if (!barred_.has(keys.keys[i]) || (foreign && passes)) left.add(keys.keys[i], keys.degrees[i]);
  }
  if (left.count == keys.count) return;
  const bool bass = now.voiced.kind == PartKind::bass;
  if (left.count > 0 && !bass) {
    keys = left;
    return;
  }
  bool clear = keys.keys[0].value - 12 >= (bass ? lowestBass : now.voiced.in.low);
  VoicedKeys lower;
  for (std::size_t i = 0; i < keys.count && clear; ++i) {
    lower.add(keyWithin(keys.keys[i].value - 12), keys.degrees[i]);
    clear = !barred_.has(lower.keys[i]) && (bass || i == 0 || clearEnough(lower.keys[i - 1], lower.keys[i]));
  }
  if (clear)
    keys = lower;
  else if (!bass)
    keys = left;
}

}  // namespace seguente
