// The compiled, immutable idiom: what a pattern file means, as plain values that the audio thread reads.
// Made by idiom_file (off the audio thread), lent by handoff, read by player and voicing. No rule of any one idiom
// stands in code: whatever differs between idioms is a value here.
#pragma once

#include <array>
#include <cstdint>
#include <span>
#include <string>
#include <vector>

#include "dsp/chord.h"
#include "dsp/limits.h"
#include "dsp/pitch.h"
#include "dsp/time.h"

namespace seguente {

enum class Density : std::uint8_t { lean, medium, full };
inline constexpr std::size_t densities = 3;

enum class PartKind : std::uint8_t { bass, chords, counterLine, percussion };

/// One line that a listener hears. [any]
struct Part {
  PartKind kind = PartKind::chords;
  NoteNumber low{36};        // register: no key below
  NoteNumber high{67};       // register: no key above
  std::uint8_t program = 0;  // General MIDI, from 0
  std::uint8_t level = 80;   // velocity of a step without stress at full force, 1..127
  bool pedal = false;        // the part asks for the sustain pedal on its own channel, changed with each chord
  bool enabledByDefault = true;
  bool fifthBelow = false;   // its degrees 5 to 7 lie under the root: the bass of one hand, whose chord lies over both
  bool noParallels = false;  // its "line" makes no fifths or octaves in a row with the bass or the tune
  std::uint8_t reach = 0;    // semitones above its degree 1 that its figures go: roots lie so low that it fits
  std::string name;          // track name
};

enum class PlayKind : std::uint8_t {
  degrees,   // the listed degrees of the chord, together
  upper,     // "C": the chord's upper notes together, voiced smoothly
  nextBass,  // "R": the bass of the chord that is expected; with nothing expected, of the present one
  approach,  // "R~": a note that leads by step to the bass expected; with nothing expected, back to the present one
  heldLowest,
  heldUpper,
  heldAll,
  heldTop,
  heldNth,     // the very keys of the hand, moved to the part's register
  percussion,  // a General MIDI percussion key
  line         // "line": a tone of the chord by step from the part's last note
};

/// What a step strikes. [any]
struct Play {
  PlayKind kind = PlayKind::degrees;
  std::uint8_t count = 0;                              // degrees in use
  std::array<Degree, limits::notesPerStep> degrees{};  // numbers 1..15; 8 and above lie an octave up
  std::uint8_t nth = 1;                                // heldNth: from below, 1..6; percussion: the key
  constexpr bool leads() const { return kind == PlayKind::nextBass || kind == PlayKind::approach; }
  constexpr bool oneDegree() const { return kind == PlayKind::degrees && count == 1; }
};

/// When a step is played at all. [any]
enum class Condition : std::uint8_t {
  always,
  majorThirdWithRoom,    // over a major third, with no tune note held within a semitone: a blue third may be crushed
  noMajorThirdOrNoRoom,  // the other case
  tuneRests,             // the tune rests, or has held its note for a beat: what answers it
  apart,                 // found apart from the plain path: a turnaround's chord, a counter-line's note
};

/// One struck note or group. Times are straight (unswung), from the figure's start. [any]
struct Step {
  Ticks at{};
  Ticks length{};
  Play play{};
  Condition condition = Condition::always;
  std::uint8_t part = 0;   // index into Idiom::parts
  std::int8_t stress = 0;  // -3..+3
  std::uint8_t row = 0;    // its place in the file's list, from 0: what reasons name
  std::uint8_t over = 0;   // of a turnaround: place in Idiom::chords; 0 is the chord that is held
  bool atPair = false;     // it begins on a whole swing pair: no swing moves that
  bool toPair = false;     // it ends on one
};

enum class FigureKind : std::uint8_t {
  statement,
  answer,
  lift,
  vamp,
  hold,
  cadence,
  end,
  fullCadence,  // the end of a piece whose last chord came from its dominant (V-I)
  halfCadence,  // the end of a phrase on the dominant of the key
  turnaround,   // from the end of a form back to its beginning; the only figure that brings chords of its own
  shortForm
};

/// A run of steps in Idiom::steps, sorted by time, all parts together. length > 0. [any]
struct Figure {
  FigureKind kind = FigureKind::statement;
  Ticks length{};
  std::uint16_t first = 0;
  std::uint16_t count = 0;
};

/// A figure that may be absent: index into Idiom::figures. [any]
struct FigureRef {
  std::int16_t index = -1;
  constexpr bool there() const { return index >= 0; }
};

/// The figures of one density. statement is always there (a missing density borrows the nearest leaner one,
/// or else the nearest fuller; resolved by the compiler). [any]
struct DensityFigures {
  FigureRef statement, answer, lift, vamp, hold, cadence, end, fullCadence, halfCadence, turnaround;
  std::uint8_t shortCount = 0;
  std::array<FigureRef, limits::shortForms> shortForms{};  // longest first
  bool written = false;                                    // the file has this density itself
};

struct Idiom;

/// Which idiom stands in for this one in a foreign meter. [any]
struct Relative {
  Meter meter{};
  const Idiom* idiom = nullptr;  // owned by the library that compiled it, lives as long as this idiom
  std::string id;                // as the file names it
};

/// A whole idiom. Immutable once compiled. [any]
struct Idiom {
  std::string id;
  std::string title;
  std::vector<std::string> also;  // other names it is sought by
  std::string about;              // one line: what it is and where it is at home
  std::string text;               // the whole pattern file, for a session's state
  std::string path;               // where it was read; never saved in a state
  Meter meter{};
  bool anyMeter = false;                  // held chords: one figure step fits every bar
  double tempoLow = 60, tempoHigh = 200;  // quarters a minute, advice only
  std::int32_t swingPermille = 1000;      // long : short, 1000 straight, 2000 triplet
  std::int32_t swingLow = 1000, swingHigh = 1000;
  Ticks swingPair{quarter};  // the length within which long + short fall; a quarter for swung eighths
  std::vector<Part> parts;
  std::vector<Step> steps;
  std::vector<Figure> figures;
  std::vector<Chord> chords;  // of turnarounds, as over C; the first stands for the chord that is held
  std::array<DensityFigures, densities> density{};
  std::vector<Ticks> rejoin;   // places in the bar at which the figure may be taken up again, ascending, first 0
  std::uint8_t leanSpan = 12;  // semitones a lean hand spans at most
  std::vector<Relative> relatives;

  const DensityFigures& at(Density d) const { return density[static_cast<std::size_t>(d)]; }
  const Figure& figure(FigureRef r) const { return figures[static_cast<std::size_t>(r.index)]; }
  std::span<const Step> stepsOf(const Figure& f) const { return std::span(steps).subspan(f.first, f.count); }
};

}  // namespace seguente
