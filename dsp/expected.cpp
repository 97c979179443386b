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
  return {&e.chord, e.from, e.to, e.hold, e.end, e.turnaround, ExpectedSource::chart, 90};
}

/// How long a chord stays that has just been struck, nobody knows: a beat at least.
Expected Foresight::ahead() const noexcept {
  return {early_, earlyFrom_, earlyFrom_ + quarter, false, false, false, ExpectedSource::keys, 99};
}

Expected Foresight::inRound(Ticks tick) const noexcept {
  const auto r = rounds_.expected(tick);
  if (r.chord == nullptr) return {};
  return {r.chord, r.from, r.to, false, false, false, ExpectedSource::round, r.confidence};
}

bool Foresight::expectAgain(Ticks from, Ticks to, Ticks bar) noexcept {
  const Ticks later = to - from;
  std::size_t count = 0;
  const auto add = [&](const Chord& chord, Ticks at) {
    if (count == again_.size()) return;
    if (count > 0) again_[count - 1].to = at + later;
    again_[count++] = {std::max(at, from) + later, to + later, chord, false, false, false};
  };
  rounds_.heardIn(from, to, add);
  if (count == 0) return false;
  const Ticks lastBar = to + later - bar;
  if (count == 1 && again_[0].from < lastBar) add(Chord{again_[0].chord}, lastBar - later);
  again_[count - 1].end = true;
  chart_ = {again_.data(), count};
  return true;
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
