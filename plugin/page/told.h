// What a page is told: notes, chords and time as plain values, so that a ring can carry them from the audio thread.
#pragma once

#include <cstdint>

#include "dsp/chord.h"
#include "dsp/idiom.h"
#include "dsp/output.h"
#include "dsp/time.h"

namespace seguente::page {

enum class ToldKind : std::uint8_t {
  time,      // tempo, meter or place: tick, meter, barStart, quartersPerMinute; jumped when the music did not flow here
  swing,     // from tick on: swing, swingPair
  ourNote,   // id, key, tick, reason, part
  ourEnd,    // id, tick
  tuneNote,  // id, key, tick
  tuneEnd,   // id, tick
  tuneTaken,  // id of a note that was the chord hand's after all
  chord,      // id, revision, tick, chord, chordKey
  noChord,    // the hand let go: tick
  withdrawn,  // id of a chord that was none
  key,        // chordKey
  now,        // time has come to tick
};

/// One thing that a page is told. [any]
struct Told {
  ToldKind kind = ToldKind::now;
  Ticks tick{};
  std::uint32_t id = 0;
  NoteNumber key{};
  PartKind part = PartKind::chords;
  bool jumped = false;
  Meter meter{};
  Ticks barStart{};
  double quartersPerMinute = 120;
  std::int32_t swing = 1000;
  Ticks swingPair{quarter};
  NoteReason reason{};
  std::uint16_t revision = 0;
  Chord chord{};
  Key chordKey{};

  static Told time(Ticks tick, Meter meter, Ticks barStart, double quartersPerMinute, bool jumped = false);
  static Told swingFrom(Ticks tick, std::int32_t permille, Ticks pair);
  static Told ourNote(const Output& noteOn, PartKind part);
  /// tick: where it truly ends; Output::tick of a note that was cut short is the end that its step had meant.
  static Told ourEnd(std::uint32_t noteId, Ticks tick);
  static Told tuneNote(std::uint32_t id, NoteNumber key, Ticks tick);
  static Told tuneEnd(std::uint32_t id, Ticks tick);
  static Told chordHeard(std::uint32_t id, Ticks tick, const Chord& chord, const Key& key);
  static Told of(ToldKind kind, Ticks tick, std::uint32_t id = 0);
  static Told keyFound(const Key& key);
};

}  // namespace seguente::page
