// How hard an idiom's lean figure is for a left hand: a measure of its own, stated here and nowhere else.
#pragma once

#include "dsp/idiom.h"

namespace seguente {

/// Measured over C major held as C3 E3 G3, at the middle of the file's tempi (their geometric mean). [any]
struct HandEffort {
  int span = 0;  // semitones, the widest that sounds together
  int leap = 0;  // semitones that the hand must move at most; it lies over an octave of what it struck last
  double strokesASecond = 0;  // places in time at which something is struck
  int grade = 1;              // 1 to 5
};

/// grade: 1, and one more for each of: more than two strokes a second; more than four; a leap of more than a fifth; of
/// more than an octave; a span of more than a sixth. At most 5. By ear, no source. [message]
HandEffort effortOf(const Idiom& idiom);

}  // namespace seguente
