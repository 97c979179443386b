// Which keys a left hand holds for a chord, and what it does with them.
#pragma once

#include "tests/performances/style.h"
#include "tests/performances/touch.h"

namespace seguente::test {

/// One stroke of a hand, in quarter notes. [any]
struct Stroke {
  double at = 0, length = 0;
  std::vector<int> keys;    // upwards
  double late = 0;          // seconds after its place
  bool chordTruth = false;  // it alone says the chord
};

/// A shape for the chord below `ceiling` (exclusive); last: the shape before, may be empty. [any]
std::vector<int> shapeFor(const Chord& chord, const Style& style, int ceiling, double centre,
                          const std::vector<int>& last, Random& random);
/// The strokes of a figure over one chord.
std::vector<Stroke> strokesOf(LeftFigure figure, const TuneChord& chord, std::vector<int> shape, double bar,
                              double beat, const Style& style, Random& random);

}  // namespace seguente::test
