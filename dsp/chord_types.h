// The 42 chord types, one row each, and the ways in which a hand may hold one (fifth left out, shell...).
// Source: MusicXML 4.0 kind values (W3C, musicxml.xsd) and the agreement of tonal 6.4.2, chord-symbol 4.0.0 and
// daccord 1.1.0 as collected in tests/reference/chords/chord_types.json; the rows are tested against that file.
// Columns numeral and rarity: common practice, no source.
#pragma once

#include <array>
#include <cstdint>
#include <optional>
#include <span>
#include <string_view>

#include "dsp/chord.h"
#include "dsp/limits.h"

namespace seguente {

/// One row of the table. [any]
struct ChordType {
  std::string_view id;
  std::uint8_t count = 0;                                    // tones in use
  std::array<Degree, limits::chordTones> degrees{};          // in degree order, as a chord symbol implies them
  std::array<std::uint8_t, limits::chordTones> semitones{};  // above the root, 0..21
  std::uint16_t mask = 0;                                    // pitch classes above the root, bit 0 = root
  std::string_view kind;                                     // MusicXML kind value
  std::string_view kindDegree;                               // MusicXML degree elements, "" when none
  std::array<std::string_view, 3> symbols{};                 // after the root's name; the first is the one we write
  std::uint8_t symbolCount = 0;
  std::string_view numeral;  // after a roman numeral whose case already says major or minor
  std::uint8_t rarity = 0;   // 0 = the plainest name; breaks ties between names that fit equally well

  constexpr bool has(int semitone) const { return (mask >> semitone) & 1u; }
  constexpr std::string_view symbol() const { return symbols[0]; }
  /// Minor third and no major third: written in lower case as a numeral.
  constexpr bool minorThird() const { return has(3) && !has(4); }
  /// Major third and flat seventh: wants to fall a fifth.
  constexpr bool dominantSeventh() const { return has(4) && has(10); }
  /// Minor third and flat fifth without a perfect one: leads up a semitone.
  constexpr bool diminishedFamily() const { return minorThird() && has(6) && !has(7); }
};

inline constexpr std::size_t chordTypeCount = 42;

/// The whole table; a ChordTypeId is an index into it. [any]
extern const std::array<ChordType, chordTypeCount> chordTypes;

/// Row numbers that rules speak of by name. Their order is tested against the table. [any]
namespace chordTypeIds {
inline constexpr ChordTypeId major{0}, minor{1}, diminished{2}, augmented{3}, suspendedSecond{4}, suspendedFourth{5},
    power{6}, majorSixth{7}, dominant{11}, majorSeventh{12}, minorSeventh{13}, halfDiminished{15},
    diminishedSeventh{16}, dominantFlatFive{19};
}

/// What of a type is held. [any]
enum class Form : std::uint8_t { complete, noFifth, noThird, shell };  // shell: root and seventh only

/// One way of holding one type: pitch classes above the root, bit 0 (the root itself) always set. [any]
struct Pattern {
  std::uint16_t mask = 0;
  std::uint8_t type = 0;
  Form form = Form::complete;
};

/// All ways of holding that make up exactly these pitch classes above a root (bit 0 must be set). [audio]
/// errors: none; a mask without bit 0 is taken as if it had it.
std::span<const Pattern> patternsOf(std::uint16_t mask) noexcept;

/// The row of a known type. errors: an unknown id gives row 0; ask known() first. [audio]
const ChordType& chordTypeOf(ChordTypeId id) noexcept;

/// The type that a symbol's tail names ("m7b5", ""), by the table or by a few other spellings in use. [any]
std::optional<ChordTypeId> chordTypeNamed(std::string_view tail) noexcept;

/// A chord of the type with its tones; held = all of them and the bass; not spelt yet. [audio]
Chord makeChord(PitchClass root, ChordTypeId type, PitchClass bass) noexcept;

}  // namespace seguente
