#include "dsp/notate/grid.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <optional>

namespace seguente::notate {

namespace {

constexpr double ownError = 0.010;     // seconds: of a place, however often it was played
constexpr double strokeError = 0.022;  // of one stroke; 20 to 30 ms within a hand (tests/reference/touch)
constexpr double mostError = 8;        // nats: a note that fits nowhere does not decide
constexpr double mostLateness = 0.06;  // seconds that a player is early or late throughout
constexpr double latenessError = 0.03;
constexpr double collision = 12;  // nats: one key twice at one place
constexpr double thirdless = 5;   // triplets of which the middle is never played are swing
constexpr double otherBeat = 5;   // one beat is divided otherwise than its neighbours

struct Division {
  int parts;
  double cost;
};
constexpr std::array<Division, 6> simple{{{1, 0}, {2, 0.5}, {4, 2}, {3, 2}, {6, 6}, {8, 7}}};
constexpr std::array<Division, 5> threefold{{{1, 0}, {3, 0.5}, {6, 2.5}, {2, 5}, {12, 7}}};
constexpr double swingEighths = 3, swingSixteenths = 4.5;
constexpr double leastSwing = 1.2, mostSwing = 2.7;  // beyond it is a dotted rhythm

/// What it costs to stand at part k of n: the deeper in the metrical tree, the more.
double depth(int k, int n) {
  if (k % n == 0) return 0;
  if (2 * k % n == 0) return 0.7;
  if (3 * k % n == 0) return 1.1;
  if (4 * k % n == 0) return 1.5;
  return 6 * k % n == 0 ? 2.2 : 3;
}

struct Frame {
  double beat = 0.5;  // seconds of a felt beat
  Ticks ticks{quarter};
  Ticks length{};
  double beats() const { return static_cast<double>(length.value) / static_cast<double>(ticks.value); }
};

/// Where a straight place of the beat (0..1) is heard.
double bentPlace(double straight, const GridFound& g, Ticks beat) {
  if (g.swing == 1) return straight;
  const double pairs = static_cast<double>(beat.value) / static_cast<double>(g.pair.value);
  const double place = straight * pairs, pair = std::floor(place), in = place - pair;
  const double longer = g.swing / (1 + g.swing);
  const double bent = in < 0.5 ? in * 2 * longer : longer + (in - 0.5) * 2 * (1 - longer);
  return (pair + bent) / pairs;
}

double straightPlace(double heard, const GridFound& g, Ticks beat) {
  if (g.swing == 1) return heard;
  const double pairs = static_cast<double>(beat.value) / static_cast<double>(g.pair.value);
  const double place = heard * pairs, pair = std::floor(place), in = place - pair;
  const double longer = g.swing / (1 + g.swing);
  const double straight = in < longer ? in / longer / 2 : 0.5 + (in - longer) / (1 - longer) / 2;
  return (pair + straight) / pairs;
}

struct Fit {
  double cost = 0, depth = 0;
  std::vector<double> perBeat;  // by felt beat of the figure
  std::vector<int> beat, part;  // a note each
};

double errorOf(int times) { return ownError + strokeError / std::sqrt(static_cast<double>(times)); }

Fit fit(const std::vector<Struck>& notes, const GridFound& g, const Frame& f, double lateness) {
  Fit out;
  const int beats = static_cast<int>(std::lround(f.beats()));
  out.perBeat.assign(static_cast<std::size_t>(std::max(1, beats)), 0);
  for (std::size_t i = 0; i < notes.size(); ++i) {
    const Struck& n = notes[i];
    const double at = (n.at - lateness) / f.beat;
    const double base = std::floor(at);
    int bestPart = 0;
    double off = 1e9;
    for (int k = 0; k <= g.parts; ++k) {
      const double away = std::abs(base + bentPlace(static_cast<double>(k) / g.parts, g, f.ticks) - at);
      if (away < off) off = away, bestPart = k;
    }
    int beat = static_cast<int>(base) + (bestPart == g.parts ? 1 : 0);
    const int part = bestPart % g.parts;
    const double error = off * f.beat / errorOf(n.times);
    double cost = std::min(mostError, error * error / 2) + depth(part, g.parts);
    beat = ((beat % beats) + beats) % beats;
    for (std::size_t k = 0; k < i; ++k)
      if (notes[k].key == n.key && out.beat[k] == beat && out.part[k] == part) cost += collision;
    out.beat.push_back(beat);
    out.part.push_back(part);
    out.depth += depth(part, g.parts);
    out.perBeat[static_cast<std::size_t>(beat)] += cost;
    out.cost += cost;
  }
  return out;
}

/// How early or late the player is throughout, as this grid sees it.
double latenessFor(const std::vector<Struck>& notes, const GridFound& g, const Frame& f) {
  double late = 0;
  for (int turn = 0; turn < 3; ++turn) {
    std::vector<double> off;
    for (const Struck& n : notes) {
      const double at = (n.at - late) / f.beat, base = std::floor(at);
      double best = 1e9;
      for (int k = 0; k <= g.parts; ++k) {
        const double away = at - base - bentPlace(static_cast<double>(k) / g.parts, g, f.ticks);
        if (std::abs(away) < std::abs(best)) best = away;
      }
      off.push_back(best * f.beat);
    }
    std::sort(off.begin(), off.end());
    late = std::clamp(late + off[off.size() / 2], -mostLateness, mostLateness);
  }
  return late;
}

/// Long and short: what the places between say.
std::optional<double> swingOf(const std::vector<Struck>& notes, double pairSeconds, double lateness) {
  std::vector<double> ratios;
  for (const Struck& n : notes) {
    const double place = (n.at - lateness) / pairSeconds;
    const double in = place - std::floor(place);
    if (in > 0.45 && in < 0.8) ratios.push_back(in);
  }
  if (ratios.empty()) return std::nullopt;
  std::sort(ratios.begin(), ratios.end());
  const double longer = ratios[ratios.size() / 2];
  const double ratio = std::round(longer / (1 - longer) * 20) / 20;
  if (ratio < leastSwing || ratio > mostSwing) return std::nullopt;
  return ratio;
}

struct Candidate {
  GridFound grid;
  double lateness = 0;
  Fit fit;
};

Candidate judge(const std::vector<Struck>& notes, GridFound g, double cost, const Frame& f, bool triplets) {
  Candidate c{g, latenessFor(notes, g, f), {}};
  c.fit = fit(notes, g, f, c.lateness);
  bool middle = false;
  for (const int part : c.fit.part) middle = middle || part * 3 == g.parts;
  c.grid.depth = c.fit.depth;
  const double l = c.lateness / latenessError;
  c.grid.cost = c.fit.cost + cost + l * l / 2 + (triplets && !middle ? thirdless : 0);
  return c;
}

Candidate bestGrid(const std::vector<Struck>& notes, Meter meter, const Frame& f) {
  Candidate best;
  best.grid.cost = 1e18;
  const auto take = [&](Candidate c) {
    if (c.grid.cost < best.grid.cost) best = std::move(c);
  };
  if (compound(meter)) {
    for (const Division d : threefold) take(judge(notes, {d.parts, 1, f.ticks, 0, 0}, d.cost, f, false));
    return best;
  }
  for (const Division d : simple) take(judge(notes, {d.parts, 1, f.ticks, 0, 0}, d.cost, f, d.parts % 3 == 0));
  const double onBeats = latenessFor(notes, {2, 1, f.ticks, 0, 0}, f);
  for (const double late : {0.0, std::abs(onBeats) < 0.03 ? onBeats : 0.0}) {
    if (const auto r = swingOf(notes, f.beat, late)) take(judge(notes, {2, *r, f.ticks, 0, 0}, swingEighths, f, false));
    const Ticks half{f.ticks.value / 2};
    if (const auto r = swingOf(notes, f.beat / 2, late))
      take(judge(notes, {4, *r, half, 0, 0}, swingSixteenths, f, false));
  }
  return best;
}

/// A beat that is clearly divided in another way than its neighbours is let be so: a triplet among eighths.
void otherBeats(const std::vector<Struck>& notes, Meter meter, const Frame& f, const Candidate& best,
                std::vector<Ticks>& at) {
  constexpr std::array<int, 4> simpleOthers{2, 3, 4, 6};
  constexpr std::array<int, 4> compoundOthers{3, 6, 2, 4};
  for (const int parts : compound(meter) ? compoundOthers : simpleOthers) {
    const GridFound other{parts, 1, f.ticks, 0, 0};
    const Fit tried = fit(notes, other, f, best.lateness);
    for (std::size_t b = 0; b < tried.perBeat.size(); ++b) {
      if (tried.perBeat[b] + otherBeat >= best.fit.perBeat[b]) continue;
      for (std::size_t i = 0; i < notes.size(); ++i)
        if (tried.beat[i] == static_cast<int>(b) && best.fit.beat[i] == static_cast<int>(b))
          at[i] = Ticks{f.ticks.value * tried.beat[i] + f.ticks.value * tried.part[i] / parts};
    }
  }
}

Gridded placed(const std::vector<Struck>& notes, Meter meter, const Frame& f, const Candidate& c) {
  Gridded out{c.grid, {}, {}};
  for (std::size_t i = 0; i < notes.size(); ++i)
    out.at.push_back({f.ticks.value * c.fit.beat[i] + f.ticks.value * c.fit.part[i] / c.grid.parts});
  otherBeats(notes, meter, f, c, out.at);
  for (std::size_t i = 0; i < notes.size(); ++i) {
    const double heard = (notes[i].at - c.lateness + notes[i].length) / f.beat;
    const double beat = std::floor(heard);
    const double straight = beat + straightPlace(heard - beat, c.grid, f.ticks);
    // A note that wrapped round the figure's end keeps its length.
    const double begun = (notes[i].at - c.lateness) / f.beat;
    const auto wraps = std::llround(begun - static_cast<double>(out.at[i].value) / static_cast<double>(f.ticks.value));
    const long long rounds = wraps / std::max<long long>(1, std::llround(f.beats()));
    const double from = static_cast<double>(rounds) * f.beats();
    out.end.push_back({std::llround((straight - from) * static_cast<double>(f.ticks.value))});
  }
  return out;
}

Frame frameOf(Meter meter, double quarterSeconds, Ticks length) {
  Frame f{0, feltBeat(meter), length};
  f.beat = quarterSeconds * static_cast<double>(f.ticks.value) / static_cast<double>(quarter.value);
  return f;
}

}  // namespace

Gridded onGrid(const std::vector<Struck>& notes, Meter meter, double quarterSeconds, Ticks length) {
  const Frame f = frameOf(meter, quarterSeconds, length);
  return placed(notes, meter, f, bestGrid(notes, meter, f));
}

Gridded onThisGrid(const std::vector<Struck>& notes, const GridFound& grid, Meter meter, double quarterSeconds,
                   Ticks length) {
  const Frame f = frameOf(meter, quarterSeconds, length);
  return placed(notes, meter, f, judge(notes, grid, 0, f, false));
}

}  // namespace seguente::notate
