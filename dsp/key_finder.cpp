// Finds the key: Pearson correlation of a fading, duration-weighted pitch-class histogram with 24 rotated profiles
// (the Krumhansl-Schmuckler method), helped by cadences.
// Profile: Krumhansl & Kessler 1982, Psychological Review 89 (values also in tests/reference/key/profiles.json).
// Chosen by measuring over the 27 tunes of tests/reference/tunes, the tune's key after each of 506 chords, melody and
// chords together, each profile at the best of 32 settings: 1982 96 % right; Sapp's simple weights 94; Aarden 2003 94;
// Temperley 2007 93; Bellman-Budge 2005 91; Temperley 1999 87. The constants below were measured in the same way, then
// rounded; tests/harmony/key_finder_tests.cpp holds what comes of them.
#include <algorithm>
#include <cmath>

#include "dsp/chord_types.h"
#include "dsp/harmony.h"

namespace seguente {
namespace {

constexpr std::size_t keyCount = 24;  // 12 major by tonic, then 12 minor

constexpr double majorProfile[12] = {6.35, 2.23, 3.48, 2.33, 4.38, 4.09, 2.52, 5.19, 2.39, 3.66, 2.29, 2.88};
constexpr double minorProfile[12] = {6.33, 2.68, 3.52, 5.38, 2.60, 3.53, 2.54, 4.75, 3.98, 2.69, 3.34, 3.17};

constexpr double squareRoot(double x) {
  double root = x;
  for (int i = 0; i < 60; ++i) root = 0.5 * (root + x / root);  // Newton; far past double's precision
  return root;
}

/// For each pitch class its share in each of the 24 keys; each key's column has mean 0 and length 1, so that a
/// correlation is one dot product over the histogram's own length.
struct Shares {
  float of[12][keyCount];
};

constexpr void normalise(const double (&profile)[12], std::size_t firstKey, Shares& shares) {
  double mean = 0;
  for (const double v : profile) mean += v / 12;
  double squares = 0;
  for (const double v : profile) squares += (v - mean) * (v - mean);
  const double length = squareRoot(squares);
  for (std::size_t tonic = 0; tonic < 12; ++tonic)
    for (std::size_t i = 0; i < 12; ++i)
      shares.of[(tonic + i) % 12][firstKey + tonic] = static_cast<float>((profile[i] - mean) / length);
}

constexpr Shares makeShares() {
  Shares shares{};
  normalise(majorProfile, 0, shares);
  normalise(minorProfile, 12, shares);
  return shares;
}
constexpr Shares shares = makeShares();

constexpr float halfLifeQuarters = 64;   // sixteen bars of four: a new section is believed within some eight bars
constexpr float chordToneShare = 0.25F;  // a chord tone counts a quarter of a melody note of the same length
constexpr float chordRootShare = 0.5F;   // the root twice that
constexpr float cadenceShare = 0.2F;     // of correlation, for very many cadences; one gives half of it
constexpr float margin = 0.1F;           // another key must be better by this before we change our mind
constexpr float leastCorrelation = 0.5F;
constexpr float enoughQuarters = 2;  // two quarters of sound before the first opinion

/// Spelling of the tonics: at most six accidentals in the signature.
constexpr SpelledPitch majorTonics[12] = {{0, 0}, {1, -1}, {1, 0},  {2, -1}, {2, 0},  {3, 0},
                                          {3, 1}, {4, 0},  {5, -1}, {5, 0},  {6, -1}, {6, 0}};
constexpr SpelledPitch minorTonics[12] = {{0, 0}, {0, 1}, {1, 0}, {2, -1}, {2, 0},  {3, 0},
                                          {3, 1}, {4, 0}, {4, 1}, {5, 0},  {6, -1}, {6, 0}};

constexpr Key keyNumbered(std::size_t index) {
  return index < 12 ? Key{majorTonics[index], Mode::major, true} : Key{minorTonics[index - 12], Mode::minor, true};
}

constexpr std::size_t indexOf(const Key& key) {
  return key.tonic.pitchClass().value + (key.mode == Mode::minor ? 12u : 0u);
}

float quartersOf(Ticks sounded) noexcept {
  return static_cast<float>(static_cast<double>(std::max<std::int64_t>(sounded.value, 0)) /
                            static_cast<double>(quarter.value));
}

/// How much of a cadence the step from one chord to the next is: V7-I 1, V-I a half, else 0.
float cadence(const Chord& from, const Chord& to) noexcept {
  if (!from.type.known() || !to.type.known() || PitchClass::upFrom(to.root, from.root) != 7) return 0;
  const auto& before = chordTypeOf(from.type);
  const auto& after = chordTypeOf(to.type);
  const bool arrives = (after.has(3) || after.has(4)) && after.has(7) && !after.has(10);
  if (!before.has(4) || !arrives) return 0;
  return before.has(10) ? 1.0F : 0.5F;
}

}  // namespace

void KeyFinder::reset() noexcept {
  const Key kept = fixed_ ? key_ : Key{};
  *this = KeyFinder{};
  fix(kept);
}

void KeyFinder::fix(const Key& key) noexcept {
  fixed_ = key.known;
  key_ = key;
}

void KeyFinder::fade(float quarters) noexcept {
  const float kept = std::exp2(-quarters / halfLifeQuarters);
  for (auto& weight : weights_) weight *= kept;
  for (auto& heard : cadences_) heard *= kept;
  total_ *= kept;
}

void KeyFinder::hear(PitchClass pitchClass, Ticks sounded) noexcept {
  const float quarters = quartersOf(sounded);
  if (last_.none()) fade(quarters);  // with chords, the chords keep the time
  weights_[pitchClass.value] += quarters;
  total_ += quarters;
}

void KeyFinder::hearChord(const Chord& chord, Ticks sounded) noexcept {
  if (chord.none()) return;
  const float quarters = quartersOf(sounded);
  fade(quarters);
  for (std::size_t i = 0; i < chord.count; ++i)
    weights_[(chord.root.value + std::size_t{chord.tones[i]}) % 12] +=
        quarters * (chord.tones[i] == 0 ? chordRootShare : chordToneShare);
  total_ += quarters;
  if (const float heard = cadence(last_, chord); heard > 0)
    cadences_[chord.root.value + (chordTypeOf(chord.type).minorThird() ? 12u : 0u)] += heard;
  last_ = chord;
}

std::array<float, 24> KeyFinder::correlations() const noexcept {
  std::array<float, keyCount> found{};
  float sum = 0;
  float squares = 0;
  for (std::size_t i = 0; i < 12; ++i) {
    const float weight = weights_[i];
    sum += weight;
    squares += weight * weight;
    for (std::size_t k = 0; k < keyCount; ++k) found[k] += weight * shares.of[i][k];
  }
  const float variance = squares - sum * sum / 12;
  if (variance <= 1e-6F * squares) return {};  // all equal: every key is as good, so none is
  const float scale = 1 / std::sqrt(variance);
  for (auto& correlation : found) correlation *= scale;
  return found;
}

const Key& KeyFinder::update() noexcept {
  if (fixed_ || total_ < enoughQuarters) return key_;
  auto likely = correlations();
  for (std::size_t k = 0; k < keyCount; ++k) likely[k] += cadenceShare * cadences_[k] / (1 + cadences_[k]);
  const auto best = static_cast<std::size_t>(std::max_element(likely.begin(), likely.end()) - likely.begin());
  if (likely[best] < leastCorrelation) return key_;
  if (!key_.known || likely[best] > likely[indexOf(key_)] + margin) key_ = keyNumbered(best);
  return key_;
}

}  // namespace seguente
