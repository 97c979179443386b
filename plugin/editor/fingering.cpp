#include "plugin/editor/fingering.h"

#include <algorithm>
#include <array>
#include <limits>

namespace seguente::screen {
namespace {

/// Least and greatest distances of two fingers, in semitones: comfortable and relaxed (Parncutt et al. 1997, table 1).
struct Spans {
  int leastComfort, leastRelaxed, mostRelaxed, mostComfort;
};
constexpr Spans spans[5][5] = {{{0, 0, 0, 0}, {-3, 1, 5, 8}, {-2, 3, 7, 10}, {-1, 5, 9, 12}, {1, 7, 10, 13}},
                               {{}, {0, 0, 0, 0}, {1, 1, 2, 3}, {1, 3, 4, 5}, {2, 5, 6, 8}},
                               {{}, {}, {0, 0, 0, 0}, {1, 1, 2, 2}, {1, 3, 4, 5}},
                               {{}, {}, {}, {0, 0, 0, 0}, {1, 1, 2, 3}},
                               {{}, {}, {}, {}, {0, 0, 0, 0}}};

constexpr int shift = 9;  // a hand that moves to a new place instead of stretching

bool black(NoteNumber key) {
  const int c = key.value % 12;
  return c == 1 || c == 3 || c == 6 || c == 8 || c == 10;
}

/// Every way to put `count` fingers on a chord, lowest key first: the left hand's numbers fall.
std::vector<std::vector<int>> ways(std::size_t count) {
  std::vector<std::vector<int>> all;
  for (unsigned bits = 0; bits < 32; ++bits) {
    std::vector<int> fingers;
    for (int f = 5; f >= 1; --f)
      if ((bits >> (f - 1) & 1u) != 0) fingers.push_back(f);
    if (fingers.size() == count) all.push_back(fingers);
  }
  return all;
}

int gripCost(const Grip& grip, const std::vector<int>& fingers) {
  int cost = 0;
  for (std::size_t i = 0; i < fingers.size(); ++i) {
    if (fingers[i] == 1 && black(grip.keys[i])) cost += 2;  // thumb on black
    if (i > 0)  // towards the thumb the left hand goes up, as the right goes down: the same spans, mirrored
      cost += spanCost(fingers[i], fingers[i - 1], grip.keys[i].value - grip.keys[i - 1].value);
  }
  return cost;
}

int moveCost(const Grip& a, const std::vector<int>& fa, const Grip& b, const std::vector<int>& fb) {
  int cost = 0;
  for (const bool low : {true, false}) {
    const int from = low ? fa.front() : fa.back(), to = low ? fb.front() : fb.back();
    const int up = low ? b.keys.front().value - a.keys.front().value : b.keys.back().value - a.keys.back().value;
    if (from == to) {
      cost += up == 0 ? 0 : shift;
    } else {
      cost += std::min(shift, spanCost(from, to, -up));                 // the left hand is the right one's mirror
      if ((from == 3 && to == 4) || (from == 4 && to == 3)) cost += 1;  // three to four
      // The thumb passes under, or a finger over it: with it the hand changes its place.
      if ((from == 1 || to == 1) && (from < to ? -up : up) < 0) cost += 2;
    }
    if (a.keys.size() == 1 && b.keys.size() == 1) break;  // one line: one distance
  }
  return cost;
}

}  // namespace

int spanCost(int from, int to, int semitones) {
  if (from > to) return spanCost(to, from, -semitones);
  if (from == to) return 0;
  const Spans& s = spans[from - 1][to - 1];
  const bool thumb = from == 1;
  int cost = 0;
  if (semitones > s.mostComfort) cost += 2 * (semitones - s.mostComfort);
  if (semitones < s.leastComfort) cost += 2 * (s.leastComfort - semitones);
  if (semitones > s.mostRelaxed) cost += (thumb ? 1 : 2) * (semitones - s.mostRelaxed);
  if (semitones < s.leastRelaxed) cost += (thumb ? 1 : 2) * (s.leastRelaxed - semitones);
  return cost;
}

void finger(std::vector<Grip>& grips, int span) {
  for (auto& grip : grips) grip.fingers.clear();
  for (const auto& grip : grips)
    if (grip.keys.empty() || grip.keys.size() > 5 || grip.keys.back().value - grip.keys.front().value > span) return;
  if (grips.empty()) return;
  const std::size_t count = grips.size() * 2;
  const auto at = [&](std::size_t i) -> const Grip& { return grips[i % grips.size()]; };
  std::vector<std::vector<std::vector<int>>> choices(count);
  std::vector<std::vector<int>> costs(count);
  std::vector<std::vector<std::size_t>> from(count);
  for (std::size_t i = 0; i < count; ++i) {
    choices[i] = ways(at(i).keys.size());
    for (const auto& way : choices[i]) {
      int best = i == 0 ? 0 : std::numeric_limits<int>::max();
      std::size_t back = 0;
      for (std::size_t p = 0; i > 0 && p < choices[i - 1].size(); ++p) {
        const int cost = costs[i - 1][p] + moveCost(at(i - 1), choices[i - 1][p], at(i), way);
        if (cost <= best) {  // of two that cost the same, the one nearer to the little finger
          best = cost;
          back = p;
        }
      }
      costs[i].push_back(best + gripCost(at(i), way));
      from[i].push_back(back);
    }
  }
  std::size_t way = 0;
  for (std::size_t w = 1; w < costs.back().size(); ++w)
    if (costs.back()[w] <= costs.back()[way]) way = w;
  for (std::size_t i = count; i-- > grips.size();) {
    grips[i - grips.size()].fingers = choices[i][way];
    way = from[i][way];
  }
}

}  // namespace seguente::screen
