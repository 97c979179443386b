// What both hands have played lately and what each hand usually does: all that the judge of hands looks at.
#pragma once

#include <array>
#include <cstddef>
#include <cstdint>

#include "dsp/output.h"

namespace seguente {

/// A moment in tenths of a millisecond from prepare: features do not depend on the rate. [any]
struct Tenths {
  std::int64_t value = 0;
  friend constexpr auto operator<=>(Tenths, Tenths) = default;
  friend constexpr std::int64_t operator-(Tenths a, Tenths b) { return a.value - b.value; }
};

/// Fingers of one strike land within 70 ms, in tenths of a millisecond (REFERENCES section 6: 99 % of chords of either
/// hand). [any]
inline constexpr std::int64_t strikeTenths = 700;

/// One note, from its note-on until it is forgotten. [audio]
struct HeardNote {
  Tenths on{};
  Samples at{};
  std::uint32_t id = 0;          // of its fact
  std::uint16_t revision = 0;    // of its fact
  std::int16_t right = 0;        // in 1/64: the logarithm of the odds that the right hand played it
  std::int16_t firstRight = 0;   // the same, as it was at the note-on
  std::int16_t offBeat256 = -1;  // how far from the nearest beat, 128 = half a beat; -1: no clock runs
  std::uint8_t key = 0;          // 0..127
  std::uint8_t velocity = 64;    // 1..127
  std::uint8_t channel = 0;      // 0..15
  Hand hand = Hand::melody;      // the present belief
  Verdict verdict = Verdict::pass;
  bool down = true;
  bool judged = false;
  bool settled = false;  // its gather window is over: never looked at again
};

/// What one hand usually does: slow means over its settled notes. Fixed point as named. [audio]
struct HandHabit {
  int notes = 0;          // counted up to 64
  int centre256 = 0;      // key, follows quickly
  int slowCentre256 = 0;  // key, follows slowly
  int velocity256 = 0;    // how hard
  int spacingTenths = 0;  // between two strikes, up to 4 s
  int size256 = 256;      // notes a strike
  int offBeat256 = 64;    // how far its strikes lie from a beat, 0..128 = half a beat
  Tenths strike{};        // when the last strike began
  int strikeNotes = 0;    // in the last strike so far
  Tenths up{-300000};     // when its last key went up
};

/// A bounded, time-ordered list of notes; a held note outlives those that were let go. [audio] no allocation.
class HandMemory {
 public:
  static constexpr std::size_t room = 40;
  void reset() noexcept { *this = HandMemory{}; }
  /// Adds an unjudged note; the oldest that is up makes room, else the oldest. Returns its place.
  std::size_t add(const HeardNote& note) noexcept;
  /// The key went up; if it had been struck twice, both are over.
  void release(std::uint8_t channel, std::uint8_t key, Tenths now) noexcept;
  /// The note's window is over: it is what it is believed to be, and shapes its hand's habits.
  void settle(std::size_t place) noexcept;

  std::size_t count() const noexcept { return count_; }
  HeardNote& operator[](std::size_t place) noexcept { return notes_[place]; }
  const HeardNote& operator[](std::size_t place) const noexcept { return notes_[place]; }
  const HandHabit& habit(Hand hand) const noexcept { return habits_[static_cast<std::size_t>(hand)]; }

 private:
  std::array<HeardNote, room> notes_{};
  std::size_t count_ = 0;
  std::array<HandHabit, 2> habits_{};
};

}  // namespace seguente
