#include "plugin/commandline/our_part.h"

namespace seguente {

namespace {
template <class Wanted>
std::uint16_t channelsThat(const MidiFile& file, Wanted&& wanted) {
  std::uint16_t set = 0;
  for (const MidiTrack& track : file.tracks) {
    for (const MidiEvent& e : track.events) {
      const auto bytes = file.bytesOf(e);
      if (bytes[0] < 0xF0 && wanted(bytes)) set = static_cast<std::uint16_t>(set | (1u << (bytes[0] & 0x0F)));
    }
  }
  return set;
}
}  // namespace

std::uint16_t channelsUsed(const MidiFile& file) {
  return channelsThat(file, [](auto) { return true; });
}

std::uint16_t channelsWithNotes(const MidiFile& file) {
  return channelsThat(file, [](auto bytes) { return (bytes[0] & 0xF0) == 0x90 && bytes[2] > 0; });
}

PartChannels channelsFor(const Idiom& idiom, std::uint16_t used) {
  PartChannels result;
  std::uint8_t next = 0;
  for (std::size_t i = 0; i < idiom.parts.size() && i < limits::parts; ++i) {
    const bool percussion = idiom.parts[i].kind == PartKind::percussion;
    if (percussion) {
      next = percussionChannel;
    } else {
      next = 0;
      while (next < 16 && (next == percussionChannel || ((used >> next) & 1u) != 0)) ++next;
    }
    if (next < 16 && ((used >> next) & 1u) == 0) {
      result.channel[i] = next;
      used = static_cast<std::uint16_t>(used | (1u << next));
    } else {
      result.partsOff = static_cast<std::uint8_t>(result.partsOff | (1u << i));
    }
  }
  return result;
}

}  // namespace seguente
