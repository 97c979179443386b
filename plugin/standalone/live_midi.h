// MIDI on its way to and from the audio thread: rings of fixed size, each with one writer and one reader. What is
// longer than three bytes (system exclusive) and what a keyboard's own clock says is left out: nothing here would use
// it.
#pragma once

#include <array>
#include <chrono>
#include <cstdint>
#include <span>

#include "plugin/ring.h"

namespace seguente::home {

using Clock = std::chrono::steady_clock;

struct ShortMessage {
  std::array<std::uint8_t, 3> bytes{};
  std::uint8_t length = 0;
  std::span<const std::uint8_t> span() const noexcept { return {bytes.data(), length}; }
};

/// Empty (length 0) when it is none that we carry. [any]
constexpr ShortMessage shortMessage(std::span<const std::uint8_t> bytes) noexcept {
  ShortMessage m;
  if (bytes.empty() || bytes.size() > 3 || bytes[0] < 0x80 || bytes[0] >= 0xF0) return m;
  for (const auto b : bytes) m.bytes[m.length++] = b;
  return m;
}

/// A message and when it came, or is due.
struct TimedMessage {
  Clock::time_point at{};
  ShortMessage message;
  std::uint8_t to = 0;  // of those that go out: bit a destination
};

/// What is played on each connected keyboard: a ring for each, because each may have a thread of its own.
class PlayedKeys {
 public:
  static constexpr int places = 16;
  PlayedKeys() {
    for (auto& ring : rings_) ring.prepare(1024);
  }
  /// False when it was lost: the ring is full, which takes a thousand messages in a block. [the keyboard's thread]
  bool push(int place, const TimedMessage& message) noexcept {
    return rings_[static_cast<std::size_t>(place)].push(message);
  }
  /// Hands over all that came before `until`. [audio] wait-free.
  template <class Give>
  void take(Clock::time_point until, Give&& give) noexcept {
    for (auto& ring : rings_)
      while (const auto* m = ring.oldest()) {
        if (m->at >= until) break;
        give(*m);
        ring.drop();
      }
  }

 private:
  std::array<Ring<TimedMessage>, places> rings_;
};

}  // namespace seguente::home
