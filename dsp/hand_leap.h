// How far one hand may leap in how much time. Common practice, no source.
#pragma once

namespace seguente {

namespace handLeap {
inline constexpr int octave = 12, tenth = 16;  // semitones
/// A leap over an octave, and one over a tenth, need so much time.
inline constexpr double secondsForOverOctave = 0.25, secondsForOverTenth = 0.5;
}  // namespace handLeap

/// Where one hand lies, lowest and highest key, and how many semitones its nearer edge may leap. [any]
struct HandReach {
  int low = 0, high = 127;
  int farthest = 127;
  bool free() const noexcept { return farthest >= 127; }
  /// By how much a stroke from `lowest` to `highest` lies too far: 0 when it can be reached.
  int beyond(int lowest, int highest) const noexcept {
    const bool within = (highest > high ? highest : high) - (lowest < low ? lowest : low) <= handLeap::octave;
    const int atLow = lowest > low ? lowest - low : low - lowest;
    const int atHigh = highest > high ? highest - high : high - highest;
    const int leap = atLow < atHigh ? atLow : atHigh;
    return within || leap <= farthest ? 0 : leap - farthest;
  }
};

}  // namespace seguente
