// On which channel of a recorded arrangement a message stands: the tune on its own, each part of the accompaniment on
// one that keeps its program and by which other programs can tell it apart.
#pragma once

#include <array>
#include <cstdint>

#include "dsp/limits.h"
#include "plugin/sound/played.h"

namespace seguente {

/// [message]
class TakeChannels {
 public:
  TakeChannels() { forget(); }
  void forget();
  /// Calls put(three bytes) for all that is to stand in the file: a program or a pedal before the note that needs it.
  /// The accompaniment's pedals move those of its parts that ask for one.
  template <class Put>
  void place(const Played& played, Put&& put) {
    const auto kind = static_cast<std::uint8_t>(played.bytes[0] & 0xF0);
    const auto from = static_cast<std::uint8_t>(played.bytes[0] & 0x0F);
    const bool note = kind == 0x80 || kind == 0x90;
    if (played.ours && !note) {
      if (kind == 0xB0 && played.bytes[1] == sustainPedal) pedals_[from] = played.bytes[2] >= 64;
      for (std::size_t c = 0; c < parts_.size(); ++c) settlePedal(c, put);
      return;
    }
    const auto channel = note ? ofNote(played) : from;
    if (dueProgram(played, channel))
      put(std::array<std::uint8_t, 3>{static_cast<std::uint8_t>(0xC0 | channel), played.program, 0});
    if (played.ours) settlePedal(channel, put);
    put(std::array<std::uint8_t, 3>{static_cast<std::uint8_t>(kind | channel), played.bytes[1], played.bytes[2]});
  }

 private:
  std::uint8_t ofNote(const Played& played);
  bool dueProgram(const Played& played, std::uint8_t channel);
  template <class Put>
  void settlePedal(std::size_t channel, Put&& put) {
    auto& part = parts_[channel];
    const bool down = part.asks && pedals_[part.from];
    if (part.down == down) return;
    part.down = down;
    put(std::array<std::uint8_t, 3>{static_cast<std::uint8_t>(0xB0 | channel), sustainPedal,
                                    static_cast<std::uint8_t>(down ? 127 : 0)});
  }

  static constexpr std::uint8_t sustainPedal = 64;
  struct PartNow {
    std::uint8_t from = 0;  // the channel that it goes out on
    bool asks = false;      // for the pedal
    bool down = false;      // as it stands in the file
  };
  std::array<PartNow, limits::channels> parts_{};
  std::array<bool, limits::channels> pedals_{};  // of the accompaniment, by the channel they go out on
  std::array<std::array<std::int8_t, limits::keys>, limits::channels> owner_{};
  std::array<int, limits::channels> program_{};
};

}  // namespace seguente
