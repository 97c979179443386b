// Keys that are played on the screen, on their way to the audio thread: a ring of fixed size, one writer, one reader.
#pragma once

#include <array>
#include <atomic>
#include <cstdint>

#include "dsp/pitch.h"

namespace seguente {

class ScreenKeys {
 public:
  static constexpr std::uint32_t room = 64;
  using Message = std::array<std::uint8_t, 3>;

  /// False when the ring is full. [message]
  bool press(NoteNumber key, bool down) noexcept {
    const auto end = end_.load(std::memory_order_relaxed);
    if (end - begin_.load(std::memory_order_acquire) == room) return false;
    constexpr std::uint8_t force = 80;
    ring_[end % room] = {static_cast<std::uint8_t>(down ? 0x90 : 0x80), key.value, force};
    end_.store(end + 1, std::memory_order_release);
    return true;
  }
  /// Hands over what was pressed since; each message stays where it is until the next call. [audio]
  template <class Give>
  void take(Give&& give) noexcept {
    begin_.store(taken_, std::memory_order_release);
    const auto end = end_.load(std::memory_order_acquire);
    for (; taken_ != end; ++taken_) give(ring_[taken_ % room]);
  }

 private:
  std::array<Message, room> ring_{};
  std::atomic<std::uint32_t> begin_{0}, end_{0};
  std::uint32_t taken_ = 0;  // audio thread
};

}  // namespace seguente
