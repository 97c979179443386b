// Turns a step's chord degrees, or the hand's own keys, into keys of a part's register: smooth motion, low-interval
// limits, hand span. Knows no time and no idiom.
#pragma once

#include <array>

#include "dsp/chord.h"
#include "dsp/degrees.h"
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

/// What a step is voiced over. [any]
struct VoicingContext {
  const Chord* chord = nullptr;
  const DegreeTable* degrees = nullptr;  // of that chord
  const Chord* next = nullptr;           // the chord expected after it; null when nobody knows
  Key key{};
  KeySet hand{};             // the very keys that are held
  int lowestSounding = 128;  // of ours
  int spanLimit = 127;       // semitones above lowestSounding that may be reached (one hand)
  int octaves = 0;           // register shift
};

/// What voicing asks of a part: the same for every step under one chord and one shift. [any]
struct VoicedPart {
  PartKind kind = PartKind::chords;
  bool foreignBass = false;  // its degree 1 is not the root, but the note that the hand set under it
  Register in{};
};
inline VoicedPart voicedPart(const Part& part, const VoicingContext& c) noexcept {
  const bool foreign = part.kind == PartKind::bass && c.degrees != nullptr && c.degrees->bass != c.chord->root;
  return {part.kind, foreign, registerOf(part, c.octaves)};
}

/// Whether two keys may sound together so low. The lowest lower note of an interval on which lists A, B and C agree
/// (REFERENCES section 4): a second not below Eb3, a minor third not below C3, a major third not below A2, a fifth not
/// below A1; everything else anywhere. [any]
inline bool clearEnough(NoteNumber lower, NoteNumber upper) noexcept {
  static constexpr std::array<std::uint8_t, 8> lowest = {0, 51, 51, 48, 45, 0, 0, 33};  // by semitones
  const unsigned wide = static_cast<unsigned>(upper.value) - lower.value;  // one that goes down is wide too
  return wide >= lowest.size() || lower.value >= lowest[wide];
}

/// Remembers where each part last was, so that it moves smoothly. [audio] throughout; bounded; no errors.
class Voicing {
 public:
  void reset() noexcept { *this = Voicing{}; }
  /// A new chord: roots are placed anew, nearest to where they were.
  void chordChanged() noexcept;
  /// Adds the step's keys to `out`, which is empty.
  void voice(const Step& step, const VoicedPart& part, const VoicingContext& context, VoicedKeys& out) noexcept;
  VoicedKeys voice(const Step& step, const Part& part, const VoicingContext& context) noexcept {
    VoicedKeys out;
    voice(step, voicedPart(part, context), context, out);
    return out;
  }

 private:
  struct PartMemory {
    int root = -1;      // key of degree 1 for the chord in force; -1 not yet placed
    int lastRoot = -1;  // of the chord before
    int lastKey = -1;   // lowest key last struck
    PitchClassSet upperTones{};
    std::uint8_t upperCount = 0;
    std::array<int, limits::notesPerStep> upper{};
  };
  void voiceDegrees(const Step& step, const VoicedPart& part, const VoicingContext& c, PartMemory& m,
                    VoicedKeys& out) noexcept;
  void voiceOther(const Step& step, const VoicedPart& part, const VoicingContext& c, PartMemory& m,
                  VoicedKeys& out) noexcept;
  void voiceUpper(const VoicedPart& part, const VoicingContext& c, PartMemory& m, VoicedKeys& out) noexcept;
  void voiceHeld(const Step& step, const VoicedPart& part, const VoicingContext& c, VoicedKeys& out) noexcept;
  void voiceLeading(const Step& step, const VoicedPart& part, const VoicingContext& c, PartMemory& m,
                    VoicedKeys& out) noexcept;

  std::array<PartMemory, limits::parts> memory_{};
  int bassKey_ = -1;  // last struck by a bass part under the chord in force: the chord lies above it
};

// Here rather than in voicing.cpp because most steps are degrees, and a call costs a fifth of what it would do.
inline void Voicing::voiceDegrees(const Step& step, const VoicedPart& part, const VoicingContext& c, PartMemory& m,
                                  VoicedKeys& out) noexcept {
  const Register& in = part.in;
  if (m.root < in.low || m.root > in.high) m.root = rootKey(c.chord->root, m.lastRoot, in);  // new, or register moved
  const DegreeTable& table = *c.degrees;
  const auto placed = [&, root = m.root](Degree degree) {
    int n = root + semitonesOf(table, degree);
    if (part.foreignBass && degree.number == 1) n = nearestKey(table.bass, root, in);
    while (n > in.high && n - 12 >= in.low) n -= 12;
    return n;
  };
  const std::size_t count = step.play.count;
  if (count == 0) return;
  out.count = static_cast<std::uint8_t>(count);
  out.degrees[0] = step.play.degrees[0];
  out.keys[0] = keyWithin(placed(out.degrees[0]));
  if (count == 1) return;
  const int lowest = out.keys[0].value;
  int top = lowest;
  bool clear = true;
  for (std::size_t i = 1; i < count; ++i) {
    out.degrees[i] = step.play.degrees[i];
    const int n = placed(out.degrees[i]);
    out.keys[i] = keyWithin(n - lowest > c.spanLimit ? n - 12 : n);
    clear = clear && clearEnough(out.keys[i - 1], out.keys[i]);
    top = std::max<int>(top, out.keys[i].value);
  }
  // Too low to be clear together: the whole grip an octave higher, if the register reaches so far.
  if (clear || top + 12 > in.high) return;
  m.root += 12;
  for (std::size_t i = 0; i < count; ++i) out.keys[i] = keyWithin(out.keys[i].value + 12);
}

inline void Voicing::voice(const Step& step, const VoicedPart& part, const VoicingContext& c,
                           VoicedKeys& out) noexcept {
  auto& memory = memory_[step.part % limits::parts];
  const PlayKind kind = step.play.kind;
  if (kind == PlayKind::degrees)
    voiceDegrees(step, part, c, memory, out);
  else
    voiceOther(step, part, c, memory, out);
  if (out.count == 0) return;
  if (kind != PlayKind::upper) memory.lastKey = out.keys[0].value;
  if (part.kind == PartKind::bass) bassKey_ = out.keys[0].value;
}

}  // namespace seguente
