#include "dsp/voicing.h"

#include <algorithm>
#include <cstdlib>

#include "dsp/degrees.h"

namespace seguente {

void Voicing::chordChanged(HandReach hand) noexcept {
  hand_ = hand;
  for (auto& m : memory_) {
    if (m.root >= 0) m.lastRoot = m.root;
    m.root = -1;
  }
  bassKey_ = -1;
}

UpperTones upperTonesOf(const Chord& chord) noexcept {
  UpperTones upper;
  const bool many = chord.count > 4;
  for (std::size_t i = 0; i < chord.count && upper.count < 4; ++i) {
    const int tone = chord.tones[i];
    if (tone == 0 || (many && tone == 7)) continue;
    const PitchClass p = chord.root + Interval{tone};
    if (!chord.held.empty() && !chord.held.has(p)) continue;
    upper.set.add(p);
    ++upper.count;
  }
  if (upper.count < 2) {
    upper.set.add(chord.root);
    ++upper.count;
  }
  std::size_t place = 0;
  for (unsigned left = upper.set.bits; left != 0; left &= left - 1) {
    const PitchClass p{static_cast<std::uint8_t>(__builtin_ctz(left))};
    upper.tones[place++] = p;
    upper.degrees[p.value] = degreeOf(chord, p);
  }
  upper.count = static_cast<std::uint8_t>(place);
  return upper;
}

int folded(int key, int root, const VoicedPart& part) noexcept {
  while (key > part.in.high && key > root && key - 12 >= part.in.low) key -= 12;  // a root is where it was put
  return key;
}

namespace {
/// Where a root was put over its place, the octave above it may have been folded onto it.
void leaveOutTwins(VoicedKeys& keys) noexcept {
  VoicedKeys once;
  for (std::size_t i = 0; i < keys.count; ++i) {
    bool twin = false;
    for (std::size_t k = 0; k < once.count; ++k) twin = twin || once.keys[k] == keys.keys[i];
    if (!twin) once.add(keys.keys[i], keys.degrees[i]);
  }
  keys = once;
}
}  // namespace

/// Where the hand cannot reach the root in time, it takes another octave's that lies nearer, in the register if it can.
void Voicing::placeRootAnew(PartMemory& m, const VoicedPart& part, const VoicingContext& c) noexcept {
  if (m.root >= 0 && m.root == m.moved && part.in.low == m.movedIn) return;  // over its register, and stays there
  m.root = rootKey(c.chord->root, m.lastRoot, part.in, part.roots);
  m.moved = -1;
  const int octave = m.root < hand_.low ? 12 : -12;
  int nearer = m.root;
  while (hand_.beyond(nearer, nearer) > 0 && nearer + octave >= part.roots.low) nearer += octave;
  if (nearer != m.root) {
    m.root = m.moved = nearer;
    m.movedIn = part.in.low;
  }
  hand_ = {};
  const bool overTune = part.kind != PartKind::bass && m.root + part.reach > c.ceiling;
  if (overTune && m.root - 12 >= part.in.low) m.root -= 12;
}

/// Degrees together: within the span, and the whole grip an octave higher where it would be too low to be clear.
void Voicing::voiceGrip(const Step& step, const VoicedPart& part, const VoicingContext& c, PartMemory& m,
                        VoicedKeys& out) noexcept {
  const std::size_t count = step.play.count;
  out.count = static_cast<std::uint8_t>(count);
  int lowest = 0, top = 0;
  bool clear = true;
  for (std::size_t i = 0; i < count; ++i) {
    out.degrees[i] = step.play.degrees[i];
    int n = keyOf(out.degrees[i], m.root, part, c);
    if (i > 0 && n - lowest > c.spanLimit) n -= 12;
    out.keys[i] = keyWithin(n);
    if (i == 0)
      lowest = out.keys[0].value;
    else
      clear = clear && clearEnough(out.keys[i - 1], out.keys[i]);
    top = std::max<int>(top, out.keys[i].value);
  }
  if (m.root > part.roots.high) return leaveOutTwins(out);
  if (clear || top + 12 > part.in.high) return;
  m.root += 12;
  for (std::size_t i = 0; i < count; ++i) out.keys[i] = keyWithin(out.keys[i].value + 12);
}

namespace {
using UpperKeys = std::array<int, limits::notesPerStep>;

struct UpperSearch {
  int floor, ceiling, lowestSounding, spanLimit, bass;
  const int* last;
  std::size_t lastCount;
  int wish;
  HandReach hand;
};

/// How far one close position lies from the last one, or, the first time, from the middle of the register.
inline int motionOf(const UpperKeys& keys, std::size_t count, const UpperSearch& s) noexcept {
  const int away = std::abs((keys[0] + keys[count - 1]) / 2 - s.wish);
  int cost = away / 4;  // against drift over many chords
  if (s.lastCount == count) {
    for (std::size_t i = 0; i < count; ++i) cost += 4 * std::abs(keys[i] - s.last[i]);
  } else {
    cost += 4 * away + 4 * (keys[count - 1] - keys[0]);
  }
  return cost;
}

/// What is wrong with one close position; 0 when nothing is.
inline int faultsOf(const UpperKeys& keys, std::size_t count, const UpperSearch& s) noexcept {
  const int unclear = s.hand.free() ? 500 : 3000;  // before a leap goes what is clear
  const int beyond = s.hand.beyond(keys[0], keys[count - 1]);
  int cost = beyond > 0 ? 1400 + beyond : 0;
  if (keys[0] < s.floor) cost += 100 * (s.floor - keys[0]);
  if (keys[count - 1] > s.ceiling) cost += 100 * (keys[count - 1] - s.ceiling);
  if (keys[0] < s.bass) cost += 400;  // below the bass of its own figure it would be heard as an inversion
  if (s.bass > s.lowestSounding && !clearEnough(keyWithin(s.bass), keyWithin(keys[0])))
    cost += unclear;  // a bass doubled
  if (s.lowestSounding < 128) {
    if (keys[0] <= s.lowestSounding) cost += 2000;
    if (keys[count - 1] - s.lowestSounding > s.spanLimit)
      cost += 1000 * (keys[count - 1] - s.lowestSounding - s.spanLimit);
    if (!clearEnough(keyWithin(s.lowestSounding), keyWithin(keys[0]))) cost += unclear;
  }
  for (std::size_t i = 1; i < count; ++i)
    if (!clearEnough(keyWithin(keys[i - 1]), keyWithin(keys[i]))) cost += unclear;
  return cost;
}

/// The best of every rotation of the close position in every octave of the register: at most 4 x 5.
UpperKeys bestPosition(const UpperTones& upper, const UpperSearch& search) noexcept {
  const std::size_t count = upper.count;
  UpperKeys best{};
  int bestCost = -1;
  for (std::size_t rotation = 0; rotation < count; ++rotation) {
    UpperKeys keys{};
    const int start = (search.floor / 12) * 12;
    for (int octave = start; octave <= search.ceiling; octave += 12) {
      for (std::size_t i = 0; i < count; ++i) {
        const std::size_t at = (rotation + i) % count;
        keys[i] = octave + upper.tones[at].value + (rotation + i >= count ? 12 : 0);
      }
      if (keys[count - 1] > 127) break;
      int cost = motionOf(keys, count, search);
      if (bestCost >= 0 && cost >= bestCost) continue;
      cost += faultsOf(keys, count, search);
      if (bestCost < 0 || cost < bestCost) {
        bestCost = cost;
        best = keys;
      }
    }
  }
  return best;
}
}  // namespace

inline void Voicing::voiceUpper(const VoicedPart& part, const VoicingContext& c, PartMemory& m,
                                VoicedKeys& out) noexcept {
  const UpperTones& upper = *c.upper;
  const std::size_t count = upper.count;
  constexpr int leastRoom = 9;  // a close position of three
  const int floor = part.in.low;
  const int ceiling = std::min(part.in.high, std::max(c.ceiling, floor + leastRoom));
  const HandReach hand = hand_;
  hand_ = {};
  const UpperSearch search{floor,          ceiling,      c.lowestSounding,           c.spanLimit, bassKey_,
                           m.upper.data(), m.upperCount, (floor + part.in.high) / 2, hand};
  // The same tones where nothing is wrong stay: a semitone of motion costs more than all that drift could save. And so
  // do those that were the best under the same circumstances: a bass that alternates brings the same few again and
  // again.
  const auto sought = static_cast<std::uint32_t>(ceiling | c.lowestSounding << 8 | c.spanLimit << 16) ^
                      static_cast<std::uint32_t>(bassKey_ + 1) << 24;
  const bool same = upper.set == m.upperTones && m.upperCount == count;
  const bool known = same && hand.free() && (sought == m.goodFor[0] || sought == m.goodFor[1]);
  if (!known) {
    const bool stays = same && faultsOf(m.upper, count, search) == 0;
    if (!stays) m.upper = bestPosition(upper, search);
    m.goodFor = {hand.free() ? sought : 0, stays ? m.goodFor[0] : 0};
  }
  m.upperTones = upper.set;
  m.upperCount = static_cast<std::uint8_t>(count);
  for (std::size_t i = 0; i < count; ++i) {
    const NoteNumber note = keyWithin(m.upper[i]);
    out.keys[i] = note;
    out.degrees[i] = upper.degrees[note.pitchClass().value];
  }
  out.count = static_cast<std::uint8_t>(count);
}

void Voicing::voiceHeld(const Step& step, const VoicedPart& part, const VoicingContext& c, VoicedKeys& out) noexcept {
  if (c.hand.empty()) return;
  // The hand's keys as they lie, moved by whole octaves to where most of them fall into the register.
  const int lowest = c.hand.lowest();
  const int shift = nearestKey(keyWithin(lowest).pitchClass(), lowest, part.in) - lowest;
  const int count = c.hand.count();
  int place = 0;
  c.hand.forEach([&](NoteNumber n) {
    ++place;
    const auto kind = step.play.kind;
    const bool wanted = kind == PlayKind::heldAll || (kind == PlayKind::heldLowest && place == 1) ||
                        (kind == PlayKind::heldUpper && (place > 1 || count == 1)) ||
                        (kind == PlayKind::heldTop && place == count) ||
                        (kind == PlayKind::heldNth && place == std::min<int>(step.play.nth, count));
    if (wanted) out.add(keyWithin(n.value + shift), degreeOf(*c.chord, n.pitchClass()));
  });
}

void Voicing::voiceOther(const Step& step, const VoicedPart& part, const VoicingContext& c, PartMemory& m,
                         VoicedKeys& out) noexcept {
  switch (step.play.kind) {
    case PlayKind::upper:
      return voiceUpper(part, c, m, out);
    case PlayKind::percussion:
      return out.add(keyWithin(step.play.nth), {});
    default:
      return voiceHeld(step, part, c, out);
  }
}

void Voicing::voice(const Step& step, const VoicedPart& part, const VoicingContext& c, VoicedKeys& out) noexcept {
  if (step.play.oneDegree() || step.play.leads()) {
    const VoicedKey one = step.play.leads() ? voiceLeading(step, part, c) : voiceDegree(step, part, c);
    out.add(one.key, one.degree);
    return;
  }
  auto& memory = memory_[step.part % limits::parts];
  const PlayKind kind = step.play.kind;
  if (kind == PlayKind::degrees) {
    placeRoot(memory, part, c);
    voiceGrip(step, part, c, memory, out);
  } else {
    voiceOther(step, part, c, memory, out);
  }
  if (out.count == 0) return;
  if (kind != PlayKind::upper) memory.lastKey = out.keys[0].value;
  if (part.kind == PartKind::bass) bassIs(out.keys[out.count - 1u]);
}

}  // namespace seguente
