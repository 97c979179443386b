// A file made ready for the engine: one stamped input stream, and for each MIDI input the event that it came from.
#pragma once

#include <cstdint>
#include <memory>
#include <string>
#include <vector>

#include "dsp/idiom.h"
#include "dsp/input.h"
#include "plugin/commandline/chart_file.h"
#include "plugin/commandline/checked.h"
#include "plugin/commandline/midi_file.h"
#include "plugin/commandline/options.h"
#include "plugin/commandline/our_part.h"
#include "plugin/commandline/tempo_map.h"

namespace seguente {

/// A place in MidiFile::tracks. track is -1 for an input that is no event of the file. [any]
struct EventPlace {
  std::int32_t track = -1;
  std::uint32_t event = 0;
};

/// From one tick on, this idiom plays (the asked one or its relative), on these channels. [any]
struct Playing {
  std::int64_t fileTick = 0;
  const Idiom* idiom = nullptr;  // null: none is named for this meter, the chords sound as held
  Meter meter{};
  PartChannels channels;
};

struct Performance {
  MidiFile file;
  TempoMap time;
  Chart chart;
  std::vector<Playing> playing;      // empty without an idiom
  std::vector<Input> inputs;         // in order
  std::vector<EventPlace> places;    // one an input
  std::int64_t lastTick = 0;         // of the file
  std::int64_t over = 0;             // file tick: tune over and hand let go, nothing of ours begins any more
  const Idiom* asked = nullptr;      // as named, whoever plays in its stead
  bool follows = false;              // the tempo is the hands': render() finds it
  bool followed = false;             // and has found it: all places are in the bars that were heard
  MidiFile timeline;                 // then: its tempi and meters, one track
  std::vector<std::string> remarks;  // what the user should know and need not act on
};

/// Reads the file and the chart and lays out the stream. idiom may be null (hearing only).
/// errors: one line, ready for stderr. [message]
Checked<std::unique_ptr<Performance>> prepare(const HearingOptions& options, const Idiom* idiom);

}  // namespace seguente
