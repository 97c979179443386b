// Counts what was believed of the notes of performances against the truth.
#pragma once

#include <array>

#include "tests/performances/listener.h"

namespace seguente::test {

struct HandTally {
  int performances = 0, notes = 0, rightAtOnce = 0, rightAfter = 0;
  int lent = 0, withdrawn = 0, wronglyWithdrawn = 0, late = 0, wronglyLate = 0;
  double squares =
      0;  // of the share wrong a performance, for the confidence interval: notes of one are not independent
  double shares = 0;
  std::array<int, 10> sure{}, sureRight{};  // by tenths of the chance given to the right hand: how many, how often true

  void add(const TwoHands& played, const std::vector<JudgedNote>& judged);
  double atOnce() const { return 100.0 * rightAtOnce / notes; }
  double after() const { return 100.0 * rightAfter / notes; }
  /// Half the width of the 95 % interval of the mean share right, in points, over performances.
  double interval() const;
  double perThousand(int count) const { return 1000.0 * count / notes; }
};

}  // namespace seguente::test
