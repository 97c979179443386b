// A figure that is being played in at the desk: what the audio thread tells of it (sound/take.h) becomes the take that
// dsp/notate reads. Seconds are the clock's: where the host's or the own time runs, its beats are the take's beats.
#pragma once

#include <cstdint>
#include <vector>

#include "dsp/notate/take.h"
#include "dsp/pitch.h"
#include "plugin/sound/take.h"

namespace seguente {

/// [message] throughout.
class PlayedIn {
 public:
  /// rate: frames a second. held: keys that are down already, such as the chord that the other hand holds.
  PlayedIn(double rate, const KeySet& held);
  /// In the order in which it was told; after the last note that finds room nothing is kept.
  void hear(const TakenEvent& event);
  /// What was played while time ran (or, if it hardly ran, while it stood). Keys that are still down end now.
  /// believed: the beats are heard by the player, as a host's are; else they count only where the playing fits them.
  notate::Take take(bool believed) const;
  /// Bars of the clock since the first key of this take, the one that sounds included; 0 while time stands.
  int bars() const;
  bool hasNotes() const;

 private:
  struct Stroke {
    int key = 60, velocity = 64;
    std::int64_t on = 0, off = -1;         // frames; -1: down
    double onQuarter = 0, offQuarter = 0;  // from a bar line; of a run with a clock
  };
  /// From where time begins or stops to the next such place.
  struct Run {
    bool clock = false;
    Meter meter{};
    double quartersPerMinute = 120;
    std::vector<Stroke> strokes;
    std::size_t struck = 0;  // of them, in this run
    std::int64_t end = 0;    // what was told last, as a frame and by the clock
    double endQuarter = 0;
  };
  void hearTime(const EngineTime& time, std::int64_t frame);
  void strike(int key, int velocity, std::int64_t frame);
  void release(int key, std::int64_t frame);
  double quarterAt(std::int64_t frame) const;
  const Run& best() const;
  static double wholeBarsUntil(const Run& run);

  double rate_;
  std::vector<Run> runs_;
  std::size_t notes_ = 0;
  bool pedal_ = false;
  // Of the clock that runs: this frame is so many quarters after the run's first bar line.
  std::int64_t frame_ = 0;
  double quarter_ = 0, quartersAFrame_ = 0;
};

}  // namespace seguente
