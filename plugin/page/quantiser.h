// Human time to printed time: each beat of the tune is put on the grid that explains it best. Nothing is looked up
// ahead of the beat's end, so that what a bar says does not change once it has passed.
#pragma once

#include <array>
#include <cstdint>
#include <vector>

#include "dsp/pitch.h"
#include "dsp/time.h"

namespace seguente::page {

/// One note of the tune, as played and as it will be written. [any]
struct Played {
  std::uint32_t id = 0;
  NoteNumber key{};
  Ticks on{};
  Ticks off{};       // as far as it is known
  bool down = true;  // the key is still down
  Ticks at{};        // written; valid once placed
  bool placed = false;
  bool grace = false;  // a small note before the next one that is not
};

/// What the time is made of at a place. [any]
struct Pulse {
  Meter meter{};
  double millisecondsPerQuarter = 500;
  std::int32_t swing = 1000;  // permille
  Ticks swingPair{quarter};
};

class Quantiser {
 public:
  /// Places the notes that were struck in [from, to), one felt beat, given in order of onset. finished: the beat is
  /// over and the choice is remembered for the next (hysteresis). All notes of the tune from `first` on may be changed.
  /// [message]
  void placeBeat(std::vector<Played>& notes, std::size_t first, Ticks from, Ticks to, const Pulse& pulse,
                 bool finished);
  void reset() {
    last_ = 0;
    used_.fill(0);
  }

 private:
  int last_ = 0;                  // into how many parts the last beat was divided; 0 unknown
  std::array<double, 8> used_{};  // how often each division was, the newer the weightier
};

/// Where a note of the tune ends on paper. next: the written place and true onset of what follows, or null. [any]
/// Rule: a silence shorter than three quarters of a quarter note and than 45 % of the way is touch, not a rest (by
/// trial on the reference tunes, played with measured touch).
struct NextOnset {
  Ticks at{}, on{};
};
Ticks writtenEnd(Ticks at, Ticks on, Ticks off, const NextOnset* next, Ticks barStart, const Pulse& pulse,
                 Ticks length);

/// A swung place written straight. place and result are counted from a place where a pair begins. [any]
Ticks straightened(Ticks place, std::int32_t swing, Ticks pair);

}  // namespace seguente::page
