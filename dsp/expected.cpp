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

/// How long a chord stays that has just been struck, nobody knows: a beat at least.
Expected Foresight::ahead() const noexcept {
  return {early_, earlyFrom_, earlyFrom_ + quarter, false, false, ExpectedSource::keys, 99};
}

Expected Foresight::inRound(Ticks tick) const noexcept {
  const auto r = rounds_.expected(tick);
  if (r.chord == nullptr) return {};
  return {r.chord, r.from, r.to, false, false, ExpectedSource::round, r.confidence};
}

Expected Foresight::changeAfter(Ticks tick) const noexcept {
  if (!charted()) {
    Expected e = inRound(tick);
    const Chord* const present = e.chord;
    constexpr int farthest = 16;
    for (int i = 0; i < farthest && e.chord != nullptr && *e.chord == *present; ++i) e = inRound(e.to);
    return e.chord != nullptr && !(*e.chord == *present) ? e : Expected{};
  }
  const Expected present = inChart(tick);
  const auto* const last = chart_.data + chart_.count;
  const auto* next =
      std::upper_bound(chart_.data, last, tick, [](Ticks t, const Expectation& e) { return t < e.from; });
  while (next != last && (next->chord.none() || (present.chord != nullptr && next->chord == *present.chord))) ++next;
  return next == last ? Expected{} : inChart(next->from);
}

}  // namespace seguente
