// A figure that was played in over one chord, and what it reads as: the values that the steps of notate hand on.
// Off the audio thread only; times are seconds, or beats' ticks once they lie on a grid.
#pragma once

#include <cstdint>
#include <optional>
#include <string>
#include <vector>

#include "dsp/chord.h"
#include "dsp/pitch.h"
#include "dsp/time.h"

namespace seguente::notate {

/// One note as it was played. on, off: seconds. [message]
struct TakenNote {
  int key = 60;
  int velocity = 64;
  double on = 0, off = 0;
  int crushedFrom = -1;  // the key that was struck just before and yielded to it
};

/// A take. quarterSeconds: of the click it was played to, bar lines counted from 0; 0: there was none. [message]
struct Take {
  std::vector<TakenNote> notes;  // by onset
  double quarterSeconds = 0;
  bool doubtful = false;  // a click of 120, which a recorder writes whether anybody heard it or not
  std::optional<Meter> meter;
  bool pedal = false;  // the sustain pedal was used
  int program = 0;     // General MIDI, from 0
};

/// What the player says beside the take. [message]
struct Wishes {
  std::optional<Chord> chord;  // else the one that is held through the take
  std::optional<Meter> meter;
  double quartersPerMinute = 0;  // 0: not said
  bool asHeld = false;           // steps name the hand's keys instead of degrees
};

/// How the beat is divided. swing: long : short within `pair`, 1 straight. [message]
struct GridFound {
  int parts = 1;  // of a felt beat
  double swing = 1;
  Ticks pair{quarter};
  double cost = 0;   // nats; comparable for one take only
  double depth = 0;  // the part of it that the places cost, however well the notes fit
};

/// One stroke of a pattern file: a row. Times from the figure's start, straight. [message]
struct Row {
  Ticks at{}, length{};
  std::size_t part = 0;
  std::string play;
  int stress = 0;
};

struct PartFound {
  std::string name;
  bool bass = false;
  bool fifthBelow = false;
  int low = 0, high = 0;  // register
  int level = 64;         // velocity of a row without stress
};

/// Why a take was not read, for whoever says it in other words than the command line's.
enum class Unread : std::uint8_t { no, empty, noChord, noBeat, tooShort, other };

/// A figure as read. [message]
struct Notation {
  Unread unread = Unread::no;
  std::string fault;  // one clause; empty when the rest is good
  std::vector<std::string> remarks;
  Meter meter{};
  double quartersPerMinute = 0;
  GridFound grid;
  int barsPlayed = 0, rounds = 0;
  int bars = 1;  // of the statement
  std::vector<PartFound> parts;
  std::vector<Row> statement, answer, lift;  // answer and lift may be empty
  int liftBars = 0;
  Chord chord{};
  bool asHeld = false, pedal = false, tempoFound = false;
  int program = 0;
};

}  // namespace seguente::notate
