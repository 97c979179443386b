// The player's signals (hold, go on, end, next, previous, silence all, round, turnaround, tag) and which pedal,
// controller or key gives each.
#pragma once

#include <array>
#include <atomic>
#include <cstdint>
#include <optional>
#include <string>
#include <string_view>

#include "dsp/input.h"

namespace seguente {

enum class Signal : std::uint8_t { hold, goOn, end, next, previous, silenceAll, round, turnaround, tag };
inline constexpr std::size_t signalCount = 9;  // a state knows each by its id; new ones go to the end
const char* nameOf(Signal signal) noexcept;    // "Hold", "Go on" ... as on the screen
const char* idOf(Signal signal) noexcept;      // "hold", "go-on" ... as in a state

enum class GiverKind : std::uint8_t { nothing, controller, key };
/// What gives a signal: a controller that goes from below 64 to 64 or more, or a key struck. [any]
struct Giver {
  GiverKind kind = GiverKind::nothing;
  std::uint8_t channel = 0;  // 0..15
  std::uint8_t number = 0;   // controller or key, 0..127
  friend constexpr bool operator==(Giver, Giver) = default;
};
std::string textOf(Giver giver);                        // "controller 67, channel 1", "key C2, channel 1", "nothing"
std::optional<Giver> giverFrom(std::string_view text);  // back; empty when it means nothing

/// What a message means to the map. [audio]
struct SignalHeard {
  bool taken = false;            // ours: it does not pass (the release of a mapped pedal or key too)
  std::optional<Signal> signal;  // given now
};

/// What can give a signal: controllers 0 to 119 (120 and up are MIDI's own orders) and the keys. [any]
constexpr bool canGive(Giver giver) noexcept {
  const bool named = giver.kind == GiverKind::key || (giver.kind == GiverKind::controller && giver.number < 120);
  return named && giver.channel < 16 && giver.number < 128;
}

/// One giver a signal, one signal a giver. Set on the message thread, read and learnt on the audio thread; wait-free.
/// A controller or key that gives a signal is the player's foot or finger for that alone: all its messages are taken,
/// but what had passed before it was chosen is closed by its own release. [any]
class SignalMap {
 public:
  /// A giver that cannot give means nothing; another signal that it served loses it.
  void set(Signal signal, Giver giver) noexcept;
  Giver get(Signal signal) const noexcept;
  /// The next controller (64 or more) or key becomes the giver of this signal, and does not give it yet; empty: listen
  /// no longer. [message]
  void learn(std::optional<Signal> signal) noexcept;
  std::optional<Signal> learning() const noexcept;
  /// [audio]
  SignalHeard hear(const MidiMessage& message) noexcept;
  /// Nothing is down any more: the host has prepared anew. [audio]
  void forget() noexcept;

 private:
  /// 128 bits a channel.
  struct Bits {
    std::array<std::array<std::uint64_t, 2>, 16> words{};
    bool has(int channel, int number) const noexcept;
    void put(int channel, int number, bool down) noexcept;
  };
  struct Downs {
    Bits taken, passed;
  };
  SignalHeard press(Downs& downs, Giver giver) noexcept;
  bool release(Downs& downs, Giver giver) noexcept;  // true: the release is ours
  std::optional<Signal> servedBy(Giver giver) const noexcept;

  std::array<std::atomic<std::uint32_t>, signalCount> givers_{};
  std::atomic<int> learning_{-1};
  Downs keys_, controllers_;  // audio thread: what is down, and whether its press was ours or went by
};

}  // namespace seguente
