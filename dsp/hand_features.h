// What can be known of a note at a moment, as small integers: the input of dsp/hand_model.h. Causal: only what has been
// heard by then. Ideas: positions and windows after Hadjakos, Waloschek & Leemhuis 2019 (Detecting Hands in Piano MIDI
// Data) and Kilian & Hoos 2002 (voice separation by local costs); reach, strikes, velocity, harmony and beat are ours.
#pragma once

#include <array>

#include "dsp/hand_memory.h"

namespace seguente {

inline constexpr std::size_t handFeatureCount = 128;
/// 64 stands for 1; clamped to -255..255. [any]
using HandFeatures = std::array<std::int16_t, handFeatureCount>;

/// What the rest of the engine knows at that moment. [audio]
struct HandContext {
  PitchClassSet chord{};     // in force; empty: none
  int chordRoot = -1;        // pitch class
  PitchClassSet scale{};     // of the key; empty: unknown
  PitchClassSet expected{};  // by a chart; empty: nobody knows
  int expectedRoot = -1;
  int sinceChange256 = 256;  // quarters since the chart's chord began, up to one
  bool clock = false;        // a beat is known
  int offBeat256 = 0;        // distance to the nearest beat, signed, 128 = half a beat
  int offBar256 = 0;         // and to the nearest bar line, 128 = half a beat or more
};

/// Describes the note at a place at `now`. revising: its window is open and others have landed since; closing: it is
/// over. [audio] bounded by the memory's room, no errors.
void describe(const HandMemory& memory, std::size_t place, Tenths now, const HandContext& context, bool revising,
              bool closing, HandFeatures& out) noexcept;

}  // namespace seguente
