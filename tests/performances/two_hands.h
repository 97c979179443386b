// A tune as two human hands play it on one channel, with the truth kept aside: which hand played what, which chord.
#pragma once

#include "dsp/output.h"
#include "tests/performances/style.h"
#include "tests/performances/touch.h"

namespace seguente::test {

/// Times in seconds from the start. [any]
struct PlayedNote {
  double on = 0, off = 0;
  int key = 60, velocity = 64;
  Hand hand = Hand::melody;
};
struct PedalMove {
  double at = 0;
  bool down = false;
};
/// From its last finger until the next chord's first; only where the hand holds a chord that has a name.
struct TrueChord {
  double from = 0, to = 0;
  Chord chord{};
};
struct TwoHands {
  std::string tune;
  Group group = Group::plain;
  Meter meter{};
  double quartersPerMinute = 100;  // what a clock that knows nothing of rubato would count
  double pickup = 0;               // quarters
  double end = 0;
  bool grid = false;
  std::vector<PlayedNote> notes;  // in order of their note-ons
  std::vector<PedalMove> pedal;
  std::vector<TrueChord> chords;
};

/// Plays a tune in a style. Same seed, same notes. [message]
TwoHands playTwoHands(const Tune& tune, Group group, const Style& style, const Touch& touch, Random& random);
/// A performance of a group: a real tune of that half in any key, or for learning an invented one as often. [message]
TwoHands performanceOf(Group group, Half half, std::uint64_t seed);
/// The same, as material for learning (wilder) or as what is reported on; for tuning: of the half that is learnt from,
/// but as what is reported on. [message]
TwoHands performanceOf(Group group, Half half, std::uint64_t seed, bool wilder);

}  // namespace seguente::test
