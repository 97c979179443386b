// Every cap of the engine in one place. `check` enforces them on a pattern file; memory is sized by them.
// A cap is there so that the audio thread never allocates: each is generous for music and stated in the message
// that refuses a file. Source of the numbers: common practice, no source, unless said.
#pragma once

#include <cstddef>
#include <cstdint>

namespace seguente::limits {

inline constexpr std::size_t parts = 4;               // bass, chords, counter-line, percussion
inline constexpr std::size_t stepsPerFigure = 96;     // four bars of 12/8 in sixteenths
inline constexpr std::size_t figuresPerDensity = 14;  // one of each kind, and the short forms
inline constexpr std::size_t turnaroundChords = 16;   // different ones in one idiom
inline constexpr std::size_t shortForms = 4;
inline constexpr std::size_t notesPerStep = 6;  // a hand has five fingers; octave doublings at full density
inline constexpr std::size_t barsPerFigure = 8;
inline constexpr std::size_t relatives = 12;            // other meters that an idiom names a stand-in for
inline constexpr std::size_t chordTones = 7;            // a thirteenth chord
inline constexpr std::size_t readings = 8;              // ranked names that a chord fact carries
inline constexpr std::size_t soundingNotes = 64;        // of ours, all parts together
inline constexpr std::size_t inputsAtOneSample = 4096;  // more at one sample are ordered in groups of this size
inline constexpr std::size_t keys = 128;                // MIDI 1.0
inline constexpr std::size_t channels = 16;             // MIDI 1.0
inline constexpr std::size_t textLength = 64;           // id and title
inline constexpr std::size_t fileBytes = 256 * 1024;    // a pattern file larger than this is refused unread

}  // namespace seguente::limits
