// A file's time: its ticks, the engine's ticks, and samples at a rate; its tempo and meter changes as time anchors.
// Rounding: file tick <-> engine tick to the nearest, halves up; a tick to a sample by dsp's Timeline, from an anchor
// whose own sample is rounded from exact integer time since the file's start, so that nothing adds up.
#pragma once

#include <cstdint>
#include <vector>

#include "dsp/input.h"
#include "dsp/time.h"
#include "plugin/commandline/checked.h"
#include "plugin/commandline/midi_file.h"

namespace seguente {

/// What the words of the command line change about a file's time. [any]
struct TimeWishes {
  double quartersPerMinute = 0;  // 0: the file's own tempo; else this alone
  bool otherMeter = false;       // true: `meter` alone
  Meter meter{};
  Ticks pickup{};  // before the first whole bar
};

/// A place where tempo or meter changes. [any]
struct TimePoint {
  std::int64_t fileTick = 0;
  Samples sample{};
  TimeAnchor anchor{};
};

/// One bar of the piece. [any]
struct Bar {
  Ticks start{};
  Ticks end{};
  Meter meter{};
};

class TempoMap {
 public:
  TempoMap() = default;
  /// Reads tempo and meter events of every track (format 1 keeps them in the first; others are met in the wild).
  /// A tempo outside 5..1000 quarters a minute or a meter that Meter::valid refuses is passed over, as the engine does.
  /// rate: samples a second. errors: a playing of more than 24 hours. [message]
  static Checked<TempoMap> of(const MidiFile& file, const TimeWishes& wishes, std::int64_t rate);

  Ticks engineTick(std::int64_t fileTick) const;
  std::int64_t fileTick(Ticks tick) const;
  Samples sampleOf(std::int64_t fileTick) const;
  Samples sampleOf(Ticks tick) const;
  /// The file tick nearest to a sample. [message]
  std::int64_t fileTickAt(Samples sample) const;

  const std::vector<TimePoint>& points() const { return points_; }
  /// Every bar that begins before `until`, and at least `atLeast` of them, from the first whole one (after the pickup);
  /// a change of meter is a bar line, even inside a bar. [message]
  std::vector<Bar> bars(Ticks until, std::size_t atLeast = 0) const;
  /// The meter in force at a tick. [message]
  Meter meterAt(Ticks tick) const;

 private:
  struct Stretch {  // of one tempo
    std::int64_t fileTick = 0;
    Timeline timeline{};
  };
  const Stretch& stretchAt(std::int64_t fileTick) const;

  int resolution_ = 480;
  Ticks pickup_{};
  std::vector<Stretch> stretches_;
  std::vector<TimePoint> points_;
};

}  // namespace seguente
