// Turns a step's chord degrees, or the hand's own keys, into keys of a part's register: smooth motion, low-interval
// limits, hand span. Knows no time and no idiom.
#pragma once

#include <array>

#include "dsp/chord.h"
#include "dsp/degrees.h"
#include "dsp/hand_leap.h"
#include "dsp/idiom.h"
#include "dsp/register.h"

namespace seguente {

/// The keys of one step, low to high. [any]
struct VoicedKeys {
  std::uint8_t count = 0;
  std::array<NoteNumber, limits::notesPerStep + 2> keys{};
  std::array<Degree, limits::notesPerStep + 2> degrees{};
  void add(NoteNumber key, Degree degree) {
    if (count == keys.size()) return;
    keys[count] = key;
    degrees[count++] = degree;
  }
};

struct VoicedKey {
  NoteNumber key{};
  Degree degree{};
};

/// A chord's upper tones: what the hand holds without the root; with fewer than two of them, the root's octave joins.
/// Of five or more, the fifth is left out first, then the highest: a hand has room for four. Worked out once a chord.
struct UpperTones {
  std::uint8_t count = 0;
  std::array<PitchClass, 4> tones{};  // upwards from C
  PitchClassSet set{};
  std::array<Degree, 12> degrees{};  // by pitch class, of those tones
};
UpperTones upperTonesOf(const Chord& chord) noexcept;

/// What a step is voiced over. [any]
struct VoicingContext {
  const Chord* chord = nullptr;
  const DegreeTable* degrees = nullptr;  // of that chord
  const UpperTones* upper = nullptr;     // of that chord
  const Chord* next = nullptr;           // the chord expected after it; null when nobody knows
  PitchClassSet scale{0xFFF};            // of the key; every pitch class when it is not known
  KeySet hand{};                         // the very keys that are held
  int lowestSounding = 128;              // of ours
  int spanLimit = 127;                   // semitones above lowestSounding that may be reached (one hand)
  int ceiling = 127;                     // what keeps under the tune; where a part has no room there, it lies over it
  int octaves = 0;                       // register shift
};

/// What voicing asks of a part: the same for every step under one chord and one shift. [any]
struct VoicedPart {
  PartKind kind = PartKind::chords;
  bool foreignBass = false;  // its degree 1 is not the root, but the note that the hand set under it
  Register in{};
  Register roots{};  // within it: an octave or more, with room for what the figure plays above and below
  int reach = 0;     // as in Part
  bool fifthBelow = false;
};
inline VoicedPart voicedPart(const Part& part, const VoicingContext& c) noexcept {
  const bool foreign = part.kind == PartKind::bass && c.degrees != nullptr && c.degrees->bass != c.chord->root;
  const Register in = registerOf(part, c.octaves);
  const int lowest = part.fifthBelow ? std::max(in.low, std::min(in.low + 5, in.high - 11)) : in.low;
  const int highest = std::max(std::min(lowest + 11, in.high), in.high - part.reach);
  return {part.kind, foreign, in, {lowest, highest}, part.reach, part.fifthBelow};
}

/// Whether two keys may sound together so low. The lowest lower note of an interval on which lists A, B and C agree
/// (REFERENCES section 4): a second not below Eb3, a minor third not below C3, a major third not below A2, a fifth not
/// below A1; everything else anywhere. [any]
inline bool clearEnough(NoteNumber lower, NoteNumber upper) noexcept {
  static constexpr std::array<std::uint8_t, 8> lowest = {0, 51, 51, 48, 45, 0, 0, 33};  // by semitones
  const unsigned wide = static_cast<unsigned>(upper.value) - lower.value;  // one that goes down is wide too
  return wide >= lowest.size() || lower.value >= lowest[wide];
}

/// What a counter-line is sought among. Keys; 128: none. [any]
struct LineContext {
  int tune = 128, tuneBefore = 128;                    // as this note is struck, and just before
  int bass = 128, bassBefore = 128, rootBefore = 128;  // of a grip that was struck last, the lowest key is its root
  KeySet barred{};                                     // in the tune's way
  int ceiling = 127;                                   // under the tune, while it rests too
  bool noParallels = false;
};

/// Remembers where each part last was, so that it moves smoothly. [audio] throughout; bounded; no errors.
class Voicing {
 public:
  void reset() noexcept { *this = Voicing{}; }
  /// A new chord: roots are placed anew, nearest to where they were. Its first stroke is one that the hand can reach.
  void chordChanged(HandReach hand = {}) noexcept;
  /// Adds the step's keys to `out`, which is empty.
  void voice(const Step& step, const VoicedPart& part, const VoicingContext& context, VoicedKeys& out) noexcept;
  /// The same for a step of one key: of one degree, and one that leads.
  VoicedKey voiceDegree(const Step& step, const VoicedPart& part, const VoicingContext& context) noexcept;
  VoicedKey voiceLeading(const Step& step, const VoicedPart& part, const VoicingContext& context) noexcept;
  /// The next note of a counter-line: a tone of the chord under the tune and over the bass, by step or on the same key
  /// if that can be, rather against the bass than with it. With noParallels it makes no fifths or octaves in a row,
  /// from what sounds before it or from its own last stroke. 128 when there is none. Source of the rule: W. Piston,
  /// Harmony, ch. 3 (parallel fifths and octaves between any two voices; from memory).
  int lineKey(std::size_t part, const VoicedPart& voiced, const VoicingContext& context,
              const LineContext& line) noexcept;
  /// The key last struck by a part, and that of its degree 1; -1 when none.
  int lastKey(std::size_t part) const noexcept { return memory_[part % limits::parts].lastKey; }
  int lastRoot(std::size_t part) const noexcept {
    const PartMemory& m = memory_[part % limits::parts];
    return m.root >= 0 ? m.root : m.lastRoot;
  }
  /// The same for one step alone.
  VoicedKeys voice(const Step& step, const Part& part, VoicingContext context) noexcept {
    const UpperTones upper = upperTonesOf(*context.chord);
    context.upper = &upper;
    VoicedKeys out;
    voice(step, voicedPart(part, context), context, out);
    return out;
  }

 private:
  struct PartMemory {
    int root = -1;      // key of degree 1 for the chord in force; -1 not yet placed
    int lastRoot = -1;  // of the chord before
    int moved = -1;     // where a root was put that the hand could not reach in its place, in the register
    int movedIn = -1;   // that begins here
    int lastKey = -1;   // lowest key last struck
    PitchClassSet upperTones{};
    std::uint8_t upperCount = 0;
    std::array<int, limits::notesPerStep> upper{};
    std::array<std::uint32_t, 2> goodFor{};  // circumstances under which `upper` is known to be good, the last first
    int lineTune = 128, lineBass = 128;      // what a counter-line's last note was struck with
    std::uint8_t stays = 0;                  // how often it has struck that key
  };
  VoicedKey remember(VoicedKey key, const VoicedPart& part, PartMemory& m) noexcept {
    m.lastKey = key.key.value;
    if (part.kind == PartKind::bass) bassIs(key.key);
    return key;
  }
  void placeRoot(PartMemory& m, const VoicedPart& part, const VoicingContext& c) noexcept {
    const bool placed = m.root >= part.in.low && m.root <= part.in.high;  // not in another register
    if (!placed) placeRootAnew(m, part, c);
  }
  void placeRootAnew(PartMemory& m, const VoicedPart& part, const VoicingContext& c) noexcept;
  void voiceGrip(const Step& step, const VoicedPart& part, const VoicingContext& c, PartMemory& m,
                 VoicedKeys& out) noexcept;
  void voiceOther(const Step& step, const VoicedPart& part, const VoicingContext& c, PartMemory& m,
                  VoicedKeys& out) noexcept;
  void voiceUpper(const VoicedPart& part, const VoicingContext& c, PartMemory& m, VoicedKeys& out) noexcept;
  void voiceHeld(const Step& step, const VoicedPart& part, const VoicingContext& c, VoicedKeys& out) noexcept;

  /// What the chord lies above: the upper key of a grip, and of a bass in octaves the upper one.
  void bassIs(NoteNumber upper) noexcept {
    if (upper.value + 12 != bassKey_) bassKey_ = upper.value;
  }

  std::array<PartMemory, limits::parts> memory_{};
  HandReach hand_{};  // where it lies when the chord in force is struck first; free from then on
  int bassKey_ = -1;  // last struck by a bass part under the chord in force: the chord lies above it
};

/// Down by octaves into the register. [any]
int folded(int key, int root, const VoicedPart& part) noexcept;

/// Where a degree lies above a root, inside the register. [any]
inline int keyOf(Degree degree, int root, const VoicedPart& part, const VoicingContext& c) noexcept {
  int n = root + semitonesOf(*c.degrees, degree);
  if (part.foreignBass && degree.number == 1) n = nearestKey(c.degrees->bass, root, part.in);
  if (part.fifthBelow && degree.number >= 5 && degree.number <= 7) n -= 12;
  if (n > part.in.high) n = folded(n, root, part);
  return n;
}

// Here rather than in voicing.cpp because every step of one key comes through them.
[[gnu::always_inline]] inline VoicedKey Voicing::voiceDegree(const Step& step, const VoicedPart& part,
                                                             const VoicingContext& c) noexcept {
  PartMemory& memory = memory_[step.part % limits::parts];
  placeRoot(memory, part, c);
  const Degree degree = step.play.degrees[0];
  return remember({keyWithin(keyOf(degree, memory.root, part, c)), degree}, part, memory);
}

/// A step of the key above or below the goal, whichever the line is nearer to and has not just sounded; a semitone
/// below when the key is not known. bass: the goal's pitch class. Source: Fitzgerald, Walking Bass Line Theory Basics
/// (approach by step or semitone).
inline int approachTo(int goal, PitchClass bass, int from, PitchClassSet scale, Register in) noexcept {
  const unsigned twice = scale.bits | static_cast<unsigned>(scale.bits) << 12;  // so that a neighbour is a shift away
  const int below = goal - 1 - static_cast<int>(~(twice >> (bass.value + 11u)) & 1u);
  const int above = goal + 1 + static_cast<int>(~(twice >> (bass.value + 1u)) & 1u);
  const bool comesFromAbove = 2 * from > below + above;
  const int nearer = comesFromAbove ? above : below;
  const int other = comesFromAbove ? below : above;
  const auto serves = [&](int key) { return key >= in.low && key <= in.high && key != from; };
  return serves(nearer) ? nearer : serves(other) ? other : goal - 1;
}

[[gnu::always_inline]] inline VoicedKey Voicing::voiceLeading(const Step& step, const VoicedPart& part,
                                                              const VoicingContext& c) noexcept {
  PartMemory& m = memory_[step.part % limits::parts];
  const Register& in = part.in;
  PitchClass bass = c.degrees->bass;
  int goal = m.root;
  if (c.next != nullptr) {
    bass = bassOf(*c.next);
    goal = rootKey(bass, m.root >= 0 ? m.root : m.lastRoot, in, part.roots);
  } else if (m.root < 0) {
    goal = rootKey(bass, m.lastRoot, in, part.roots);
  } else if (bass != c.chord->root || m.root < in.low || m.root > in.high) {
    goal = nearestKey(bass, m.root, in);
  }
  if (step.play.kind == PlayKind::nextBass) return remember({keyWithin(goal), {1, 0}}, part, m);
  const int from = m.lastKey >= 0 ? m.lastKey : goal;
  const NoteNumber key = keyWithin(approachTo(goal, bass, from, c.scale, in));
  return remember({key, degreeOf(*c.chord, key)}, part, m);
}

}  // namespace seguente
