// What a page says, as values: bars of staves of voices of chords, each note spelt and with its reason. No pixels.
//
//   place    ticks from the bar's own start, exact (dsp/time.h); a value's length is exact too, tuplets included
//   step     a line or space of the staff: diatonic steps from middle C = 0, up positive (E4 = 2, G2 = -10)
//   written  what stands on paper after quantising: of our own notes the figure's straight place, of the tune the
//            nearest sensible one; swing is written straight, as the trade does, and said once
#pragma once

#include <array>
#include <cstdint>
#include <string>
#include <vector>

#include "dsp/chord.h"
#include "dsp/output.h"
#include "dsp/time.h"

namespace seguente::page {

/// A printed note value: power 0 whole, 1 half, 2 quarter, 3 eighth, 4 sixteenth, 5 thirty-second. [any]
struct Value {
  std::uint8_t power = 2;
  std::uint8_t dots = 0;  // 0 or 1
  friend constexpr bool operator==(Value, Value) = default;
  constexpr bool open() const { return power <= 1; }
  constexpr bool stem() const { return power >= 1; }
  constexpr int flags() const { return power > 2 ? power - 2 : 0; }
  constexpr Ticks length() const {
    const std::int64_t plain = quarter.value * 4 >> power;
    return {dots == 0 ? plain : plain + plain / 2};
  }
};

/// Who sounds it, which is how it is drawn. [any]
enum class Source : std::uint8_t { melody, held, accompaniment, percussion };

/// One head. [any]
struct Note {
  NoteNumber key{};
  int step = 0;
  std::int8_t alteration = 0;
  bool sign = false;     // an accidental stands before it here (what its alteration says; 0 is a natural)
  bool tiedIn = false;   // a tie comes from the same pitch before
  bool tiedOut = false;  // a tie leads on to the same pitch after
  Source source = Source::melody;
  std::uint32_t noteId = 0;  // ours: NoteReason::noteId; the tune: as the writer was told
  bool coming = false;       // known, but not yet sounded
  NoteReason reason{};       // ours only
  friend bool operator<(const Note& a, const Note& b) { return a.step != b.step ? a.step < b.step : a.key < b.key; }
};

/// What a stem carries, or a rest. [any]
struct Event {
  Ticks at{};      // from the bar's start
  Ticks length{};  // exact: a third of a quarter in a triplet
  Value value{};
  std::vector<Note> notes;   // low to high; none: a rest
  std::vector<Note> graces;  // small notes before it, in order
  std::int16_t beam = -1;    // the same number: one beam; numbers count within the voice
  std::int16_t tuplet = -1;  // the same number: one bracket of three in the time of two
  bool wholeBar = false;     // a bar's rest
  bool shown = true;         // false: a rest for what has not been played yet
  bool rest() const { return notes.empty(); }
};

/// One line of a staff: its events follow each other without a gap and fill the bar. [any]
struct Voice {
  std::vector<Event> events;
};

enum class StaffKind : std::uint8_t { upper, lower, percussion };
inline constexpr std::size_t staffKinds = 3;

/// Of two voices the first has its stems up. [any]
struct Staff {
  std::vector<Voice> voices;
};

/// A chord symbol and its numeral over the staff. [any]
struct ChordMark {
  Ticks at{};
  std::uint32_t id = 0;
  Chord chord{};
  std::string symbol;      // "F\u266F m7" without the hand's own bass, signs as printed
  std::string numeral;     // "" where the key is unsure
  bool continued = false;  // the chord goes on from an earlier bar
};

/// Where a part of the form begins. [any]
struct FormMark {
  Ticks at{};
  FigureKind kind = FigureKind::statement;
};

/// One bar. Complete in itself: it may be kept, drawn alone, or exported. [any]
struct Bar {
  std::uint64_t ordinal = 0;  // as written, from 0, never reused
  std::int64_t number = 1;    // as counted by a player, from 1; a pickup is 0
  Ticks start{};              // musical time
  Ticks length{};
  Ticks before{};  // what an incomplete first bar lacks: its count goes on from here
  Meter meter{};
  Key key{};                     // of the signature
  std::int32_t swing = 1000;     // permille; other than 1000: written straight, said with a word
  Ticks swingPair{quarter};      // long and short together
  double quartersPerMinute = 0;  // at its start; 0 unknown
  bool current = false;          // still being written
  bool broken = false;           // the music jumped away inside it
  std::array<Staff, staffKinds> staves;
  std::vector<ChordMark> chords;
  std::vector<FormMark> form;
  const Staff& staff(StaffKind kind) const { return staves[static_cast<std::size_t>(kind)]; }
  Staff& staff(StaffKind kind) { return staves[static_cast<std::size_t>(kind)]; }
};

}  // namespace seguente::page
