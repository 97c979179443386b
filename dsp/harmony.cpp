// Naming: look every rotation of the held pitch classes up in the table of patterns, score what fits, keep the best.
#include "dsp/harmony.h"

#include <algorithm>

#include "dsp/chord_types.h"

namespace seguente {
namespace {

// What a way of holding is worth. Only the order of these numbers matters. Source: common practice, no source; the
// order that they give is tested against tonal's (tests/reference/chords/chord_oracle.json).
constexpr int complete = 1000;
constexpr int bassIsRoot = 60;
constexpr int noFifth = 850;       // C E Bb is C7
constexpr int noFifthLoose = 700;  // suspended, added-tone and sixth chords say little without their fifth
constexpr int noThird = 600;
constexpr int shell = 650;                   // root and seventh, the two-note left hand
constexpr int foreignBass = -30;             // C E G over D: C/D stays before Cadd9/D
constexpr int foreignBassDiminished = -120;  // Bb Db E over C is C7b9 without its fifth first
constexpr int foreignBassSuspended = -300;   // B E F# over C is Cmaj7#11 without its fifth first
constexpr int addedToneInBass = -50;
constexpr int rootless = 500;
constexpr int rootlessTritone = 700;  // B F in C: more V7 than a diminished fifth
constexpr int foreignTone = 300;      // last resort: a triad or seventh with one tone that is not its own
constexpr int expectedHere = 100;
constexpr int expectedRootless = 600;         // over a diminished triad in root position
constexpr int expectedRootlessOfTriad = 300;  // C E G stays C, also where the chart says Am7
constexpr int diatonicTones = 20;
constexpr int diatonicRoot = 10;
constexpr int keyChoosesSymmetric = 80;  // above bassIsRoot: B D F Ab is Bdim7 in C minor whatever lies lowest

struct Candidate {
  int score = 0;
  std::uint8_t root = 0;
  std::uint8_t type = 0;
  bool complete = false;
};

/// The best few, kept in order; equal scores stay in the order of arrival (upwards from the bass).
class Ranking {
 public:
  void offer(const Candidate& candidate) noexcept {
    for (std::size_t i = 0; i < count_; ++i)
      if (best_[i].root == candidate.root && best_[i].type == candidate.type) {
        if (best_[i].score >= candidate.score) return;
        for (std::size_t j = i + 1; j < count_; ++j) best_[j - 1] = best_[j];
        --count_;
        break;
      }
    std::size_t at = count_;
    while (at > 0 && best_[at - 1].score < candidate.score) --at;
    if (at == best_.size()) return;
    count_ = std::min(count_ + 1, best_.size());
    for (std::size_t j = count_ - 1; j > at; --j) best_[j] = best_[j - 1];
    best_[at] = candidate;
  }
  std::size_t count() const noexcept { return count_; }
  const Candidate& at(std::size_t i) const noexcept { return best_[i]; }

 private:
  std::array<Candidate, limits::readings> best_{};
  std::size_t count_ = 0;
};

constexpr unsigned rotateDown(unsigned bits, int by) { return ((bits | bits << 12) >> by) & 0xfffu; }
constexpr unsigned bit(int semitone) { return 1u << semitone; }

constexpr unsigned majorScale = bit(0) | bit(2) | bit(4) | bit(5) | bit(7) | bit(9) | bit(11);
// Harmonic and natural minor together.
constexpr unsigned minorScale = bit(0) | bit(2) | bit(3) | bit(5) | bit(7) | bit(8) | bit(10) | bit(11);

/// One question: what is held, over which bass, in which key.
struct Question {
  unsigned held = 0;
  int tones = 0;
  int bass = 0;
  const Chord* expected = nullptr;
  bool keyKnown = false;
  int tonic = 0;
  Mode mode = Mode::major;
  unsigned scale = 0;  // pitch classes of the key, bit 0 = C
};

Question askAbout(PitchClassSet held, int bass, const Key& key, const Chord* expected) noexcept {
  Question q;
  q.held = held.bits;
  q.tones = __builtin_popcount(q.held);
  q.bass = bass;
  q.expected = expected != nullptr && !expected->none() && expected->type.known() ? expected : nullptr;
  q.keyKnown = key.known;
  if (key.known) {
    q.tonic = key.tonic.pitchClass().value;
    q.mode = key.mode;
    q.scale = rotateDown(key.mode == Mode::major ? majorScale : minorScale, (12 - q.tonic) % 12);
  }
  return q;
}

/// Chords whose rotations are chords of the same kind: only the key tells which root is meant.
int symmetricInKey(const Question& q, int root, std::uint8_t type) noexcept {
  const int degree = (root + 12 - q.tonic) % 12;
  if (type == chordTypeIds::diminishedSeventh.value) return degree == 11 ? keyChoosesSymmetric : 0;
  const bool turns = type == chordTypeIds::augmented.value || type == chordTypeIds::dominantFlatFive.value;
  return turns && degree == 7 ? keyChoosesSymmetric : 0;
}

int inKey(const Question& q, int root, std::uint8_t type) noexcept {
  if (!q.keyKnown) return 0;
  const unsigned tones = rotateDown(chordTypes[type].mask, (12 - root) % 12);
  return ((tones & ~q.scale) == 0 ? diatonicTones : 0) + (((q.scale >> root) & 1u) != 0 ? diatonicRoot : 0) +
         symmetricInKey(q, root, type);
}

bool isExpected(const Question& q, int root, std::uint8_t type) noexcept {
  return q.expected != nullptr && q.expected->root.value == root && q.expected->type.value == type;
}

/// What every candidate shares: plainness of the name, bass, key, expectation.
int common(const Question& q, int root, std::uint8_t type) noexcept {
  return inKey(q, root, type) + (root == q.bass ? bassIsRoot : 0) + (isExpected(q, root, type) ? expectedHere : 0) -
         chordTypes[type].rarity;
}

bool isAddedTone(std::uint8_t type, int above) noexcept {
  const auto& row = chordTypes[type];
  return row.count == 4 && row.semitones[3] >= 12 && row.semitones[3] % 12 == above;
}

int worth(const Pattern& pattern) noexcept {
  switch (pattern.form) {
    case Form::complete:
      return complete;
    case Form::noFifth: {
      const auto& row = chordTypes[pattern.type];
      const bool clear = (row.has(3) || row.has(4)) && (row.count == 3 || row.has(10) || row.has(11));
      return clear ? noFifth : noFifthLoose;
    }
    case Form::noThird:
      return noThird;
    case Form::shell:
      return shell;
  }
  return 0;
}

int foreignBassUnder(const ChordType& row) noexcept {
  if (!row.has(3) && !row.has(4)) return foreignBassSuspended;
  return row.diminishedFamily() && row.count == 3 ? foreignBassDiminished : foreignBass;
}

/// Names with a root that is held: as they stand, and as a triad or seventh over a foreign bass.
void offerRoot(const Question& q, int root, Ranking& ranking) noexcept {
  const unsigned above = rotateDown(q.held, root);
  const int bass = (q.bass + 12 - root) % 12;
  for (const auto& pattern : patternsOf(static_cast<std::uint16_t>(above))) {
    const int added = isAddedTone(pattern.type, bass) ? addedToneInBass : 0;
    ranking.offer({worth(pattern) + added + common(q, root, pattern.type), static_cast<std::uint8_t>(root),
                   pattern.type, pattern.form == Form::complete});
  }
  if (bass == 0 || q.tones < 4) return;
  for (const auto& pattern : patternsOf(static_cast<std::uint16_t>(above & ~bit(bass)))) {
    const auto& row = chordTypes[pattern.type];
    if (pattern.form != Form::complete || row.count < 3 || row.count > 4 || row.semitones[row.count - 1] >= 12)
      continue;
    ranking.offer({complete + foreignBassUnder(row) + common(q, root, pattern.type), static_cast<std::uint8_t>(root),
                   pattern.type, true});
  }
}

/// The dominant of the key without its root: never guessed without a key, seldom first.
void offerRootlessDominant(const Question& q, Ranking& ranking) noexcept {
  const int root = (q.tonic + 7) % 12;
  if (!q.keyKnown || ((q.held >> root) & 1u) != 0 || q.tones < 2) return;
  for (const auto& pattern : patternsOf(static_cast<std::uint16_t>(rotateDown(q.held, root) | 1u))) {
    if (!chordTypes[pattern.type].dominantSeventh() || pattern.form > Form::noFifth) continue;
    const int value = q.tones == 2 ? rootlessTritone : rootless;
    ranking.offer({value + common(q, root, pattern.type), static_cast<std::uint8_t>(root), pattern.type, false});
  }
}

bool isMajorOrMinor(const Candidate& candidate) noexcept {
  return candidate.complete && candidate.type <= chordTypeIds::minor.value;
}

/// The chart's chord without its root: what is held must be all of it, or all but the fifth.
void offerExpectedRootless(const Question& q, Ranking& ranking) noexcept {
  if (q.expected == nullptr || q.tones < 2) return;
  const int root = q.expected->root.value;
  if (((q.held >> root) & 1u) != 0) return;
  const bool plainTriad = ranking.count() > 0 && isMajorOrMinor(ranking.at(0));
  const int value = rootless + (plainTriad ? expectedRootlessOfTriad : expectedRootless);
  for (const auto& pattern : patternsOf(static_cast<std::uint16_t>(rotateDown(q.held, root) | 1u))) {
    if (pattern.type != q.expected->type.value || pattern.form > Form::noFifth) continue;
    ranking.offer({value - chordTypes[pattern.type].rarity, static_cast<std::uint8_t>(root), pattern.type, false});
  }
}

/// When nothing fits: a triad or seventh chord and one more tone, so that a figure still has a root to stand on.
void offerWithForeignTone(const Question& q, Ranking& ranking) noexcept {
  if (q.tones < 4 || q.tones > 6) return;
  for (int i = 0; i < 12; ++i) {
    const int root = (q.bass + i) % 12;
    if (((q.held >> root) & 1u) == 0) continue;
    const unsigned above = rotateDown(q.held, root);
    for (unsigned rest = above & ~1u; rest != 0; rest &= rest - 1) {
      for (const auto& pattern : patternsOf(static_cast<std::uint16_t>(above & ~(rest & (0u - rest))))) {
        if (pattern.form != Form::complete) continue;
        ranking.offer(
            {foreignTone + common(q, root, pattern.type), static_cast<std::uint8_t>(root), pattern.type, false});
      }
    }
  }
}

/// What is held, as it lies: one key, or a group that no row fits.
Chord unnamed(PitchClassSet held, PitchClass bass) noexcept {
  Chord chord;
  chord.root = bass;
  chord.bass = bass;
  chord.held = held;
  for (unsigned above = rotateDown(held.bits, bass.value); above != 0 && chord.count < chord.tones.size();
       above &= above - 1) {
    chord.tones[chord.count] = static_cast<std::uint8_t>(__builtin_ctz(above));
    ++chord.count;
  }
  return chord;
}

}  // namespace

Readings nameChord(const KeySet& held, const Key& key, const Chord* expected) noexcept {
  Readings readings;
  if (held.empty()) return readings;
  const auto bass = PitchClass::of(held.lowest());
  const auto pitchClasses = held.pitchClasses();
  const auto q = askAbout(pitchClasses, bass.value, key, expected);
  Ranking ranking;
  if (q.tones > 1) {
    for (int i = 0; i < 12; ++i)
      if (const int root = (q.bass + i) % 12; ((q.held >> root) & 1u) != 0) offerRoot(q, root, ranking);
    offerRootlessDominant(q, ranking);
    offerExpectedRootless(q, ranking);
    if (ranking.count() == 0) offerWithForeignTone(q, ranking);
  }
  for (std::size_t i = 0; i < ranking.count(); ++i) {
    const auto& candidate = ranking.at(i);
    auto& reading = readings.ranked[i];
    reading.chord = makeChord(PitchClass{candidate.root}, ChordTypeId{candidate.type}, bass);
    reading.chord.held = pitchClasses;
    reading.score = candidate.score;
    reading.complete = candidate.complete;
    spell(reading.chord, key);
  }
  readings.count = ranking.count();
  if (readings.count == 0) {
    readings.ranked[0] = {unnamed(pitchClasses, bass), 0, false};
    spell(readings.ranked[0].chord, key);
    readings.count = 1;
  }
  return readings;
}

}  // namespace seguente
