// What comes next is one question: expected(tick) -> {chord, source, confidence}. Keys pressed early answer it, or else
// a chart, or else the round just heard. With nothing to say it says so.
#pragma once

#include <array>

#include "dsp/input.h"
#include "dsp/output.h"
#include "dsp/rounds.h"

namespace seguente {

struct Expected {
  const Chord* chord = nullptr;  // null: nothing is expected
  Ticks from{}, to{};
  bool hold : 1 = false;  // a fermata stands over it
  bool end : 1 = false;   // fine: it closes
  bool turnaround : 1 = false;
  ExpectedSource source = ExpectedSource::nobody;
  std::uint8_t confidence = 0;  // per cent
};

/// [audio] throughout; borrows the chart, and the chord whose keys were pressed early.
class Foresight {
 public:
  void reset() noexcept { *this = Foresight{}; }
  /// Nothing is ever expected.
  bool silent() const noexcept { return !charted() && early_ == nullptr && !rounds_.any(); }
  /// There is a chart, which may say where it holds and ends.
  bool charted() const noexcept { return chart_.count != 0; }
  void setChart(ChartRef chart) noexcept { chart_ = chart; }
  /// A chord has been struck that counts from a place ahead; null: none.
  void pressedEarly(const Chord* chord, Ticks from = {}) noexcept {
    early_ = chord;
    earlyFrom_ = from;
  }
  /// A phrase is to be heard once more: the chords that began in [from, to) are expected again from `to` on, and at the
  /// last of them, at the latest a bar before the end, the close. It takes a chart's place. False when nothing was
  /// heard.
  bool expectAgain(Ticks from, Ticks to, Ticks bar) noexcept;
  /// The chord before the one in force, if its root was another; null when there was none.
  const Chord* before() const noexcept { return rounds_.before(); }
  /// A chord begins to count, or takes the place of one that began there.
  void chordBegan(const Chord& chord, Ticks at, const KeySet& hand = {}) noexcept {
    rounds_.chordBegan(chord, hand, at);
  }
  Rounds& rounds() noexcept { return rounds_; }
  const Rounds& rounds() const noexcept { return rounds_; }

  /// The chord expected to be in force at a tick. O(log n) of the chart; else bounded.
  Expected expected(Ticks tick) const noexcept {
    if (early_ != nullptr && earlyFrom_ <= tick) return ahead();
    if (charted()) return inChart(tick);
    return rounds_.any() ? inRound(tick) : Expected{};
  }
  Expected inChart(Ticks tick) const noexcept;
  /// The next chord that is another than the one expected at a tick, by chart or else by round; nothing when nobody
  /// knows.
  Expected changeAfter(Ticks tick) const noexcept;

 private:
  Expected ahead() const noexcept;
  Expected inRound(Ticks tick) const noexcept;
  ChartRef chart_{};
  const Chord* early_ = nullptr;
  Ticks earlyFrom_{};
  Rounds rounds_{};
  std::array<Expectation, 16> again_{};  // a tag; when there is one, chart_ lies here, so nobody copies this then
};

}  // namespace seguente
