#include "tests/performances/tally.h"

#include <algorithm>
#include <cmath>

namespace seguente::test {

void HandTally::add(const TwoHands& played, const std::vector<JudgedNote>& judged) {
  ++performances;
  int right = 0;
  for (std::size_t i = 0; i < judged.size(); ++i) {
    const auto& j = judged[i];
    const Hand truth = played.notes[i].hand;
    ++notes;
    right += j.first == truth;
    rightAfter += j.last == truth;
    const bool gaveBack = j.verdict == Verdict::take && j.finally == Verdict::pass;
    const bool tookBack = j.verdict == Verdict::lend && j.finally == Verdict::take;
    lent += j.verdict == Verdict::lend;
    withdrawn += tookBack;
    wronglyWithdrawn += tookBack && truth == Hand::melody;
    late += gaveBack;
    wronglyLate += gaveBack && truth == Hand::chord;
    const double chance = 1 / (1 + std::exp(-j.odds / 64.0));
    const auto bin = std::min<std::size_t>(9, static_cast<std::size_t>(chance * 10));
    ++sure[bin];
    sureRight[bin] += truth == Hand::melody;
  }
  rightAtOnce += right;
  const double share = judged.empty() ? 1 : static_cast<double>(right) / static_cast<double>(judged.size());
  shares += share;
  squares += share * share;
}

double HandTally::interval() const {
  if (performances < 2) return 100;
  const double mean = shares / performances;
  const double variance = std::max(0.0, squares / performances - mean * mean) / (performances - 1);
  return 196 * std::sqrt(variance);
}

}  // namespace seguente::test
