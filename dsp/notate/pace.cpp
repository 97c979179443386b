#include "dsp/notate/pace.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <map>

#include "dsp/notate/fold.h"
#include "dsp/notate/grid.h"

namespace seguente::notate {

namespace {

constexpr double near = 0.05;           // seconds that a note may come early or late in its round
constexpr double drift = 0.06;          // and share of the round, as the tempo breathes
constexpr double shortestRound = 0.25;  // seconds
constexpr double asGood = 0.08;         // a shorter round is taken when it explains nearly as much
constexpr double alike = 0.75;          // of the notes of each key must come again
constexpr double usualTempo = 100;      // felt beats a minute
constexpr double usualThreefold = 70;   // of three parts, by the tempi of our own shelf
constexpr double spreadOfTempo = 0.3;   // of its logarithm
constexpr double spreadWhenSaid = 0.1;  // "about" is within 15 %

using Notes = std::vector<TakenNote>;

/// The same key about one round later; null when there is none.
const TakenNote* again(const Notes& notes, const TakenNote& note, double round) {
  const TakenNote* best = nullptr;
  double off = near + drift * std::abs(round);
  for (const TakenNote& n : notes) {
    const double away = std::abs(n.on - note.on - round);
    if (n.key == note.key && &n != &note && away < off) off = away, best = &n;
  }
  return best;
}

/// How much of the take comes again after so long, every key as weighty as any other: a bass that is struck once a bar
/// counts as much as the chords over it.
double comesRound(const Notes& notes, double round) {
  std::map<int, std::pair<int, int>> keys;
  const double last = notes.back().on;
  for (const TakenNote& n : notes) {
    if (n.on + round * (1 + drift) > last + near) continue;
    auto& [same, all] = keys[n.key];
    const TakenNote* next = again(notes, n, round);
    same += next != nullptr && again(notes, *next, -round) == &n;
    ++all;
  }
  double sum = 0;
  for (const auto& [key, share] : keys) sum += static_cast<double>(share.first) / share.second;
  return keys.empty() ? 0 : sum / static_cast<double>(keys.size());
}

double middle(std::vector<double> v) {
  std::sort(v.begin(), v.end());
  return v.empty() ? 0 : v[v.size() / 2];
}

/// How long a round is; 0: nothing comes round.
double roundOf(const Notes& notes) {
  const double whole = notes.back().on - notes.front().on;
  std::vector<double> ways;
  for (std::size_t i = 0; i < notes.size(); ++i)
    for (std::size_t k = i + 1; k < notes.size(); ++k)
      if (const double way = notes[k].on - notes[i].on;
          notes[k].key == notes[i].key && way > shortestRound && way < whole * 0.7)
        ways.push_back(way);
  std::sort(ways.begin(), ways.end());
  std::vector<std::pair<double, double>> rounds;  // length, how good
  double best = 0;
  for (std::size_t i = 0; i < ways.size();) {
    std::vector<double> group;
    const double from = ways[i];
    for (; i < ways.size() && ways[i] < from * 1.03; ++i) group.push_back(ways[i]);
    const double round = middle(group);
    rounds.push_back({round, comesRound(notes, round)});
    best = std::max(best, rounds.back().second);
  }
  if (best < alike) return 0;
  for (const auto& [round, good] : rounds)
    if (good > best - asGood) return round;
  return 0;
}

/// Where each round begins: every one by the mean of its notes' ways from the round before.
std::vector<double> startsOf(const Notes& notes, double round) {
  std::vector<double> starts{notes.front().on};
  while (starts.back() + round / 2 < notes.back().on) {
    std::vector<double> ways;
    const double from = starts.back() - near, to = starts.back() + round - near;
    for (const TakenNote& n : notes)
      if (n.on >= from && n.on < to)
        if (const TakenNote* next = again(notes, n, round)) ways.push_back(next->on - n.on);
    // The round's start moves as its first notes do; all of them say it with less error than one.
    starts.push_back(starts.back() + (ways.empty() ? round : middle(ways)));
  }
  return starts;
}

/// Notes moved so that each round is as long as any other, the first stroke at 0.
Notes evened(const Notes& notes, const std::vector<double>& starts, double round) {
  const auto move = [&](double t) {
    std::size_t r = 0;
    while (r + 2 < starts.size() && t >= starts[r + 1]) ++r;
    const double length = starts.size() > 1 ? starts[r + 1] - starts[r] : round;
    return (static_cast<double>(r) + (t - starts[r]) / length) * round;
  };
  Notes out = notes;
  for (TakenNote& n : out) {
    n.on = move(n.on);
    n.off = std::max(n.on + 0.01, move(n.off));
  }
  return out;
}

/// One round, as the mean of all. The first note is its start; what comes a little before the next start is of that.
std::vector<Struck> meanRound(const Notes& notes, double round) {
  std::vector<Struck> out;
  for (const Struck& s : fold(notes, round, round).notes)
    if (s.at < round - near) out.push_back(s);
  return out;
}

/// Which beat is meant is no question of how deep its parts lie: half of that is left out.
double explained(const GridFound& g) { return g.cost - g.depth / 2; }

struct MeterPrior {
  Meter meter;
  double cost;
};
constexpr std::array<MeterPrior, 6> usualMeters{
    {{{4, 4}, 0}, {{3, 4}, 0.5}, {{6, 8}, 0.7}, {{2, 4}, 1.5}, {{12, 8}, 1.5}, {{9, 8}, 3}}};

}  // namespace

std::optional<Pace> findPace(const std::vector<TakenNote>& notes, const Wishes& wishes,
                             const std::optional<Meter>& fromFile) {
  double round = roundOf(notes);
  if (round <= 0) return std::nullopt;
  const auto starts = startsOf(notes, round);
  if (starts.size() > 2) round = (starts[starts.size() - 2] - starts.front()) / static_cast<double>(starts.size() - 2);
  auto even = evened(notes, starts, round);
  const auto mean = meanRound(even, round);

  std::vector<MeterPrior> meters(usualMeters.begin(), usualMeters.end());
  if (const auto said = wishes.meter ? wishes.meter : fromFile) meters = {{*said, 0}};
  Pace best;
  double cheapest = 1e18;
  for (const auto& [meter, prior] : meters) {
    const double felt = static_cast<double>(feltBeat(meter).value) / static_cast<double>(quarter.value);
    const double perBar = static_cast<double>(meter.bar().value) / static_cast<double>(feltBeat(meter).value);
    for (int beats = 1; beats <= 32; ++beats) {
      const double bars = beats / perBar, whole = bars >= 1 ? bars : 1 / bars;
      if (std::abs(whole - std::round(whole)) > 1e-9 || bars > 4.5 || std::abs(bars - 3) < 1e-9) continue;
      const double beatSeconds = round / beats;
      const double quarterSeconds = beatSeconds / felt;
      const bool said = wishes.quartersPerMinute > 0;
      const double usual = compound(meter) ? usualThreefold : usualTempo;
      const double off = std::log(said ? 60 / quarterSeconds / wishes.quartersPerMinute : 60 / beatSeconds / usual);
      const double spread = said ? spreadWhenSaid : spreadOfTempo;
      const Ticks length = feltBeat(meter) * beats;
      const double cost = prior + off * off / (2 * spread * spread) + std::abs(std::log2(bars)) * 0.7 +
                          explained(onGrid(mean, meter, quarterSeconds, length).grid);
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
