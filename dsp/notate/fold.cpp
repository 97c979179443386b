#include "dsp/notate/fold.h"

#include <algorithm>
#include <cmath>
#include <map>
#include <set>

namespace seguente::notate {

namespace {

constexpr double together = 0.06;  // seconds within which one key is struck once: nobody repeats faster
constexpr double noteCost = 0.35;  // of writing a note of the figure down
constexpr double faultCost = 1.5;  // of a note that one round has and the others have not
constexpr double liftCost = 1;     // of saying that there is a lift
constexpr int mostBars = 8;

struct Placed {
  const TakenNote* note = nullptr;
  int bar = 0;
  double in = 0;  // seconds after the bar line; a little early is negative
};

struct Round {
  std::vector<Struck> notes;
  double cost = 0;
  int faults = 0;
};

double median(std::vector<double> v) {
  std::sort(v.begin(), v.end());
  const std::size_t n = v.size();
  return n % 2 == 1 ? v[n / 2] : (v[n / 2 - 1] + v[n / 2]) / 2;
}

struct Member {
  double at;
  int round;
  const TakenNote* note;
};

/// Strokes of one key at one place, in as many rounds as have it.
void addCluster(const std::vector<Member>& members, const std::vector<int>& roundsOfBar, double bar, Round& out) {
  std::set<int> rounds;
  std::vector<double> at, length;
  double velocity = 0;
  std::map<int, int> crushed;
  for (const Member& m : members) {
    rounds.insert(m.round);
    at.push_back(m.at);
    length.push_back(m.note->off - m.note->on);
    velocity += m.note->velocity;
    ++crushed[m.note->crushedFrom];
  }
  Struck s;
  s.key = members.front().note->key;
  s.at = median(at);
  s.length = median(length);
  s.velocity = velocity / static_cast<double>(members.size());
  s.times = static_cast<int>(rounds.size());
  s.crushedFrom = std::max_element(crushed.begin(), crushed.end(), [](const auto& a, const auto& b) {
                    return a.second < b.second;
                  })->first;
  const auto within = static_cast<std::size_t>(std::max(0.0, std::floor((s.at + together) / bar)));
  const int possible = roundsOfBar[std::min(within, roundsOfBar.size() - 1)];
  const int again = static_cast<int>(members.size()) - s.times;  // struck twice in one round
  if (s.times * 2 >= possible) {
    out.cost += noteCost + faultCost * (possible - s.times + again);
    out.faults += again;
    out.notes.push_back(s);
  } else {
    out.cost += faultCost * static_cast<double>(members.size());
    out.faults += static_cast<int>(members.size());
  }
}

/// All bars of `placed`, period after period over one another.
Round lay(const std::vector<Placed>& placed, int barsPlayed, int period, double bar) {
  std::map<int, std::vector<Member>> byKey;
  std::vector<int> roundsOfBar(static_cast<std::size_t>(period), 0);
  for (int b = 0; b < barsPlayed; ++b) ++roundsOfBar[static_cast<std::size_t>(b % period)];
  for (const Placed& p : placed) byKey[p.note->key].push_back({p.bar % period * bar + p.in, p.bar / period, p.note});
  Round out;
  for (auto& [key, members] : byKey) {
    std::sort(members.begin(), members.end(), [](const Member& a, const Member& b) { return a.at < b.at; });
    std::vector<Member> cluster;
    for (const Member& m : members) {
      if (!cluster.empty() && m.at - cluster.back().at > together) {
        addCluster(cluster, roundsOfBar, bar, out);
        cluster.clear();
      }
      cluster.push_back(m);
    }
    addCluster(cluster, roundsOfBar, bar, out);
  }
  std::sort(out.notes.begin(), out.notes.end(), [](const Struck& a, const Struck& b) { return a.at < b.at; });
  return out;
}

std::vector<Placed> inBars(const std::vector<TakenNote>& notes, double bar, double early) {
  std::vector<Placed> placed;
  if (notes.empty()) return placed;
  const double first = std::floor((notes.front().on + early) / bar);
  for (const TakenNote& n : notes) {
    const double b = std::floor((n.on + early) / bar);
    placed.push_back({&n, static_cast<int>(b - first), n.on - b * bar});
  }
  return placed;
}

/// Players like to close with a stroke on the next 1: it is no bar of the figure.
bool closesOnly(const std::vector<Placed>& placed, int bars, double beat) {
  if (bars < 2) return false;
  const auto last = [&](int b) {
    double latest = -1;
    for (const Placed& p : placed)
      if (p.bar == b) latest = std::max(latest, p.in);
    return latest;
  };
  const auto only = [&](int b) { return last(b) < beat * 0.4; };
  if (!only(bars - 1) || only(bars - 2)) return false;
  return bars < 4 || !only(bars - 3);
}

}  // namespace

Folded fold(const std::vector<TakenNote>& notes, double bar, double beat) {
  Folded best;
  auto placed = inBars(notes, bar, std::min(0.08, beat / 8));
  if (placed.empty()) return best;
  int bars = placed.back().bar + 1;
  if (closesOnly(placed, bars, beat)) --bars;
  bars = std::min(bars, mostBars);
  std::erase_if(placed, [&](const Placed& p) { return p.bar >= bars; });
  const double all = static_cast<double>(placed.size());
  double cheapest = 1e18;
  const auto consider = [&](int period, int liftBars) {
    const int plain = bars - liftBars;
    std::vector<Placed> figure, lift;
    for (const Placed& p : placed)
      if (p.bar < plain)
        figure.push_back(p);
      else
        lift.push_back({p.note, p.bar - plain, p.in});
    if (figure.empty() || (liftBars > 0 && lift.empty())) return;
    Round round = lay(figure, plain, period, bar);
    Round lifted = liftBars > 0 ? lay(lift, liftBars, liftBars, bar) : Round{};
    const double cost = round.cost + lifted.cost + (liftBars > 0 ? liftCost : 0);
    if (cost >= cheapest) return;
    cheapest = cost;
    best = {bars,
            period,
            (plain + period - 1) / period,
            std::move(round.notes),
            liftBars,
            std::move(lifted.notes),
            1 - (round.faults + lifted.faults) / all};
  };
  std::set<int> periods{1, 2, 4, bars};
  for (const int period : periods) {
    if (period > bars) continue;
    consider(period, 0);
    if (bars == mostBars && period <= 2) consider(period, period);
  }
  return best;
}

}  // namespace seguente::notate
