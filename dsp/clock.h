// Knows the beat at every sample, from whoever sends anchors (host, file, own tempo, later the hands), and notices
// jumps.
#pragma once

#include "dsp/input.h"
#include "dsp/time.h"

namespace seguente {

/// What an anchor meant for those who play. [audio]
enum class ClockChange : std::uint8_t { nothing, moved, jumped, started, stopped };

/// Musical time as one affine map. Owned by one engine; [audio] throughout; no errors: a bad anchor is ignored.
class Clock {
 public:
  void reset(double rate) noexcept;
  /// A new anchor. The predicted tick changes nothing; a little off moves the map; far off is a jump.
  ClockChange anchor(const TimeAnchor& anchor, Samples at) noexcept;

  /// Time goes no further than just before this tick, until the next anchor: what lies there is not due.
  void standStill(Ticks ceiling) noexcept { ceiling_ = ceiling; }

  bool playing() const noexcept { return playing_; }
  Meter meter() const noexcept { return meter_; }
  double quartersPerMinute() const noexcept { return quartersPerMinute_; }
  Ticks tickAt(Samples s) const noexcept {
    const Ticks t = timeline_.tickAt(s);
    return t < ceiling_ ? t : ceiling_ - Ticks{1};
  }
  /// `never` for what lies at or beyond where time stands still.
  Samples sampleOf(Ticks t) const noexcept { return t < ceiling_ ? timeline_.sampleOf(t) : never; }
  Ticks bar() const noexcept { return barLength_; }
  /// The bar line at or before a tick, in the present meter.
  Ticks barAt(Ticks t) const noexcept { return lineAt(t, barLength_); }
  /// The beat (meter's denominator) at or before a tick.
  Ticks beatAt(Ticks t) const noexcept { return lineAt(t, beatLength_); }
  Samples samplesFor(double milliseconds) const noexcept {
    return {static_cast<std::int64_t>(milliseconds * rate_ / 1000.0)};
  }
  Ticks ticksFor(double milliseconds) const noexcept {
    return {static_cast<std::int64_t>(milliseconds * rate_ / 1000.0 / timeline_.samplesPerTick)};
  }

 private:
  void setMeter(Meter meter) noexcept;
  Ticks lineAt(Ticks t, Ticks length) const noexcept {
    return barStart_ + length * floorDivide((t - barStart_).value, length.value);
  }

  static constexpr Ticks noCeiling{std::numeric_limits<std::int64_t>::max()};
  Timeline timeline_{};
  Meter meter_{};
  Ticks barLength_ = Meter{}.bar();  // the meter's, asked for at every step
  Ticks beatLength_ = Meter{}.beat();
  Ticks barStart_{};
  Ticks ceiling_ = noCeiling;
  double rate_ = 48000;
  double quartersPerMinute_ = 120;
  bool playing_ = false;
};

}  // namespace seguente
