// What comes next is one question: expected(tick) -> {chord, source, confidence}. Today a chart answers it; keys
// pressed early and the round just heard will answer in the same words. With nothing to say it says so.
#pragma once

#include "dsp/input.h"

namespace seguente {

enum class ExpectedSource : std::uint8_t { nobody, chart };

struct Expected {
  const Chord* chord = nullptr;  // null: nothing is expected
  Ticks from{}, to{};
  bool hold = false;  // a fermata stands over it
  bool end = false;   // fine: it closes
  ExpectedSource source = ExpectedSource::nobody;
  std::uint8_t confidence = 0;  // per cent
};

/// [audio] throughout; borrows the chart.
class Foresight {
 public:
  void reset() noexcept { chart_ = {}; }
  /// Nothing is ever expected.
  bool silent() const noexcept { return chart_.count == 0; }
  void setChart(ChartRef chart) noexcept { chart_ = chart; }
  /// The chord expected to be in force at a tick. O(log n).
  Expected expected(Ticks tick) const noexcept { return silent() ? Expected{} : inChart(tick); }

 private:
  Expected inChart(Ticks tick) const noexcept;
  ChartRef chart_{};
};

}  // namespace seguente
