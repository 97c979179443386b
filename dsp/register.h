// Keys inside a part's register: where a pitch class lies in it, and where a root goes.
#pragma once

#include <algorithm>

#include "dsp/idiom.h"
#include "dsp/pitch.h"

namespace seguente {

/// The keys that a part may use, after a shift by octaves. low 0..116, high 11..127. [any]
struct Register {
  int low = 0;
  int high = 127;
};
inline Register registerOf(const Part& part, int octaves) noexcept {
  return {std::clamp(part.low.value + 12 * octaves, 0, 116), std::clamp(part.high.value + 12 * octaves, 11, 127)};
}

inline NoteNumber keyWithin(int n) noexcept { return {static_cast<std::uint8_t>(std::clamp(n, 0, 127))}; }

/// The key of a pitch class inside a register that lies nearest to `wish`; the lower one when two are as near. In a
/// register of less than an octave that lacks it: the first above its lowest key. [any]
inline int nearestKey(PitchClass p, int wish, Register in) noexcept {
  const int first = in.low + static_cast<int>(static_cast<unsigned>(p.value + 120 - in.low) % 12);
  if (first > in.high) return std::min(first, 127);
  const int room = in.high - first;
  const unsigned octaves = static_cast<unsigned>(std::clamp(wish - first, 0, room) + 5) / 12;
  const int up = static_cast<int>(octaves) * 12;
  return first + (up <= room ? up : up - 12);
}

/// Where a root goes: near the one before (-1: none), and a little drawn to the lower middle of the register so that it
/// never drifts. By ear. One place for both, so that a leading note leads to where the root will be. `roots`: where
/// roots may lie, so that what the figure plays above and below them has room. [any]
inline int rootKey(PitchClass p, int last, Register in, Register roots) noexcept {
  const int home = in.low + (in.high - in.low) / 3;
  return nearestKey(p, last < 0 ? home : (3 * last + home) / 4, roots);
}

}  // namespace seguente
