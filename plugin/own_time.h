// How the own tempo is used where no host gives the time: at what pace, and whether it stands until the first chord.
// A plugin leaves it as it is: there own time runs.
#pragma once

#include <atomic>
#include <cstdint>
#include <optional>

#include "dsp/input.h"
#include "dsp/time.h"

namespace seguente {

struct OwnTime {
  bool withFirstChord = false;  // stands until a chord is struck, and again when nothing is left to play
  bool countIn = false;         // then a bar of clicks comes first
  int pace = 100;               // per cent of the own tempo, slowestPace and more; swing is a ratio, and stays
  friend constexpr bool operator==(const OwnTime&, const OwnTime&) = default;
};
inline constexpr int slowestPace = 33;  // a third

/// Set by the message thread, read once a block by the audio thread. [any] wait-free.
class OwnTimeBox {
 public:
  void set(const OwnTime& wished) noexcept {
    const auto pace = static_cast<std::uint32_t>(wished.pace < slowestPace ? slowestPace : wished.pace);
    word_.store(pace << 2 | (wished.countIn ? 2u : 0u) | (wished.withFirstChord ? 1u : 0u), std::memory_order_relaxed);
  }
  OwnTime get() const noexcept {
    const auto word = word_.load(std::memory_order_relaxed);
    return {(word & 1u) != 0, (word & 2u) != 0, static_cast<int>(word >> 2)};
  }

 private:
  std::atomic<std::uint32_t> word_{100u << 2};
};

/// A stroke of the count-in, on or off. [audio]
struct Click {
  Samples at{};
  bool on = false;
  bool first = false;  // of the bar
};

/// Where own time begins and ends while it waits for the first chord. Knows samples only. [audio] throughout.
class FirstChord {
 public:
  /// Nothing goes and nothing is counted.
  void forget() noexcept { *this = {}; }
  bool counting() const noexcept { return beats_ > 0; }
  /// A chord is struck while time stands. countIn: a bar of so many beats of so many samples comes first.
  void strike(Samples at, int beats, double beatSamples, bool countIn) noexcept;
  /// Where time begins, if that is before `until`; told once.
  std::optional<Samples> beginsBefore(Samples until) noexcept;
  /// The next click before `until`; told once.
  std::optional<Click> clickBefore(Samples until) noexcept;
  /// The player has asked for the end: the cadence sounds, and then time stands though keys are held.
  void askEnd() noexcept { ending_ = true; }
  /// A block is over. sounds: something of ours; held: a chord, or any key. True: nothing was left to play for a bar.
  bool restedFor(Samples bar, Samples now, bool sounds, bool held) noexcept;

 private:
  std::optional<Samples> begins_;
  Samples counted_{};  // the first click
  double beatSamples_ = 0;
  int beats_ = 0;
  int told_ = 0;  // strokes, on and off
  bool ending_ = false;
  std::optional<Samples> restingSince_;
};

}  // namespace seguente
