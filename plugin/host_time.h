// Turns what a host says of its transport into the engine's time anchors, sent only when something is not as foreseen.
// Knows no host format: processor.cpp fills HostPosition from the play head, the LV2 shim sees to it that it can.
#pragma once

#include <cstdint>
#include <optional>

#include "dsp/input.h"

namespace seguente {

/// Where a host says it is at the first sample of a block; what it does not say is empty. [audio]
struct HostPosition {
  std::optional<double> quarters;           // from the session's start; may be negative (pre-roll)
  std::optional<double> quartersPerMinute;  // always quarters, whatever the meter's denominator
  std::optional<Meter> meter;
  std::optional<double> barStart;   // quarters: the last bar line at or before `quarters`
  std::optional<std::int64_t> bar;  // a count of bars, from wherever the host counts
  bool playing = false;
};

/// Who gives the time: the parameter of that name. [any]
enum class TimeSource : std::uint8_t { host, own, hands };

struct TimeSettings {
  TimeSource source = TimeSource::host;
  double ownTempo = 100;  // quarters a minute
  Meter ownMeter{4, 4};   // of the idiom that plays: nobody else says one
};

/// [audio] throughout; no errors: what cannot be right (NaN, infinite, absurd) is taken as not said.
class HostTime {
 public:
  void prepare(double rate) noexcept;
  /// What the engine is to be told at `at`, the block's first sample; nothing when all goes on as foreseen.
  /// position: empty when the host gives none in this block. length: of the block, 0 and more.
  std::optional<TimeAnchor> block(const std::optional<HostPosition>& position, Samples at, std::int64_t length,
                                  const TimeSettings& settings) noexcept;
  /// The position ran backwards or leapt in the last call: whoever holds keys for the host forgets them.
  bool jumped() const noexcept { return jumped_; }

 private:
  double rate_ = 48000;
  bool jumped_ = false;
};

}  // namespace seguente
