// Degrees of a chord and of a key as numbers: the small arithmetic that voicing stands on.
#pragma once

#include <array>
#include <cstdint>

#include "dsp/chord.h"

namespace seguente {

/// What the degrees 1 to 7 of one chord are in semitones above its root, and its bass: worked out once a chord. [any]
struct DegreeTable {
  std::array<std::int8_t, 8> semitones{};  // by degree number; [0] is not used
  PitchClass bass{};                       // the root, unless the hand set a foreign note under it
};
DegreeTable degreesOf(const Chord& chord) noexcept;

/// Semitones above the root of a degree, 0..28; what the chord lacks has a stated answer (DESIGN, musical rules): the
/// third over a bare fifth or a single key is the octave; the sixth is the major sixth, over a diminished chord bb7,
/// over an augmented one the raised fifth. [any]
inline int semitonesOf(const DegreeTable& table, Degree degree) noexcept {
  constexpr std::array<std::int8_t, 15> majorScale = {0, 2, 4, 5, 7, 9, 11, 12, 14, 16, 17, 19, 21, 23, 24};
  const std::size_t number = degree.number < 1 ? 1 : degree.number > 15 ? 15 : degree.number;
  if (degree.alteration != 0) return majorScale[number - 1] + degree.alteration;
  const std::size_t octave = number > 14 ? 2 : number > 7 ? 1 : 0;
  return table.semitones[number - 7 * octave] + 12 * static_cast<int>(octave);
}
inline int semitonesOf(const Chord& chord, Degree degree) noexcept { return semitonesOf(degreesOf(chord), degree); }

/// The degree that a pitch class has over a chord (its own tones first, else by the major scale). [any]
Degree degreeOf(const Chord& chord, PitchClass pitch) noexcept;

/// Whether a pitch class belongs to a key's scale (minor: natural, with the raised seventh allowed). [any]
bool inScale(const Key& key, PitchClass pitch) noexcept;

}  // namespace seguente
