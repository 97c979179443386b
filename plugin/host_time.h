// Turns what a host says of its transport into the engine's time anchors, sent only when something is not as foreseen.
// Knows no host format: processor.cpp fills HostPosition from the play head, the LV2 shim sees to it that it can.
//
// Foreseen is what one affine map gives, from the last place that was not; nothing is summed from block to block. A
// position that strays by up to a sample is taken for rounding (hosts compute theirs in floating point), more is
// believed. Hosts give one tempo a block: while a ramp of r quarters/min a second goes on, a block of T seconds that
// begins at b quarters/min is right at its first sample and off by at most |r| T^2 / (2 b) seconds at its last.
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

/// Who gives the time: the parameter of that name. From hands the engine makes its own (dsp/follower.h). [any]
enum class TimeSource : std::uint8_t { host, own, hands };

struct TimeSettings {
  TimeSource source = TimeSource::host;
  double ownTempo = 100;  // quarters a minute
  Meter ownMeter{4, 4};   // of the idiom that plays: nobody else says one
  bool waits = false;     // own time stands until it is begun (plugin/own_time.h)
  friend constexpr bool operator==(const TimeSettings&, const TimeSettings&) = default;
};

/// [audio] throughout; no errors: what cannot be right (NaN, infinite, absurd) is taken as not said.
class HostTime {
 public:
  /// Another rate, and samples counted anew. A host that has spoken goes on from where it was; our own time begins.
  void prepare(double rate) noexcept;
  /// What the engine is to be told at `at`, the block's first sample; nothing when all goes on as foreseen, or hands
  /// give the time. position: empty when the host gives none in this block. length: of the block, 0 and more; what is
  /// said in a block of none is told with the next one.
  std::optional<TimeAnchor> block(const std::optional<HostPosition>& position, Samples at, std::int64_t length,
                                  const TimeSettings& settings) noexcept;
  /// Own time, which waits, begins here on a bar line. Empty when somebody else gives the time, or it goes.
  std::optional<TimeAnchor> beginOwn(Samples at) noexcept;
  /// It stands from here on, on the bar line that would have come. Empty when it stands, or does not wait.
  std::optional<TimeAnchor> standOwn(Samples at) noexcept;
  /// It gives the time, waits, and stands.
  bool ownStands() const noexcept { return by_ == TimeSource::own && settings_.waits && !own_.playing; }
  /// Of a bar and of a beat, and how many beats, as own time counts them.
  Meter ownMeter() const noexcept { return own_.meter; }
  double samplesPerTick() const noexcept { return 1 / own_.ticksPerSample; }
  /// The position ran backwards or leapt, while playing, in the last call: whoever holds keys for the host forgets
  /// them.
  bool jumped() const noexcept { return jumped_; }

 private:
  /// Musical time as one of the two has it: the host, or our own clock.
  struct Place {
    double tick = 0;  // at `sample`; a fraction is kept, so that what is foreseen does not stray by rounding
    Samples sample{};
    double ticksPerSample = 0;
    double tempo = 100;
    Meter meter{};
    Ticks barStart{};
    bool playing = false;
    double at(Samples s) const noexcept {
      return playing ? tick + static_cast<double>((s - sample).value) * ticksPerSample : tick;
    }
  };

  bool asForeseen(const HostPosition& said, Samples at) const noexcept;
  std::optional<TimeAnchor> hearNews(const std::optional<HostPosition>& said, Samples at, Samples last,
                                     const TimeSettings& settings) noexcept;
  bool hear(const HostPosition& said, Samples at, Samples last, const TimeSettings& settings) noexcept;
  double tickSaid(const HostPosition& said, const HostPosition& before, Meter meter, Samples at,
                  Samples last) const noexcept;
  Ticks barSaid(const HostPosition& said, const HostPosition& before, Meter meter, double tick, Samples last,
                bool goesOn) noexcept;
  bool runOwn(Samples at, const TimeSettings& settings) noexcept;
  void takeOver(Samples at) noexcept;

  double rate_ = 48000;
  Place host_, own_;
  TimeSettings settings_;             // of the last block
  HostPosition said_;                 // last heard, as it was said
  std::optional<HostPosition> kept_;  // said in a block of no samples
  std::optional<double> tempoSaid_;   // by the host, ever
  bool meterSaid_ = false;            // by the host, ever
  bool barsCounted_ = false;          // its count of bars has been seen to go on
  bool spoken_ = false;               // the host has said where it is, or that it plays
  TimeSource by_ = TimeSource::own;   // who gave the time in the last block
  bool fresh_ = true;                 // no block since prepare
  bool jumped_ = false;
  Samples last_{}, next_{};  // first sample of the last block, and the one after its last
};

}  // namespace seguente
