#include "dsp/notate/pace.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <map>
#include <set>

#include "dsp/notate/fold.h"
#include "dsp/notate/grid.h"

namespace seguente::notate {

namespace {

constexpr double oneStroke = 0.05;      // seconds from a stroke's first note to its last
constexpr double alike = 0.9;           // share of strokes that come again
constexpr double steady = 0.12;         // how much rounds may differ in length
constexpr double usualTempo = 105;      // felt beats a minute
constexpr double spreadOfTempo = 0.35;  // of its logarithm
constexpr double spreadWhenSaid = 0.06;

struct Stroke {
  double at = 0;
  std::set<int> keys;
};

std::vector<Stroke> strokesOf(const std::vector<TakenNote>& notes) {
  std::vector<Stroke> out;
  for (const TakenNote& n : notes) {
    if (out.empty() || n.on - out.back().at > oneStroke) out.push_back({n.on, {}});
    out.back().keys.insert(n.key);
  }
  return out;
}

double likeness(const std::set<int>& a, const std::set<int>& b) {
  std::size_t both = 0;
  for (const int k : a) both += b.count(k);
  return static_cast<double>(both) / static_cast<double>(a.size() + b.size() - both);
}

/// After how many strokes the figure begins again; 0: never.
std::size_t roundOf(const std::vector<Stroke>& strokes) {
  const std::size_t n = strokes.size();
  for (std::size_t lag = 1; lag * 2 <= n; ++lag) {
    double sum = 0, shortest = 1e9, longest = 0;
    for (std::size_t i = 0; i + lag < n; ++i) {
      sum += likeness(strokes[i].keys, strokes[i + lag].keys);
      const double way = strokes[i + lag].at - strokes[i].at;
      shortest = std::min(shortest, way);
      longest = std::max(longest, way);
    }
    if (sum >= alike * static_cast<double>(n - lag) && longest - shortest < steady * (longest + shortest) + 0.1)
      return lag;
  }
  return 0;
}

/// Notes moved so that each round is as long as the mean of all.
std::vector<TakenNote> evened(const std::vector<TakenNote>& notes, const std::vector<Stroke>& strokes, std::size_t lag,
                              double round) {
  std::vector<double> starts;
  for (std::size_t i = 0; i < strokes.size(); i += lag) starts.push_back(strokes[i].at);
  const auto move = [&](double t) {
    std::size_t r = 0;
    while (r + 2 < starts.size() && t >= starts[r + 1] - oneStroke / 2) ++r;
    const double length = starts.size() > 1 ? starts[r + 1] - starts[r] : round;
    const bool last = r + 2 == starts.size() && t >= starts[r + 1];  // an open round goes on at the pace before it
    const double from = last ? starts[r + 1] : starts[r];
    return (static_cast<double>(last ? r + 1 : r) + (t - from) / length) * round;
  };
  std::vector<TakenNote> out = notes;
  for (TakenNote& n : out) {
    n.on = move(n.on);
    n.off = std::max(n.on + 0.01, move(n.off));
  }
  return out;
}

/// One round, as the mean of all.
std::vector<Struck> meanRound(const std::vector<TakenNote>& notes, double round) {
  Folded f = fold(notes, round, round);
  if (f.bars == 1) return f.notes;
  std::vector<Struck> out;
  for (const Struck& s : f.notes)
    if (s.at < round - oneStroke) out.push_back(s);
  return out;
}

struct MeterPrior {
  Meter meter;
  double cost;
};
constexpr std::array<MeterPrior, 6> usual{
    {{{4, 4}, 0}, {{3, 4}, 0.5}, {{6, 8}, 0.7}, {{2, 4}, 1.5}, {{12, 8}, 1.5}, {{9, 8}, 3}}};

}  // namespace

std::optional<Pace> findPace(const std::vector<TakenNote>& notes, const Wishes& wishes,
                             const std::optional<Meter>& fromFile) {
  const auto strokes = strokesOf(notes);
  const std::size_t lag = roundOf(strokes);
  if (lag == 0) return std::nullopt;
  double round = 0;
  for (std::size_t i = 0; i + lag < strokes.size(); ++i) round += strokes[i + lag].at - strokes[i].at;
  round /= static_cast<double>(strokes.size() - lag);
  auto even = evened(notes, strokes, lag, round);
  const double first = even.front().on;
  for (TakenNote& n : even) n.on -= first, n.off -= first;
  const auto mean = meanRound(even, round);

  std::vector<MeterPrior> meters(usual.begin(), usual.end());
  if (const auto said = wishes.meter ? wishes.meter : fromFile) meters = {{*said, 0}};
  Pace best;
  double cheapest = 1e18;
  for (const auto& [meter, prior] : meters) {
    const double felt = static_cast<double>(feltBeat(meter).value) / static_cast<double>(quarter.value);
    const double perBar = static_cast<double>(meter.bar().value) / static_cast<double>(feltBeat(meter).value);
    for (int beats = 1; beats <= 32; ++beats) {
      const double bars = beats / perBar, whole = bars >= 1 ? bars : 1 / bars;
      if (std::abs(whole - std::round(whole)) > 1e-9 || (whole > 2.5 && std::abs(whole - 4) > 1e-9)) continue;
      const double beatSeconds = round / beats;
      const double quarterSeconds = beatSeconds / felt;
      const bool said = wishes.quartersPerMinute > 0;
      const double off = std::log(said ? 60 / quarterSeconds / wishes.quartersPerMinute : 60 / beatSeconds / usualTempo);
      const double spread = said ? spreadWhenSaid : spreadOfTempo;
      const Ticks length = feltBeat(meter) * beats;
      const double cost = prior + off * off / (2 * spread * spread) + std::abs(std::log2(bars)) * 0.7 +
                          onGrid(mean, meter, quarterSeconds, length).grid.cost;
      if (cost >= cheapest) continue;
      cheapest = cost;
      best = {meter, quarterSeconds, {}};
    }
  }
  if (cheapest > 1e17) return std::nullopt;
  best.notes = std::move(even);
  return best;
}

}  // namespace seguente::notate
