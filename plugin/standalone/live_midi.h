// MIDI on its way to and from the audio thread: rings of fixed size, each with one writer and one reader. What is
// longer than three bytes (system exclusive) and what a keyboard's own clock says is left out: nothing here would use
// it.
#pragma once

#include <array>
#include <atomic>
#include <chrono>
#include <cstdint>
#include <span>

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

template <class Value, std::uint32_t room>
class Ring {
 public:
  /// False when it is full. [one writer] wait-free.
  bool push(const Value& value) noexcept {
    const auto end = end_.load(std::memory_order_relaxed);
    if (end - begin_.load(std::memory_order_acquire) == room) return false;
    slots_[end % room] = value;
    end_.store(end + 1, std::memory_order_release);
    return true;
  }
  /// The oldest, which stays until it is dropped; null when there is none. [one reader] wait-free.
  const Value* oldest() const noexcept {
    const auto begin = begin_.load(std::memory_order_relaxed);
    return begin == end_.load(std::memory_order_acquire) ? nullptr : &slots_[begin % room];
  }
  void drop() noexcept { begin_.store(begin_.load(std::memory_order_relaxed) + 1, std::memory_order_release); }

 private:
  std::array<Value, room> slots_{};
  std::atomic<std::uint32_t> begin_{0}, end_{0};
};

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
  std::array<Ring<TimedMessage, 1024>, places> rings_;
};

}  // namespace seguente::home
