#include "dsp/expected.h"

#include <algorithm>

namespace seguente {

Expected Foresight::inChart(Ticks tick) const noexcept {
  const auto* const last = chart_.data + chart_.count;
  const auto* const after =
      std::upper_bound(chart_.data, last, tick, [](Ticks t, const Expectation& e) { return t < e.from; });
  if (after == chart_.data) return {};
  const Expectation& e = *(after - 1);
  if (e.to <= tick || e.chord.none()) return {};
  return {&e.chord, e.from, e.to, e.hold, e.end, ExpectedSource::chart, 90};
}

}  // namespace seguente
