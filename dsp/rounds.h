// The round just heard: remembers when which chord began, and finds the last stretch that went as the present one goes.
// A progression that has come round twice is expected a third time; and a second time once half of it has come again.
// A round may be kept going: then it is no guess any longer, and its chords come by themselves (dsp/engine_round.cpp).
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
  /// A chord of the kept round, and where it begins.
  struct Coming {
    const Chord* chord = nullptr;
    const KeySet* hand = nullptr;
    Ticks at{};
  };
  /// A chord begins to count at a place. The same place again: the chord was mistaken. hand: the keys that hold it.
  /// While a round is kept, only its own next chord counts (goOn).
  void chordBegan(const Chord& chord, const KeySet& hand, Ticks at) noexcept;
  /// What begins after this place belongs to another playing.
  void playingEnds(Ticks after) noexcept { endsAfter_ = after; }
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

  /// Keeps the round going: the one that is expected, or else all that was played since this playing began, as one
  /// round that ends with the bar. now: a place in the chord in force; barEnd: the bar line after it. False when there
  /// is none, or it is too long. A first chord that is back after two bars or a multiple of four is a second beginning
  /// (common practice, no source: phrases of four bars).
  bool keep(Ticks now, Ticks barEnd, Ticks bar) noexcept;
  bool kept() const noexcept { return kept_ != 0; }
  void release() noexcept {
    kept_ = 0;
    goesOn_ = false;
  }
  /// The kept round's next chord. With nothing kept: nothing.
  Coming coming() const noexcept;
  /// The next chord that begins is the kept round's own.
  void goOn() noexcept { goesOn_ = true; }
  /// The chord in force began so much later: what comes is moved with it.
  void shift(Ticks by) noexcept {
    if (count_ > 0) began_[(count_ - 1) % room].at = began(count_ - 1).at + by;
  }
  /// Where the kept round begins again, and how long it is.
  Ticks beginsAgain() const noexcept;
  Ticks length() const noexcept;

 private:
  static constexpr std::uint32_t room = 128;         // chords remembered: a power of two
  static constexpr std::uint32_t longestRound = 64;  // chords
  static constexpr int farthest = 8;                 // chords ahead
  struct Began {
    Chord chord{};
    KeySet hand{};
    Ticks at{};
    Ticks after{};  // since the one before
  };
  bool comesRound(std::uint32_t first, Ticks bar) const noexcept;
  const Began& began(std::uint32_t n) const noexcept { return began_[n % room]; }

  std::array<Began, room> began_{};
  std::array<std::uint64_t, room> like_{};  // chord and distance, roughly
  std::uint32_t count_ = 0;
  std::uint32_t since_ = 0;  // the first chord of this playing
  std::uint32_t kept_ = 0;   // chords of the round that is kept going; 0: none
  bool goesOn_ = false;
  Ticks endsAfter_{};                                                // what begins later is another playing
  std::array<std::uint8_t, longestRound + 1> matched_{}, before_{};  // by distance: how many chords went alike
  std::uint32_t round_ = 0;                                          // chords of the round that is believed
  std::uint8_t confidence_ = 0;
};

}  // namespace seguente
