// The round just heard: remembers when which chord began, and finds the last stretch that went as the present one goes.
// A progression that has come round twice is expected a third time; and a second time once half of it has come again.
#pragma once

#include <array>
#include <cstdint>

#include "dsp/chord.h"
#include "dsp/time.h"

namespace seguente {

/// [audio] throughout; bounded; no errors.
class Rounds {
 public:
  struct Next {
    const Chord* chord = nullptr;  // null: nothing is expected
    Ticks from{}, to{};
    std::uint8_t confidence = 0;  // per cent
  };
  /// A chord begins to count at a place. The same place again: the chord was mistaken.
  void chordBegan(const Chord& chord, Ticks at) noexcept;
  bool any() const noexcept { return confidence_ > 0; }
  /// The chord before the one in force; null when its root was the same, or there was none.
  const Chord* before() const noexcept {
    if (count_ < 2) return nullptr;
    const Chord& chord = began(count_ - 2).chord;
    return chord.root != began(count_ - 1).chord.root ? &chord : nullptr;
  }
  /// Tells visit(chord, tick) of each chord that was in force in [from, to), in order, as far as they are remembered.
  template <typename Visit>
  void heardIn(Ticks from, Ticks to, const Visit& visit) const {
    const std::uint32_t oldest = count_ > room ? count_ - room : 0;
    std::uint32_t first = count_;
    while (first > oldest && (first == count_ || began(first).at > from)) --first;
    for (std::uint32_t n = first; n < count_; ++n)
      if (began(n).at < to) visit(began(n).chord, began(n).at);
  }
  /// The chord in force at a tick, if this goes on as it went before: the present one up to where it is expected to
  /// change, then those that come. Where one has not come when it should have, nothing is expected.
  Next expected(Ticks tick) const noexcept;

 private:
  static constexpr std::uint32_t room = 128;         // chords remembered: a power of two
  static constexpr std::uint32_t longestRound = 64;  // chords
  static constexpr int farthest = 8;                 // chords ahead
  struct Began {
    Chord chord{};
    Ticks at{};
    Ticks after{};           // since the one before
    std::uint64_t like = 0;  // chord and distance, roughly
  };
  const Began& began(std::uint32_t n) const noexcept { return began_[n % room]; }

  std::array<Began, room> began_{};
  std::uint32_t count_ = 0;
  std::array<std::uint8_t, longestRound + 1> matched_{}, before_{};  // by distance: how many chords went alike
  std::uint32_t round_ = 0;                                          // chords of the round that is believed
  std::uint8_t confidence_ = 0;
};

}  // namespace seguente
