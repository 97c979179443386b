// What the accompaniment hears of the tune, so that it leaves it room: which keys it holds, how low it has lain lately,
// how loud it is, and whether it moves or rests.
#pragma once

#include <algorithm>

#include "dsp/pitch.h"
#include "dsp/time.h"

namespace seguente {

/// [audio] throughout; no errors. Times are samples; `beat`: a felt beat's.
class Tune {
 public:
  void reset() noexcept { *this = Tune{}; }
  /// A key of the tune goes down.
  void struck(NoteNumber key, Velocity velocity, Samples at, Samples beat) noexcept {
    const int low = key.value;
    if (at - struckAt_ > Samples{beat.value / 8}) before_ = last_;
    // The lowest that it has been lately: down at once, and up again by an eighth of the way with each note.
    floor_ = floor_ > 127 || low < floor_ ? low : floor_ + (low - floor_ + 7) / 8;
    const int loud = 4 * velocity.value;
    loudness_ = heard_ ? loudness_ + (loud - loudness_) / 4 : loud;
    paused_ = heard_ ? at - struckAt_ : Samples{};
    moves_ = heard_ && at - struckAt_ <= Samples{beat.value * 3 / 4};
    heard_ = true;
    last_ = low;
    struckAt_ = at;
    beat_ = beat;
    upAt_ = never;
    stillAt_ = moves_ ? at + beat : never;
  }
  /// Keys have moved: those that the tune holds now.
  void holds(const KeySet& held, Samples at) noexcept {
    held_ = held;
    if (heard_ && held.empty() && upAt_ == never) {
      upAt_ = at;
      stillAt_ = at + Samples{beat_.value / 2};
    }
  }
  /// Called at the deadline: no note has come for a while.
  void settle(Samples at) noexcept {
    if (stillAt_ > at) return;
    stillAt_ = never;
    moves_ = false;
    if (upAt_ != never) last_ = 128;
  }
  Samples deadline() const noexcept { return stillAt_; }

  bool heard() const noexcept { return heard_; }
  /// The lowest key that it holds; between two notes that of the last one; 128 once it rests.
  int lowest() const noexcept { return held_.empty() ? last_ : held_.lowest(); }
  const KeySet& held() const noexcept { return held_; }
  /// Its last note but one, where the last one was struck so shortly before `at` that both are one stroke to the ear;
  /// else the last: what it sounded before this moment. 128: nothing.
  int before(Samples at) const noexcept { return at - struckAt_ <= Samples{beat_.value / 8} ? before_ : lowest(); }
  /// The lowest key lately; 128 before its first note.
  int floor() const noexcept { return floor_; }
  /// Of its last notes, the newest counting a quarter; 64 before its first.
  Velocity loudness() const noexcept { return Velocity::clamped(loudness_ / 4); }
  /// It leaves room to answer: it has rested for a quarter of a beat, or its note has been held for a whole one.
  bool leavesRoom(Samples at) const noexcept {
    if (!heard_) return false;
    return upAt_ != never ? at - upAt_ >= Samples{beat_.value / 4}
                          : at - struckAt_ >= beat_ - Samples{beat_.value / 16};
  }
  /// How long before its last note the one before began, if that was longer than a beat and a half; else 0.
  Samples paused() const noexcept { return paused_ > beat_ + Samples{beat_.value / 2} ? paused_ : Samples{}; }
  /// Its notes come quicker than the beat.
  bool moves() const noexcept { return moves_; }

 private:
  KeySet held_{};
  int floor_ = 128, last_ = 128, before_ = 128;
  int loudness_ = 4 * 64;
  Samples paused_{}, struckAt_{-never.value}, upAt_ = never, stillAt_ = never, beat_{};
  bool heard_ = false, moves_ = false;
};

}  // namespace seguente
