#include "dsp/beat_finder.h"

#include <algorithm>
#include <cmath>
#include <span>

namespace seguente {

namespace {
// Shares of a tune's notes that lie on the beat and on its parts; tuned on half of the tunes (DEVELOPERS.md).
struct PartOfBeat {
  double place;
  double weight;  // natural logarithm
};
constexpr std::array<PartOfBeat, 7> inTwosParts = {
    {{0, 0}, {0.25, -0.9}, {1.0 / 3, -1.2}, {0.5, -0.3}, {2.0 / 3, -1.2}, {0.75, -0.8}, {1, 0}}};
constexpr std::array<PartOfBeat, 7> inThreesParts = {
    {{0, 0}, {1.0 / 6, -0.7}, {1.0 / 3, -0.4}, {0.5, -0.6}, {2.0 / 3, -0.3}, {5.0 / 6, -0.7}, {1, 0}}};
constexpr double chordOffBeat = -6.72;
constexpr double rubbish = 0.00467;   // share of notes that lie nowhere
constexpr double strayNote = 0.0158;  // seconds that a note strays, and the share of the wait before it
constexpr double strayWait = 0.0259;
constexpr double forget = 0.53;      // an onset: how well notes lie on the line
constexpr double forgetKind = 0.99;  // an onset: how usual its rhythm is, told in beats
constexpr double kindWeight = 5.06;
constexpr double kindsToTrust = 6.23;  // onsets that weigh as much as what is usual
constexpr double forgetSpacing = 0.9;  // a chord
constexpr double chordWeight = 2.88;
constexpr double barWeight = 2.59;
constexpr double usualKind = -1.0, usualSpacing = -1.2, usualOnBar = -0.7;  // until anything is known
constexpr double firstStep = -0.7;
constexpr double usual = 0.025;  // seconds that a note strays
constexpr double forgetChords = 0.99;
constexpr double shortest = 0.24, longest = 1.7;  // seconds a beat: what is tapped as one (common practice, no source)

// How likely the next note comes after so many twelfths of a beat, from each place in the beat, as natural logarithms:
// judging by the place in the beat is Temperley 2007, "Music and Probability". From memory of what folk tunes do, near
// to the counts of half of the tunes of tests/reference and smoothed; not tuned, as so few tunes would be learnt by
// heart.
struct Step {
  int twelfths;
  double weight;
};
constexpr double otherStep = -4.21;
constexpr std::array<Step, 11> fromBeat = {{{12, -0.87},
                                            {6, -1.2},
                                            {24, -2.4},
                                            {18, -3.0},
                                            {3, -3.0},
                                            {9, -3.35},
                                            {36, -3.9},
                                            {48, -4.2},
                                            {4, -3.9},
                                            {8, -4.3},
                                            {30, -4.6}}};
constexpr std::array<Step, 6> fromHalf = {{{6, -0.36}, {3, -2.1}, {12, -2.5}, {18, -3.5}, {9, -3.9}, {24, -4.6}}};
constexpr std::array<Step, 4> fromQuarter = {{{3, -0.3}, {6, -2.3}, {9, -2.5}, {12, -3.5}}};
constexpr std::array<Step, 3> fromLastQuarter = {{{3, -0.1}, {6, -3.4}, {9, -3.6}}};
constexpr std::array<Step, 3> fromThird = {{{4, -0.25}, {8, -1.9}, {2, -3.0}}};
constexpr std::array<Step, 3> fromTwoThirds = {{{4, -0.1}, {16, -3.5}, {8, -3.5}}};
constexpr std::array<Step, 9> threesFromBeat = {
    {{4, -1.0}, {8, -1.4}, {12, -1.6}, {6, -2.2}, {2, -3.2}, {24, -3.2}, {20, -3.8}, {16, -4.0}, {36, -4.6}}};
constexpr std::array<Step, 5> threesFromThird = {{{4, -0.25}, {8, -2.0}, {2, -2.8}, {6, -3.9}, {12, -3.9}}};
constexpr std::array<Step, 5> threesFromTwoThirds = {{{4, -0.15}, {2, -2.6}, {16, -3.5}, {12, -3.9}, {8, -4.2}}};
constexpr std::array<Step, 3> threesFromSixth = {{{2, -0.15}, {6, -2.6}, {4, -3.5}}};
constexpr std::array<Step, 3> threesFromHalf = {{{2, -0.15}, {6, -2.6}, {10, -3.9}}};

double weightIn(std::span<const Step> steps, int twelfths) noexcept {
  for (const Step& s : steps)
    if (s.twelfths == twelfths) return s.weight;
  return otherStep;
}

/// place: where the note before lay, in twelfths of the beat, 0..11.
double afterBeats(int place, int twelfths, bool inThrees) noexcept {
  if (inThrees) {
    if (place == 0) return weightIn(threesFromBeat, twelfths);
    if (place == 4) return weightIn(threesFromThird, twelfths);
    if (place == 8) return weightIn(threesFromTwoThirds, twelfths);
    return weightIn(place == 6 ? std::span<const Step>{threesFromHalf} : threesFromSixth, twelfths);
  }
  if (place == 0) return weightIn(fromBeat, twelfths);
  if (place == 6) return weightIn(fromHalf, twelfths);
  if (place == 3) return weightIn(fromQuarter, twelfths);
  if (place == 9) return weightIn(fromLastQuarter, twelfths);
  return weightIn(place == 4 ? std::span<const Step>{fromThird} : fromTwoThirds, twelfths);
}

/// And the next chord after so many beats, in bars of n.
double chordAfter(int beats, int n) noexcept {
  if (beats == n) return -0.35;
  if (beats * 2 == n) return -2.26;
  if (beats == 2 * n) return -2.85;
  return beats == 1 ? -1.79 : -2.21;
}
/// The mean of n observations that sum to `sum`, and of one more that is usual.
double meanWith(double usualOne, double sum, double n) noexcept { return (usualOne + sum) / (1 + n); }
}  // namespace

double chordOnBeat(int n, int position) noexcept {
  if (position == 0) return -0.22;
  if (n == 4 && position == 2) return -2.1;
  if (n == 2) return -2.0;
  if (n == 6 && position == 3) return -2.1;
  return position == n - 1 && n == 3 ? -2.8 : -3.4;
}

BeatPart nearestPart(double fraction, double tolerance, bool inThrees, bool chord, double finest) noexcept {
  BeatPart best;
  double most = -1e9;
  for (const PartOfBeat& part : inThrees ? inThreesParts : inTwosParts) {
    const bool onBeat = part.place == 0 || part.place == 1;
    const double weight = !chord ? part.weight + (part.weight < -0.65 ? finest : 0) : onBeat ? 0 : chordOffBeat;
    const double error = fraction - part.place;
    const double value = weight - 0.5 * error * error / (tolerance * tolerance);
    if (value <= most) continue;
    most = value;
    best = {part.place, error, weight};
  }
  return best;
}

void BeatFinder::begin(const BeatPrior& prior) noexcept {
  *this = BeatFinder{};
  prior_ = prior;
}

/// The place on the line that is likeliest: by how near it is, and by where the note before lay.
BeatFinder::Landing BeatFinder::landing(const Line& line, const Onset& onset, double fraction, int whole,
                                        double deviation) const noexcept {
  Landing best;
  double highest = -1e9;
  const int before = ((line.lastPlace % 12) + 12) % 12;
  for (const PartOfBeat& part : prior_.inThrees ? inThreesParts : inTwosParts) {
    const bool onBeat = part.place == 0 || part.place == 1;
    const int place = (line.place + whole) * 12 + static_cast<int>(std::lround(part.place * 12));
    const double after =
        line.heard > 2 ? afterBeats(before, place - line.lastPlace, prior_.inThrees) : part.weight + firstStep;
    const double error = (fraction - part.place) * line.period;
    const double miss = error / deviation;
    const double value = after + (onset.chord && !onBeat ? chordOffBeat : 0) - 0.5 * miss * miss;
    if (value <= highest) continue;
    highest = value;
    best = {place, error, after, value, onBeat};
  }
  return best;
}

void BeatFinder::placeChord(Line& line, const Landing& at) const noexcept {
  for (float& c : line.chords) c *= static_cast<float>(forgetChords);
  line.chordsOff *= static_cast<float>(forgetChords);
  line.chordsAll = line.chordsAll * static_cast<float>(forgetChords) + 1;
  const int beat = at.place / 12 - (at.place % 12 < 0 ? 1 : 0);
  if (at.onBeat)
    line.chords[static_cast<std::size_t>(((beat % 12) + 12) % 12)] += 1;
  else
    line.chordsOff += 1;
  if (line.chordsAll > 1.5f) {
    const int beats = (at.place - line.lastChord + 6 + 1200) / 12 - 100;
    line.spacing =
        line.spacing * forgetSpacing + (prior_.beatsInBar != 0 ? chordAfter(beats, prior_.beatsInBar)
                                                               : std::max(chordAfter(beats, 4), chordAfter(beats, 3)));
    line.spacings = line.spacings * forgetSpacing + 1;
  }
  line.lastChord = at.place;
}

void BeatFinder::follow(Line& line, const Onset& onset) const noexcept {
  const double x = (onset.seconds - line.beat) / line.period;
  const double whole = std::floor(x);
  const double since = line.heard > 0 ? std::max(0.25, (onset.seconds - line.last) / line.period) : 1;
  const double deviation = strayNote + strayWait * std::min(since * line.period, 1.2);  // seconds
  const Landing at = landing(line, onset, x - whole, static_cast<int>(whole), deviation);
  line.score = line.score * forget + std::log(rubbish + std::exp(at.weight) * usual / deviation);
  line.kind = line.kind * forgetKind + at.after;
  line.kinds = line.kinds * forgetKind + 1;
  if (onset.chord) placeChord(line, at);
  line.lastPlace = at.place;
  line.place += static_cast<int>(whole);
  line.beat += whole * line.period;
  ++line.heard;
  line.last = onset.seconds;
  if (std::abs(at.error) > 0.2 * line.period) return;
  // Gains of a least-squares line through what was heard, never below those that follow a player who bends the tempo.
  const double m = std::min(line.heard, 12);
  const double phaseGain = std::max(0.45, 2 * (2 * m + 1) / ((m + 1) * (m + 2)));
  const double periodGain = std::max(0.15, 6 / ((m + 1) * (m + 2)));
  line.beat += std::min(phaseGain, 0.8) * at.error;
  line.period += std::min(periodGain, 0.4) * at.error * std::min(since, 1.0) / std::max(since, 1.0);
  line.period = std::clamp(line.period, shortest, longest);
}

double BeatFinder::barScore(const Line& line) const noexcept {
  double best = 0;
  if (line.chordsAll > 0.5f) {
    best = -1e9;
    for (const int n : {2, 3, 4, 6}) {
      if (prior_.beatsInBar != 0 ? n != prior_.beatsInBar : (n != 3 && n != 4)) continue;
      for (int phase = 0; phase < n; ++phase) {
        double sum = line.chordsOff * -1.0;
        for (int i = 0; i < 12; ++i)
          if (line.chords[static_cast<std::size_t>(i)] > 0)
            sum += line.chords[static_cast<std::size_t>(i)] * chordOnBeat(n, (i - phase + 12) % n);
        best = std::max(best, sum);
      }
    }
    if (best < -1e8) best = 0;  // bars of five or seven
  }
  return meanWith(usualOnBar, best, line.chordsAll);
}

double BeatFinder::total(const Line& line) const noexcept {
  const double off = std::log(line.period / prior_.period) / prior_.spread;
  return line.score + kindWeight * meanWith(usualKind, line.kind / kindsToTrust, line.kinds / kindsToTrust) +
         chordWeight * meanWith(usualSpacing, line.spacing, line.spacings) + barWeight * barScore(line) -
         0.5 * off * off;
}

void BeatFinder::propose(double beat, double period) noexcept {
  if (period < shortest || period > longest) return;
  for (std::size_t i = 0; i < count_; ++i) {
    const Line& l = lines_[i];
    if (std::abs(l.period / period - 1) > 0.05) continue;
    const double apart = (beat - l.beat) / l.period;
    if (std::abs(apart - std::round(apart)) < 0.1) return;
  }
  Line line;
  line.period = period;
  const double back = std::ceil((beat - past_[0].seconds) / period + 0.3);
  line.beat = beat - back * period;
  line.heard = 2;
  line.last = past_[0].seconds;
  for (std::size_t i = 0; i < pastCount_; ++i) follow(line, past_[i]);
  if (count_ < most) {
    lines_[count_++] = line;
    return;
  }
  std::size_t worst = 0;
  for (std::size_t i = 1; i < count_; ++i)
    if (total(lines_[i]) < total(lines_[worst])) worst = i;
  if (total(line) > total(lines_[worst])) lines_[worst] = line;
}

void BeatFinder::hear(const Onset& onset) noexcept {
  ++heard_;
  for (std::size_t i = 0; i < count_; ++i) follow(lines_[i], onset);
  if (pastCount_ == remembered) {
    std::move(past_.begin() + 1, past_.end(), past_.begin());
    --pastCount_;
  }
  past_[pastCount_++] = onset;
  const std::size_t back = heard_ <= 8 ? 4 : 2;
  constexpr std::array<double, 8> beatsBetween = {1, 2, 0.5, 1.5, 3, 4, 1.0 / 3, 0.25};
  for (std::size_t b = 1; b <= back && b < pastCount_; ++b) {
    const double interval = onset.seconds - past_[pastCount_ - 1 - b].seconds;
    for (const double beats : beatsBetween) propose(onset.seconds, interval / beats);
  }
  // Two lines that have run together are one.
  for (std::size_t i = 0; i < count_; ++i)
    for (std::size_t k = i + 1; k < count_;) {
      const double apart = (lines_[k].beat - lines_[i].beat) / lines_[i].period;
      if (std::abs(lines_[k].period / lines_[i].period - 1) < 0.03 && std::abs(apart - std::round(apart)) < 0.06) {
        if (total(lines_[k]) > total(lines_[i])) lines_[i] = lines_[k];
        lines_[k] = lines_[--count_];
      } else {
        ++k;
      }
    }
}

BeatFinder::Found BeatFinder::found(const Line& line) const noexcept {
  Found f{true, line.beat, line.period, total(line), 1e9, heard_};
  for (std::size_t i = 0; i < count_; ++i)
    if (std::abs(lines_[i].period / line.period - 1) > 0.12) f.margin = std::min(f.margin, f.score - total(lines_[i]));
  return f;
}

BeatFinder::Found BeatFinder::best() const noexcept {
  if (count_ == 0) return {};
  std::size_t best = 0;
  for (std::size_t i = 1; i < count_; ++i)
    if (total(lines_[i]) > total(lines_[best])) best = i;
  return found(lines_[best]);
}

BeatFinder::Found BeatFinder::bestNear(double period) const noexcept {
  const Line* best = nullptr;
  for (std::size_t i = 0; i < count_; ++i)
    if (std::abs(lines_[i].period / period - 1) < 0.1 && (best == nullptr || total(lines_[i]) > total(*best)))
      best = &lines_[i];
  return best == nullptr ? Found{} : found(*best);
}

BeatFinder::Found BeatFinder::bestAt(double beat, double period) const noexcept {
  const Line* best = nullptr;
  for (std::size_t i = 0; i < count_; ++i) {
    const double apart = (lines_[i].beat - beat) / period;
    if (std::abs(lines_[i].period / period - 1) < 0.1 && std::abs(apart - std::floor(apart + 0.5)) < 0.2 &&
        (best == nullptr || total(lines_[i]) > total(*best)))
      best = &lines_[i];
  }
  return best == nullptr ? Found{} : found(*best);
}

}  // namespace seguente
