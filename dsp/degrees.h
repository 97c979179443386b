// Degrees of a chord and of a key as numbers: the small arithmetic that voicing stands on.
#pragma once

#include "dsp/chord.h"

namespace seguente {

/// The degree that a pitch class has over a chord (its own tones first, else by the major scale). [any]
Degree degreeOf(const Chord& chord, PitchClass pitch) noexcept;

/// Whether a pitch class belongs to a key's scale (minor: natural, with the raised seventh allowed). [any]
bool inScale(const Key& key, PitchClass pitch) noexcept;

}  // namespace seguente
