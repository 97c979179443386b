// How much an idiom asks of one left hand, from 1, easy, to 5: span, leaps and notes a second of its lean figure.
#pragma once

#include "dsp/idiom.h"

namespace seguente::screen {

/// Over a chord of C in the middle of its tempi. The weights are ours: common practice, no source. [message]
int leftHandMeasure(const Idiom& idiom);

}  // namespace seguente::screen
