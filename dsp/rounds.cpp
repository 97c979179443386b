#include "dsp/rounds.h"

#include <algorithm>

#include "dsp/degrees.h"

namespace seguente {

namespace {
constexpr std::int64_t roughly = quarter.value / 4;  // human timing, snapped to beats where it is near them
constexpr Ticks overdueAfter = quarter;              // a note that leads on asks a beat ahead

/// Root, type and a foreign bass, and how long after the chord before: alike when these are.
std::uint64_t likeness(const Chord& chord, Ticks after) noexcept {
  const auto harmony =
      static_cast<std::uint64_t>(chord.root.value) | static_cast<std::uint64_t>(bassOf(chord).value) << 8 |
      static_cast<std::uint64_t>(chord.type.value) << 16 | static_cast<std::uint64_t>(chord.count) << 24;
  const auto distance = floorDivide(after.value + roughly / 2, roughly);
  return harmony | static_cast<std::uint64_t>(distance) << 32;
}
}  // namespace

void Rounds::chordBegan(const Chord& chord, Ticks at) noexcept {
  const bool instead = count_ > 0 && began(count_ - 1).at == at;
  if (instead) {
    --count_;
    matched_ = before_;
  }
  const Ticks after = count_ > 0 ? at - began(count_ - 1).at : Ticks{};
  const std::uint64_t like = likeness(chord, after);
  began_[count_ % room] = {chord, at, after, like};
  before_ = matched_;
  round_ = 0;
  int most = 1;
  const std::uint32_t farthestBack = std::min(longestRound, count_);
  for (std::uint32_t back = 1; back <= farthestBack; ++back) {
    const bool alike = began(count_ - back).like == like;
    const int went = alike ? std::min(matched_[back] + 1, 255) : 0;
    matched_[back] = static_cast<std::uint8_t>(went);
    if (went > 1 && went >= most) {  // the longest memory speaks; of equals the longer round
      most = went;
      round_ = back;
    }
  }
  ++count_;
  // Twice round, or half of the second time and no less than four chords.
  const int round = static_cast<int>(round_);
  confidence_ = 0;
  if (round_ == 0) return;
  if (most >= 2 * round)
    confidence_ = 90;
  else if (most >= round)
    confidence_ = 80;
  else if (most >= 4 && most * 2 >= round)
    confidence_ = 60;
}

Rounds::Next Rounds::expected(Ticks tick) const noexcept {
  if (!any()) return {};
  Ticks from = began(count_ - 1).at;
  const Chord* chord = &began(count_ - 1).chord;
  if (tick < from) return {};
  std::uint32_t past = count_ - round_;  // what came after it the last time
  for (int i = 0; i < farthest; ++i) {
    const Ticks to = from + began(past).after;
    if (tick < to) return {chord, from, to, confidence_};
    if (i == 0 && tick - to >= overdueAfter) return {};
    chord = &began(past).chord;
    from = to;
    if (++past == count_) past -= round_;  // round and round
  }
  return {};
}

}  // namespace seguente
