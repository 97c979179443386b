#include "dsp/rounds.h"

#include <algorithm>

#include "dsp/degrees.h"

namespace seguente {

namespace {
constexpr std::int64_t roughly = quarter.value / 4;  // human timing, snapped to beats where it is near them
constexpr Ticks overdueAfter = quarter;              // a note that leads on asks a beat ahead
constexpr std::uint8_t certain = 99;

/// Root, type and a foreign bass, and how long after the chord before: alike when these are.
std::uint64_t likeness(const Chord& chord, Ticks after) noexcept {
  const auto harmony =
      static_cast<std::uint64_t>(chord.root.value) | static_cast<std::uint64_t>(bassOf(chord).value) << 8 |
      static_cast<std::uint64_t>(chord.type.value) << 16 | static_cast<std::uint64_t>(chord.count) << 24;
  const auto distance = floorDivide(after.value + roughly / 2, roughly);
  return harmony | static_cast<std::uint64_t>(distance) << 32;
}
}  // namespace

void Rounds::chordBegan(const Chord& chord, const KeySet& hand, Ticks at) noexcept {
  const bool instead = count_ > 0 && began(count_ - 1).at == at;
  if (kept_ != 0 && !goesOn_) {  // the chord in force is put right, or taken up anew after a jump
    if (instead) {
      began_[(count_ - 1) % room].chord = chord;
      began_[(count_ - 1) % room].hand = hand;
    }
    return;
  }
  goesOn_ = false;
  if (instead) {
    --count_;
    matched_ = before_;
  }
  if (at > endsAfter_) since_ = count_;
  endsAfter_ = farTick;
  const Ticks after = count_ > 0 ? at - began(count_ - 1).at : Ticks{};
  const std::uint64_t like = likeness(chord, after);
  began_[count_ % room] = {chord, hand, at, after};
  like_[count_ % room] = like;
  before_ = matched_;
  round_ = 0;
  int most = 1;
  const std::uint32_t farthestBack = std::min(longestRound, count_);
  for (std::uint32_t back = 1; back <= farthestBack; ++back) {
    if (like_[(count_ - back) % room] != like) {
      matched_[back] = 0;
      continue;
    }
    const int went = std::min(matched_[back] + 1, 255);
    matched_[back] = static_cast<std::uint8_t>(went);
    if (went > 1 && went >= most) {  // the longest memory speaks; of equals the longer round
      most = went;
      round_ = back;
    }
  }
  ++count_;
  if (kept_ != 0) {
    round_ = kept_;
    confidence_ = certain;
    return;
  }
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

/// Whether the chord in force is the first one come back.
bool Rounds::comesRound(std::uint32_t first, Ticks bar) const noexcept {
  if (count_ - first < 3 || !(began(count_ - 1).chord == began(first).chord)) return false;
  const Ticks went = began(count_ - 1).at - began(first).at;
  const auto bars = went.value / bar.value;
  return went.value % bar.value == 0 && (bars == 2 || bars % 4 == 0);
}

bool Rounds::keep(Ticks now, Ticks barEnd, Ticks bar) noexcept {
  if (count_ == 0 || bar.value <= 0) return false;
  const std::uint32_t last = count_ - 1;
  if (any()) {
    kept_ = round_;
  } else if (count_ - since_ > longestRound) {
    return false;
  } else if (comesRound(since_, bar)) {
    kept_ = last - since_;
  } else {
    kept_ = count_ - since_;
    Began& first = began_[since_ % room];
    const Ticks upbeat{(first.at - barEnd).value - bar.value * floorDivide((first.at - barEnd).value, bar.value)};
    first.after = barEnd + upbeat - began(last).at;
    like_[since_ % room] = likeness(first.chord, first.after);
  }
  for (std::uint32_t back = 1; back <= kept_; ++back)
    if (began(count_ - back).after.value <= 0) {
      kept_ = 0;
      return false;
    }
  round_ = kept_;
  confidence_ = certain;
  if (coming().at <= now) shift(barEnd - coming().at);  // it was held longer than usual
  return true;
}

Rounds::Coming Rounds::coming() const noexcept {
  if (kept_ == 0) return {};
  const Began& next = began(count_ - kept_);
  return {&next.chord, &next.hand, began(count_ - 1).at + next.after};
}

Ticks Rounds::beginsAgain() const noexcept {
  if (kept_ == 0) return {};
  Ticks at = began(count_ - 1).at;
  for (std::uint32_t n = count_; n < count_ + kept_; ++n) {
    at = at + began(n - kept_).after;
    if ((n - since_) % kept_ == 0) break;
  }
  return at;
}

Ticks Rounds::length() const noexcept {
  Ticks all{};
  for (std::uint32_t back = 1; back <= kept_; ++back) all = all + began(count_ - back).after;
  return all;
}

}  // namespace seguente
