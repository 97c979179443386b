#include "tests/performances/rules.h"

#include <algorithm>
#include <cmath>

namespace seguente::test {

namespace {

struct Position {
  double centre;
  double last;  // key
  double when = -10;
  bool known = false;
};

}  // namespace

std::vector<Hand> handsByRules(const TwoHands& played) {
  std::vector<Hand> out;
  Position left{50, 50}, right{70, 70};
  for (std::size_t i = 0; i < played.notes.size(); ++i) {
    const auto& n = played.notes[i];
    double costLeft = std::abs(n.key - left.centre) * (left.known ? 1 : 0.7);
    double costRight = std::abs(n.key - right.last) * 0.7 + std::abs(n.key - right.centre) * 0.3;
    for (std::size_t j = i; j-- > 0 && n.on - played.notes[j].on < 8;) {
      const auto& o = played.notes[j];
      if (o.off <= n.on) continue;
      const bool near = n.on - o.on < 0.06;
      const double gap = std::abs(n.key - o.key);
      double& own = out[j] == Hand::chord ? costLeft : costRight;
      double& other = out[j] == Hand::chord ? costRight : costLeft;
      if (gap > 14) own += 12;  // out of reach of the hand that holds it
      if (near && gap <= 12 && out[j] == Hand::chord) costLeft -= 3;
      if (out[j] == Hand::chord && n.key < o.key) other += 10;  // hands seldom cross
      if (out[j] == Hand::melody && n.key > o.key) costLeft += 10;
      if (!near && out[j] == Hand::chord && n.key > o.key) costLeft += 4;  // a chord that is held needs no more keys
      if (!near && out[j] == Hand::melody && n.key < o.key && gap > 4) costRight += 3;
    }
    const Hand hand = costLeft < costRight ? Hand::chord : Hand::melody;
    Position& p = hand == Hand::chord ? left : right;
    p.centre += (n.key - p.centre) * (p.known ? 0.2 : 0.8);
    p.last = n.key;
    p.when = n.on;
    p.known = true;
    out.push_back(hand);
  }
  return out;
}

}  // namespace seguente::test
