// A course: one idiom plays a progression that was made up from a seed; and what a musician would ask of the result.
#pragma once

#include <array>
#include <string>
#include <vector>

#include "tests/support/music.h"

namespace seguente::test {

enum class Chords : std::uint8_t {
  major,
  minor,
  seventh,
  minorSeventh,
  majorSeventh,
  diminished,
  augmented,
  fourth,
  bare
};
inline constexpr int chordKinds = 9;

struct Course {
  std::string id;
  Density density = Density::medium;
  int key = 0;  // semitones above C
  Chords chords = Chords::major;
  Meter meter{};
  std::uint64_t seed = 1;
  int bars = 12;
  std::string text() const;
};

/// A share: so many of so many. [any]
struct Share {
  int good = 0, all = 0;
  void add(bool right) {
    good += right;
    ++all;
  }
  void add(const Share& other) {
    good += other.good;
    all += other.all;
  }
  double percent() const { return all > 0 ? 100.0 * good / all : 100.0; }
  bool whole() const { return good == all; }
};

/// What was found; `first` says where the first fault of each kind lies. [any]
struct Found {
  Share third;   // chords that last a bar and have a third: it is struck within that bar
  Share root;    // chords: the bass's first stroke is the root, or the foreign note that is held under it
  Share strong;  // notes on strong beats: tones of the chord; those that follow are counted apart
  Share low;     // strokes: no interval lower than all lists allow (REFERENCES section 4)
  Share hand;    // strokes of lean: within one hand's span and five fingers
  Share leap;    // strokes of lean: a leap that has its time
  Share change;  // the same from one chord to another: there the hand goes where it must
  Share ending;  // the end that was asked for: the root lowest, then silence
  int anticipated = 0, leading = 0, blue = 0, sixth = 0;  // on strong beats
  bool thirdIsThere = true;                               // the figure has a third at all
  std::string contract;                                   // a broken contract, "" when none
  std::array<std::string, 7> first;
  void add(const Found& other);
};

Found run(const Course& course);

}  // namespace seguente::test
