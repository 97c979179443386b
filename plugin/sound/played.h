// A message that is heard, with who plays it: what the sound and a recording need to know beyond its bytes.
#pragma once

#include <array>
#include <cstddef>
#include <cstdint>

#include "dsp/idiom.h"

namespace seguente {

/// Who plays a message. [any]
enum class Role : std::uint8_t { tune, bass, chords, counterLine, percussion, click };
inline constexpr std::size_t roles = 6;
constexpr Role roleOf(PartKind kind) noexcept {
  constexpr Role ours[] = {Role::bass, Role::chords, Role::counterLine, Role::percussion};
  return ours[static_cast<std::size_t>(kind)];
}

/// A message at its place in a block. Of longer ones (system exclusive) there is no sound. [any]
struct Played {
  std::int32_t offset = 0;  // samples from the block's start
  std::array<std::uint8_t, 3> bytes{};
  std::uint8_t length = 3;   // 2 or 3
  Role role = Role::tune;    // of a note-on; a note-off finds its note by channel and key
  std::uint8_t part = 0;     // of such a note of ours: index into the idiom's parts
  std::uint8_t program = 0;  // and the part's General MIDI program, from 0
  bool pedal = false;        // and whether the part asks for the sustain pedal
  bool ours = false;         // the accompaniment's: its pedals are not the tune's
};

}  // namespace seguente
