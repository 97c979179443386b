#include "dsp/beat_finder.h"

#include <algorithm>
#include <cmath>

namespace seguente {

namespace {
// Shares of a tune's notes that lie on the beat and on its parts; tuned on half of the tunes (DEVELOPERS.md).
struct Part {
  double place;
  double weight;  // natural logarithm
};
constexpr std::array<Part, 7> inTwosParts = {
    {{0, 0}, {0.25, -0.9}, {1.0 / 3, -1.2}, {0.5, -0.3}, {2.0 / 3, -1.2}, {0.75, -0.8}, {1, 0}}};
constexpr std::array<Part, 7> inThreesParts = {
    {{0, 0}, {1.0 / 6, -0.7}, {1.0 / 3, -0.4}, {0.5, -0.6}, {2.0 / 3, -0.3}, {5.0 / 6, -0.7}, {1, 0}}};
constexpr double chordOffBeat = -4.0;
constexpr double rubbish = 0.004;    // share of notes that lie nowhere
constexpr double strayNote = 0.024;  // seconds that a note strays, and the share of the wait before it
constexpr double strayWait = 0.0276;
constexpr double forget = 0.8;          // an onset
constexpr double forgetSpacing = 0.85;  // a chord
constexpr double chordWeight = 0.791;
constexpr double barWeight = 0.7;
constexpr double usual = 0.025;  // seconds that a note strays
constexpr double forgetChords = 0.92f;
constexpr double shortest = 0.24, longest = 1.7;  // seconds a beat: what is tapped as one (common practice, no source)

/// How likely the next note comes after so many beats, as a natural logarithm. twelfths: of a beat.
double afterBeats(int twelfths, bool inThrees) noexcept {
  struct Step {
    int twelfths;
    double weight;
  };
  constexpr std::array<Step, 10> inTwos = {{{12, -0.695},
                                            {6, -1.75},
                                            {24, -4.31},
                                            {18, -3.29},
                                            {3, -2.73},
                                            {9, -1.6},
                                            {36, -1.87},
                                            {48, -2.76},
                                            {4, -3.5},
                                            {8, -3.8}}};
  constexpr std::array<Step, 10> inThreesSteps = {{{4, -1.7},
                                                   {8, -2.37},
                                                   {12, -3.15},
                                                   {6, -2.66},
                                                   {2, -1.29},
                                                   {24, -1.74},
                                                   {16, -3.5},
                                                   {20, -3.2},
                                                   {36, -3.8},
                                                   {48, -4.0}}};
  for (const Step& s : inThrees ? inThreesSteps : inTwos)
    if (s.twelfths == twelfths) return s.weight;
  return -5.0;
}

/// And the next chord after so many beats, in bars of n.
double chordAfter(int beats, int n) noexcept {
  if (beats == n) return -0.35;
  if (beats * 2 == n) return -2.26;
  if (beats == 2 * n) return -2.85;
  return beats == 1 ? -1.79 : -2.21;
}
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
  for (const Part& part : inThrees ? inThreesParts : inTwosParts) {
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

void BeatFinder::follow(Line& line, const Onset& onset) const noexcept {
  const double x = (onset.seconds - line.beat) / line.period;
  const double whole = std::floor(x);
  const double since = line.heard > 0 ? std::max(0.25, (onset.seconds - line.last) / line.period) : 1;
  const double deviation = strayNote + strayWait * std::min(since * line.period, 1.2);  // seconds
  const BeatPart part = nearestPart(x - whole, deviation / line.period, prior_.inThrees, onset.chord);
  const double error = part.error * line.period;
  const double now = line.place + whole + part.place;  // in beats
  const double after =
      line.heard > 2 ? afterBeats(static_cast<int>(std::floor((now - line.lastPlace) * 12 + 0.5)), prior_.inThrees) : 0;
  const double miss = error / deviation;
  line.score =
      line.score * forget + std::log(rubbish + std::exp(part.weight + after - 0.5 * miss * miss) * usual / deviation);
  if (onset.chord) {
    const int beats = static_cast<int>(std::floor(now - line.lastChord + 0.5));
    if (line.chordsAll > 0.5f)
      line.spacing = line.spacing * forgetSpacing +
                     chordWeight * (prior_.beatsInBar != 0 ? chordAfter(beats, prior_.beatsInBar)
                                                           : std::max(chordAfter(beats, 4), chordAfter(beats, 3)));
    line.lastChord = now;
  }
  line.lastPlace = now;
  line.place += whole;
  line.beat += whole * line.period;
  line.index = (line.index + static_cast<int>(whole) % 12 + 12) % 12;
  if (onset.chord) {
    for (float& c : line.chords) c *= static_cast<float>(forgetChords);
    line.chordsOff *= static_cast<float>(forgetChords);
    line.chordsAll = line.chordsAll * static_cast<float>(forgetChords) + 1;
    if (part.place == 0 || part.place == 1)
      line.chords[static_cast<std::size_t>((line.index + (part.place == 1 ? 1 : 0)) % 12)] += 1;
    else
      line.chordsOff += 1;
  }
  ++line.heard;
  line.last = onset.seconds;
  if (std::abs(part.error) > 0.2) return;
  // Gains of a least-squares line through what was heard, never below those that follow a player who bends the tempo.
  const double m = std::min(line.heard, 12);
  const double phaseGain = std::max(0.45, 2 * (2 * m + 1) / ((m + 1) * (m + 2)));
  const double periodGain = std::max(0.15, 6 / ((m + 1) * (m + 2)));
  line.beat += std::min(phaseGain, 0.8) * error;
  line.period += std::min(periodGain, 0.4) * error * std::min(since, 1.0) / std::max(since, 1.0);
  line.period = std::clamp(line.period, shortest, longest);
}

double BeatFinder::barScore(const Line& line) const noexcept {
  if (line.chordsAll < 0.5f) return 0;
  double best = -1e9;
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
  return best;
}

double BeatFinder::total(const Line& line) const noexcept {
  const double off = std::log(line.period / prior_.period) / prior_.spread;
  return line.score + line.spacing + barWeight * barScore(line) - 0.5 * off * off;
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
