// Which channel and program each part of ours takes in a file that already has its own.
#pragma once

#include <array>
#include <cstdint>
#include <string>
#include <vector>

#include "dsp/idiom.h"
#include "dsp/input.h"
#include "plugin/commandline/midi_file.h"

namespace seguente {

/// Bit c set: channel c (0..15) has a voice message in the file. [message]
std::uint16_t channelsUsed(const MidiFile& file);

/// Bit c set: channel c has a note-on in the file. [message]
std::uint16_t channelsWithNotes(const MidiFile& file);

inline constexpr std::uint8_t percussionChannel = 9;  // General MIDI: channel 10

/// The channels that the parts of an idiom play on. A part that finds none is left out: its bit in `partsOff`. [any]
struct PartChannels {
  std::array<std::uint8_t, limits::parts> channel{1, 2, 3, percussionChannel};
  std::uint8_t partsOff = 0;
};

/// Percussion takes channel 10, the others the lowest free ones. Nothing is taken that the file uses. [message]
PartChannels channelsFor(const Idiom& idiom, std::uint16_t used);

}  // namespace seguente
