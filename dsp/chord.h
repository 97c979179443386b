// What a chord is, as a value: the common word of harmony, player, voicing, charts and facts.
#pragma once

#include <array>
#include <cstdint>

#include "dsp/limits.h"
#include "dsp/pitch.h"

namespace seguente {

/// Row number in harmony's table of chord types (dsp/chord_types.h). 255 = no type known. [any]
struct ChordTypeId {
  std::uint8_t value = 255;
  friend constexpr bool operator==(ChordTypeId, ChordTypeId) = default;
  constexpr bool known() const { return value != 255; }
};

/// One degree of a chord or scale: number 1..15 and alteration (-2..+2), so b3 = {3,-1}. [any]
struct Degree {
  std::uint8_t number = 1;
  std::int8_t alteration = 0;
  friend constexpr bool operator==(Degree, Degree) = default;
};

/// A named chord. `tones` are the chord's pitch classes as semitones above the root, in degree order (1 3 5 7 9..),
/// as the type says, whether or not the hand holds them all; `held` says which the hand holds. [any]
struct Chord {
  PitchClass root;
  PitchClass bass;   // lowest sounding pitch class of the hand; equals root in root position
  ChordTypeId type;  // unknown when nothing in the table fits: then tones are the held pitch classes from the bass
  std::uint8_t count = 0;                                // tones in use; 0 = no chord at all
  std::array<std::uint8_t, limits::chordTones> tones{};  // semitones above root, 0..21
  PitchClassSet held;
  SpelledPitch rootSpelling;
  SpelledPitch bassSpelling;
  constexpr bool none() const { return count == 0; }
  /// Same harmony: root, type and bass agree (what is held may differ by doublings).
  friend constexpr bool operator==(const Chord& a, const Chord& b) {
    return a.root == b.root && a.bass == b.bass && a.type == b.type && a.count == b.count && a.tones == b.tones;
  }
};

/// The chord's own tones, a foreign bass not among them. [any]
inline PitchClassSet tonesOf(const Chord& chord) noexcept {
  PitchClassSet tones;
  for (std::size_t i = 0; i < chord.count; ++i) tones.add(chord.root + Interval{chord.tones[i]});
  return tones;
}
/// The same with the bass. [any]
inline PitchClassSet tonesWithBass(const Chord& chord) noexcept {
  PitchClassSet tones = tonesOf(chord);
  tones.add(chord.bass);
  return tones;
}

enum class Mode : std::uint8_t { major, minor };

/// A key: tonic as spelt, and mode; unknown until enough has been heard. [any]
struct Key {
  SpelledPitch tonic;
  Mode mode = Mode::major;
  bool known = false;
  friend constexpr bool operator==(Key, Key) = default;
};

}  // namespace seguente
