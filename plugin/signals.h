// The player's signals (hold, go on, end, next, previous, silence all) and which pedal, controller or key gives each.
#pragma once

#include <array>
#include <atomic>
#include <cstdint>
#include <optional>
#include <string>
#include <string_view>

#include "dsp/input.h"

namespace seguente {

enum class Signal : std::uint8_t { hold, goOn, end, next, previous, silenceAll };
inline constexpr std::size_t signalCount = 6;
const char* nameOf(Signal signal) noexcept;  // "Hold", "Go on" ... as on the screen
const char* idOf(Signal signal) noexcept;    // "hold", "go-on" ... as in a state

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

/// One giver a signal. Set on the message thread, read and learnt on the audio thread; wait-free. [any]
class SignalMap {
 public:
  void set(Signal signal, Giver giver) noexcept;
  Giver get(Signal signal) const noexcept;
  /// The next controller (64 or more) or key becomes the giver of this signal; empty: listen no longer. [message]
  void learn(std::optional<Signal> signal) noexcept;
  std::optional<Signal> learning() const noexcept;
  /// A giver that served another signal leaves that one. [audio]
  SignalHeard hear(const MidiMessage& message) noexcept;

 private:
  std::array<std::atomic<std::uint32_t>, signalCount> givers_{};
  std::atomic<int> learning_{-1};
  std::array<std::array<std::uint64_t, 2>, 16> down_{};     // audio thread: keys whose note-on was taken
  std::array<std::array<std::uint64_t, 2>, 16> pressed_{};  // audio thread: controllers at 64 or more
};

}  // namespace seguente
