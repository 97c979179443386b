// What comes out of the engine: MIDI, each note of ours with its reason, and revisable facts about what was heard.
#pragma once

#include <array>
#include <cstdint>

#include "dsp/chord.h"
#include "dsp/harmony.h"
#include "dsp/idiom.h"
#include "dsp/time.h"

namespace seguente {

/// Why a note of ours sounds. [any]
enum class Reason : std::uint8_t {
  step,        // the figure's own step
  join,        // the chord changed inside the figure: its short form
  correction,  // the chord came late: the wrong attack was taken back and this one struck
  asHeld,      // the transport stands: the chord as it is held
  hold,        // held on (hold, fermata, wait)
  cadence,     // closing
};

/// Why a note did not sound on its step's own sample. [any]
enum class DelayCause : std::uint8_t { none, handLate, started, jumped };

/// Who knew what would come. [any]
enum class ExpectedSource : std::uint8_t {
  nobody,
  chart,
  keys,   // pressed early
  round,  // a progression that has come round is expected again
};

/// Every note we send knows why. [any]
struct NoteReason {
  std::uint32_t noteId = 0;
  std::uint8_t part = 0;
  FigureKind figure = FigureKind::statement;
  std::uint8_t row = 0;
  PlayKind play = PlayKind::degrees;
  Degree degree{};  // for degrees; for upper, the tone's degree where known
  std::uint32_t chordId = 0;
  std::uint16_t chordRevision = 0;
  Reason reason = Reason::step;
  DelayCause cause = DelayCause::none;
  ExpectedSource expected = ExpectedSource::nobody;  // a note that leads on: who knew where to,
  PitchClass goal{};                                 // and that is the bass it leads to
  Samples due{};                                     // the step's own sample
  Ticks dueTick{};                                   // and tick (swung)
};

enum class OutputKind : std::uint8_t { passed, noteOn, noteOff, controller };

/// One message out. passed: input `inputIndex` of this call, bytes untouched. Else three bytes of ours. A note-off with
/// note id 0 closes a note of the tune; a note-on with note id 0 is one that had been taken for the chord's, sent late.
/// [any]
struct Output {
  Samples sample{};
  OutputKind kind = OutputKind::passed;
  std::uint32_t inputIndex = 0;
  std::array<std::uint8_t, 3> bytes{};
  std::uint32_t noteId = 0;            // noteOn, noteOff: the note's identity
  const NoteReason* reason = nullptr;  // noteOn with an id only; valid during the callback
  Ticks tick{};                        // ours: where it lies in musical time (exact step tick when undelayed)
};

enum class FactKind : std::uint8_t { hand, chord, key, beat };
enum class FactStatus : std::uint8_t { provisional, final, withdrawn };
enum class Hand : std::uint8_t { melody, chord };
enum class Verdict : std::uint8_t { pass, take, lend };
/// Why a note was given to a hand. From landsTogether on by listening: what speaks most for the verdict. [any]
enum class HandReason : std::uint8_t {
  aboveSplit,
  belowSplit,
  channel,
  noMelodyAsked,
  landsTogether,   // with other fingers of the chord hand
  sameKeys,        // a key of the chord hand's last strike
  whereChordWas,   // nearer to the chord hand than to the tune
  overChord,       // above what the chord hand holds or strikes
  whereTuneWas,    // nearer to the tune
  registerAlone,   // nothing else is known yet
  joinedChord,     // looked at again: what landed since makes it the chord hand's
  stayedWithTune,  // looked at again: lent, and kept
  wasTune,         // looked at again: taken, and sent late, or left out of the chord
};

/// lend: passed, may be withdrawn once within the gather window by one note-off.
/// Hearing is a stream of revisable facts. A retraction is an ordinary fact. [any]
struct Fact {
  FactKind kind = FactKind::chord;
  FactStatus status = FactStatus::provisional;
  std::uint32_t id = 0;  // of the note, chord or key
  std::uint16_t revision = 0;
  Samples sample{};  // when this was known
  Ticks tick{};      // where in musical time the thing itself lies (chord: the tick it begins to count)
  // hand
  NoteNumber note{};
  Velocity velocity{};
  std::uint8_t channel = 0;
  Hand hand = Hand::melody;
  Verdict verdict = Verdict::pass;
  HandReason handReason = HandReason::aboveSplit;
  std::uint32_t inputIndex = 0;  // of revision 0
  // chord: all readings, ranked (null for a withdrawal and for "no chord": the hand let go)
  const Readings* readings = nullptr;
  Key key{};  // chord and key facts
  // beat (told while the hands make the time): where it falls, provisional until it has; a later one takes its place
  Samples falls{};
  std::uint8_t beatOfBar = 0;  // from 1
  Meter meter{};
  std::uint8_t confidence = 0;  // per cent
};

/// Where output goes: two callbacks, called in time order. fact may be null. Must not allocate when on the audio
/// thread.
struct Sink {
  void* context = nullptr;
  void (*midi)(void*, const Output&) = nullptr;
  void (*fact)(void*, const Fact&) = nullptr;
};

}  // namespace seguente
