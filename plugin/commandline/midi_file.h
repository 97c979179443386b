// Standard MIDI Files, formats 0 and 1, read and written so that every event keeps its own tick and its own bytes.
//
// Why a reader of our own: JUCE's MidiFile re-sorts note-offs and rebuilds events; libsmf pulls in glib and rewrites
// what it does not know. Neither can promise that a passed event is written back as it came. This one is small and
// fuzzed (tests/fuzz/fuzz_midi.cpp). Source of the format: Standard MIDI Files 1.0/1.1, as in REFERENCES section 1.
#pragma once

#include <cstdint>
#include <span>
#include <string>
#include <string_view>
#include <vector>

#include "plugin/commandline/checked.h"

namespace seguente {

/// One event of a track: an absolute file tick, and its bytes in MidiFile::bytes with the status written out (running
/// status is undone); a meta or system exclusive event with its own length bytes. [any]
struct MidiEvent {
  std::int64_t tick = 0;
  std::uint32_t offset = 0;
  std::uint32_t length = 0;
};

struct MidiTrack {
  std::vector<MidiEvent> events;  // in file order: ticks never fall; the last is the end of track
};

/// A chunk that is neither MThd nor MTrk: kept as it came and written after the tracks. [any]
struct OtherChunk {
  std::uint32_t offset = 0;  // of its four-letter name, in MidiFile::bytes
  std::uint32_t length = 0;
};

/// A whole file. resolution: ticks a quarter, 1..32767. [any]
struct MidiFile {
  int format = 1;
  int resolution = 480;
  std::vector<MidiTrack> tracks;
  std::vector<OtherChunk> others;
  std::vector<std::uint8_t> bytes;  // of all events

  std::span<const std::uint8_t> bytesOf(const MidiEvent& e) const { return {bytes.data() + e.offset, e.length}; }
  /// Appends an event; the caller keeps the order of ticks. [message]
  void add(MidiTrack& track, std::int64_t tick, std::span<const std::uint8_t> event);
};

inline constexpr std::uint8_t metaTrackName = 0x03;
inline constexpr std::uint8_t metaEndOfTrack = 0x2F;
inline constexpr std::uint8_t metaTempo = 0x51;
inline constexpr std::uint8_t metaMeter = 0x58;
inline constexpr std::uint8_t metaKey = 0x59;

/// Reads a file's content. errors: one clause without the file's name: "is not a MIDI file", "is cut short: ...".
/// [message]
Checked<MidiFile> parseMidi(std::span<const std::uint8_t> content);

/// Reads a file. errors: "NAME: no such file", and those of parseMidi with the name before them. [message]
Checked<MidiFile> readMidi(const std::string& path);

/// The file's bytes: header and tracks without running status; each track ends with one end of track. [message]
std::vector<std::uint8_t> serializeMidi(const MidiFile& file);

/// Appends a variable-length quantity, 0..0x0FFFFFFF (greater ones are held to that). [message]
void appendVariableLength(std::vector<std::uint8_t>& to, std::int64_t value);

/// A meta event's bytes: FF type length text. [message]
std::vector<std::uint8_t> metaEvent(std::uint8_t type, std::string_view content);

/// The content of a meta event of this type (after its length), or nullptr data when the event is another. [any]
std::span<const std::uint8_t> metaContent(std::span<const std::uint8_t> event, std::uint8_t type);

}  // namespace seguente
