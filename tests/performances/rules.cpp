#include "tests/performances/rules.h"

#include <algorithm>
#include <cmath>

namespace seguente::test {

namespace {

struct Position {
  double centre = 60;
  double last = 60;  // key
  bool known = false;

  void move(int key) {
    centre += (key - centre) * (known ? 0.2 : 0.8);
    last = key;
    known = true;
  }
};

/// One belief about who has played all notes so far.
struct Belief {
  Position left{50, 50}, right{70, 70};
  double cost = 0;
  std::vector<Hand> hands;

  /// What it costs to give the next note to the left hand, and to the right.
  std::pair<double, double> costsOf(const TwoHands& played, std::size_t i) const {
    const auto& n = played.notes[i];
    double costLeft = std::abs(n.key - left.centre) * (left.known ? 1 : 0.7);
    double costRight = std::abs(n.key - right.last) * 0.7 + std::abs(n.key - right.centre) * 0.3;
    for (std::size_t j = i; j-- > 0 && n.on - played.notes[j].on < 8;) {
      const auto& o = played.notes[j];
      if (o.off <= n.on) continue;
      const bool near = n.on - o.on < 0.06;
      const double gap = std::abs(n.key - o.key);
      double& own = hands[j] == Hand::chord ? costLeft : costRight;
      double& other = hands[j] == Hand::chord ? costRight : costLeft;
      if (gap > 14) own += 12;  // out of reach of the hand that holds it
      if (near && gap <= 12 && hands[j] == Hand::chord) costLeft -= 3;
      if (hands[j] == Hand::chord && n.key < o.key) other += 10;  // hands seldom cross
      if (hands[j] == Hand::melody && n.key > o.key) costLeft += 10;
      if (!near && hands[j] == Hand::chord && n.key > o.key) costLeft += 4;  // a chord that is held needs no more keys
      if (!near && hands[j] == Hand::melody && n.key < o.key && gap > 4) costRight += 3;
    }
    return {costLeft, costRight};
  }
  Belief with(Hand hand, double more, int key) const {
    Belief b = *this;
    b.cost += more;
    b.hands.push_back(hand);
    (hand == Hand::chord ? b.left : b.right).move(key);
    return b;
  }
  /// Beliefs that differ in nothing recent will never differ again.
  bool recentlyAs(const Belief& o) const {
    const auto length = static_cast<std::ptrdiff_t>(std::min<std::size_t>(hands.size(), 12));
    return std::equal(hands.end() - length, hands.end(), o.hands.end() - length);
  }
};

}  // namespace

std::vector<Hand> handsByRules(const TwoHands& played, std::size_t width) {
  std::vector<Hand> out;
  std::vector<Belief> beam(1);
  for (std::size_t i = 0; i < played.notes.size(); ++i) {
    std::vector<Belief> next;
    for (const auto& b : beam) {
      const auto [left, right] = b.costsOf(played, i);
      next.push_back(b.with(Hand::melody, right, played.notes[i].key));
      next.push_back(b.with(Hand::chord, left, played.notes[i].key));
    }
    std::stable_sort(next.begin(), next.end(), [](const Belief& a, const Belief& b) { return a.cost < b.cost; });
    beam.clear();
    for (auto& b : next) {
      const bool known = std::any_of(beam.begin(), beam.end(), [&](const Belief& a) { return a.recentlyAs(b); });
      if (beam.size() < width && !known) beam.push_back(std::move(b));
    }
    out.push_back(beam.front().hands.back());
  }
  return out;
}

}  // namespace seguente::test
