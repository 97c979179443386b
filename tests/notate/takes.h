// Takes for reading back: a shipped figure as the engine plays it, the same as hands would land it, and figures that
// are written out note by note; and what a reading is worth when it is played again.
#pragma once

#include <string>
#include <tuple>
#include <vector>

#include "dsp/notate/notate.h"
#include "tests/performances/touch.h"
#include "tests/support/harness.h"
#include "tests/support/random.h"

namespace seguente::test {

/// A note as a listener notates it: where, in which line, which pitch class. [any]
struct HeardNote {
  Ticks at{};  // straight
  bool bass = false;
  int pitch = 0;  // pitch class
  friend auto operator<=>(const HeardNote& a, const HeardNote& b) {
    return std::tuple(a.at.value, a.bass, a.pitch) <=> std::tuple(b.at.value, b.bass, b.pitch);
  }
  friend bool operator==(const HeardNote& a, const HeardNote& b) { return (a <=> b) == 0; }
};

/// An idiom at one density over a chord that is held, no tune to follow but one that has begun. [any]
struct Played {
  Rendering rendering;
  double quartersPerMinute = 100;
};
Played playedBy(const Idiom& idiom, Density density, const std::string& shape, int bars);

/// What is heard from one bar until before another, without percussion; swing written straight.
std::vector<HeardNote> heard(const Played& played, const Idiom& idiom, int fromBar, int toBar);

/// As a take to a click: every note at its own sample. bars: from the first.
notate::Take takeOf(const Played& played, const Idiom& idiom, int bars);

/// The same as hands play it: strokes spread as 22 pianists spread them (tests/reference/touch), each a little off the
/// click (a standard deviation of 2.5 % of the beat, a mean of up to 20 ms early: Repp, Sensorimotor synchronization,
/// 2005, from memory), lengths and loudness uneven (common practice, no source).
notate::Take byHand(const notate::Take& exact, bool oneHand, const Touch& touch, Random& random);

/// Played to no click: the tempo drifts by up to 3 % and the take begins anywhere.
notate::Take withoutClick(const notate::Take& take, Random& random);

/// Steps that agree, of the more of both.
struct Agreement {
  int same = 0, all = 0;
  double percent() const { return all > 0 ? 100.0 * same / all : 0; }
};
Agreement agreement(std::vector<HeardNote> a, std::vector<HeardNote> b);

/// Reads a take and plays the reading: agreement over the chord of the take and over another one.
struct ReadBack {
  std::string fault;
  Agreement same, other;
  notate::Notation figure;
  std::string text;
};
ReadBack readBack(const notate::Take& take, const Idiom& idiom, Density density, const notate::Wishes& wishes);

}  // namespace seguente::test
