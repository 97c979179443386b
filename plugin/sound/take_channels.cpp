#include "plugin/sound/take_channels.h"

namespace seguente {

namespace {
// Percussion on the tenth (General MIDI 1), the other parts on the last ones, where a keyboard seldom sends.
constexpr std::uint8_t firstPart = 12, percussion = 9;
constexpr int nobody = -1;

bool isNoteOn(const Played& played) { return (played.bytes[0] & 0xF0) == 0x90 && played.bytes[2] != 0; }
}  // namespace

void TakeChannels::forget() {
  for (auto& keys : owner_) keys.fill(nobody);
  program_.fill(nobody);
  parts_.fill({});
  pedals_.fill(false);
}

std::uint8_t TakeChannels::ofNote(const Played& played) {
  const auto from = static_cast<std::uint8_t>(played.bytes[0] & 0x0F);
  auto& whose = owner_[from][played.bytes[1] & 0x7Fu];
  auto channel = from;
  if (!isNoteOn(played)) {
    if (whose != nobody) channel = static_cast<std::uint8_t>(whose);
    whose = nobody;
    return channel;
  }
  if (played.role == Role::percussion)
    channel = percussion;
  else if (played.ours)
    channel = static_cast<std::uint8_t>(firstPart + played.part % limits::parts);
  whose = static_cast<std::int8_t>(channel);
  if (played.ours) {
    parts_[channel].from = from;
    parts_[channel].asks = played.pedal;
  }
  return channel;
}

bool TakeChannels::dueProgram(const Played& played, std::uint8_t channel) {
  if (!isNoteOn(played) || !played.ours || played.role == Role::percussion) return false;
  if (program_[channel] == played.program) return false;
  program_[channel] = played.program;
  return true;
}

}  // namespace seguente
