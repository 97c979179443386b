// Degrees of a chord and of a key as numbers: the small arithmetic that voicing stands on.
#pragma once

#include <array>
#include <cstdint>

#include "dsp/chord.h"

namespace seguente {

/// What the degrees 1 to 15 of one chord are in semitones above its root, and its bass: worked out once a chord. [any]
struct DegreeTable {
  std::array<std::int8_t, 16> semitones{};  // by degree number; [0] as [1]
  PitchClass bass{};                        // the root, unless the hand set a foreign note under it
};
DegreeTable degreesOf(const Chord& chord) noexcept;
/// That bass alone. [any]
inline PitchClass bassOf(const Chord& chord) noexcept {
  const unsigned up = static_cast<unsigned>(PitchClass::upFrom(chord.root, chord.bass));
  for (std::size_t i = 0; i < chord.count; ++i)
    if (chord.tones[i] == up || chord.tones[i] == up + 12) return chord.root;
  return chord.bass;
}

/// The major scale above its tonic, by degree number; what an altered degree is counted from.
inline constexpr std::array<std::int8_t, 16> majorScale = {0, 0, 2, 4, 5, 7, 9, 11, 12, 14, 16, 17, 19, 21, 23, 24};

/// Semitones above the root of a degree, 0..28; what the chord lacks has a stated answer (DESIGN, musical rules): the
/// third over a bare fifth or a single key is the octave; the sixth is the major sixth, over a diminished chord bb7,
/// over an augmented one the raised fifth. [any]
inline int semitonesOf(const DegreeTable& table, Degree degree) noexcept {
  const std::size_t number = degree.number & 15u;
  return degree.alteration == 0 ? table.semitones[number] : majorScale[number] + degree.alteration;
}
inline int semitonesOf(const Chord& chord, Degree degree) noexcept { return semitonesOf(degreesOf(chord), degree); }

/// Whether it has a minor third and a diminished fifth. [any]
bool diminished(const Chord& chord) noexcept;

/// The degree that a pitch class has over a chord (its own tones first, else by the major scale). [any]
inline Degree degreeOf(const Chord& chord, NoteNumber key) noexcept {
  static constexpr std::array<Degree, 12> plain = {
      {{1, 0}, {2, -1}, {2, 0}, {3, -1}, {3, 0}, {4, 0}, {5, -1}, {5, 0}, {5, 1}, {6, 0}, {7, -1}, {7, 0}}};
  const std::size_t up = static_cast<unsigned>(key.value + 12 - chord.root.value) % 12;
  return up == 9 && diminished(chord) ? Degree{7, -2} : plain[up];
}
inline Degree degreeOf(const Chord& chord, PitchClass pitch) noexcept {
  return degreeOf(chord, NoteNumber{pitch.value});
}

/// A key's scale (minor: natural, with the raised seventh allowed). [any]
inline PitchClassSet scaleOf(const Key& key) noexcept {
  constexpr unsigned majorMask = 0b101010110101;
  constexpr unsigned minorMask = 0b110110101101;  // natural minor and the raised seventh
  const unsigned fromTonic = key.mode == Mode::major ? majorMask : minorMask;
  const unsigned turned = fromTonic << key.tonic.pitchClass().value;
  return {static_cast<std::uint16_t>((turned | turned >> 12) & 0xFFF)};
}

/// Whether a pitch class belongs to a key's scale. [any]
inline bool inScale(const Key& key, PitchClass pitch) noexcept { return scaleOf(key).has(pitch); }

}  // namespace seguente
