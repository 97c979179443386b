#include "dsp/gather.h"

#include <algorithm>
#include <array>
#include <cstdint>

namespace seguente {

namespace {
// A diminished triad is not among them: it may be a seventh whose root is still on its way (C-F#-A, and then the D).
// Triads and sevenths as masks above the root, and the shells 1-3-b7 (B-F-G: beginners' seventh), 1-b3-b7, 1-3-7.
constexpr std::array<std::uint16_t, 15> wholeMasks = {0b000010010001, 0b000010001001, 0b000100010001, 0b000010100001,
                                                      0b010010010001, 0b100010010001, 0b010010001001, 0b010001001001,
                                                      0b001001001001, 0b001010010001, 0b001010001001, 0b010000010001,
                                                      0b010000001001, 0b100000010001, 0b000010000101};

constexpr std::array<std::uint64_t, 64> makeWholeTable() {
  std::array<std::uint64_t, 64> table{};
  for (const auto mask : wholeMasks)
    for (int root = 0; root < 12; ++root) {
      const auto turned = ((mask << root) | (mask >> (12 - root))) & 0xFFF;
      table[static_cast<std::size_t>(turned >> 6)] |= std::uint64_t{1} << (turned & 63);
    }
  return table;
}
constexpr auto wholeTable = makeWholeTable();
}  // namespace

bool wholeChord(PitchClassSet set) noexcept { return (wholeTable[set.bits >> 6] >> (set.bits & 63)) & 1u; }

void Gather::schedule() noexcept {
  deadline_ = std::min({windowEnd_, overlapEnd_, goneAt_, slipAt_});
  atRest_ = !down_.empty() && !landing();
}

void Gather::keyDown(NoteNumber note, Velocity velocity, Samples at, Samples window) noexcept {
  if (windowEnd_ == never) {
    first_ = at;
    windowEnd_ = at + window;
    window_ = window;
    gathered_ = {};
    slipAt_ = never;
    old_ = down_;
    oldGone_ = down_.count() < keys_.count();
    velocitySum_ = velocityCount_ = 0;
    struckInWindow_ = false;
  }
  first_ = std::min(first_, at);
  restruck_ = restruck_ || doubtful_.has(note);
  old_.remove(note);  // a key of the old chord that is struck again belongs to the new one
  gathered_.add(note);
  down_.add(note);
  velocitySum_ += velocity.value;
  ++velocityCount_;
  goneAt_ = never;
  schedule();
}

void Gather::keyUp(NoteNumber note, Samples at, Samples bridge) noexcept {
  if (!down_.has(note)) return;
  if (doubtful_.has(note)) doubtful_ = {};
  down_.remove(note);
  suspectSlip(note, at);
  if (windowEnd_ != never) {
    oldGone_ = oldGone_ || old_.has(note);
    old_.remove(note);
  } else if (overlapEnd_ != never && old_.has(note)) {
    keys_.remove(note);
    old_.remove(note);
    overlapTaken_ = true;
  }
  if (down_.empty() && !pedal_) goneAt_ = at + bridge;
  schedule();
}

void Gather::pedal(bool down, Samples at, Samples bridge) noexcept {
  if (down == pedal_) return;
  pedal_ = down;
  if (down)
    goneAt_ = never;
  else if (down_.empty() && !(keys_.empty() && gathered_.empty()))
    goneAt_ = at + bridge;
  schedule();
}

void Gather::takeBack(NoteNumber note, Samples at, Samples bridge) noexcept {
  down_.remove(note);
  gathered_.remove(note);
  old_.remove(note);
  const bool waiting = windowEnd_ != never && !gathered_.empty();  // settle will see what is left
  const bool nothingYet = windowEnd_ != never && !struckInWindow_;
  if (!waiting) windowEnd_ = never;
  if (!waiting && !nothingYet && keys_.has(note)) {
    keys_.remove(note);
    overlapTaken_ = true;
  }
  if (down_.empty() && goneAt_ == never && windowEnd_ == never && !(pedal_ && !keys_.empty()))
    goneAt_ = keys_.empty() ? at : at + bridge;
  schedule();
}

/// A slip is no shorter than some wanted notes, so length alone does not tell (REFERENCES section 6: a median of 77 ms,
/// a quarter over 350): it lies a semitone or two from a key of the chord and leaves within five windows, and the chord
/// stays.
void Gather::suspectSlip(NoteNumber note, Samples at) noexcept {
  if (!gathered_.has(note) || at - first_ > Samples{5 * window_.value}) return;
  bool neighbour = false;
  down_.forEach([&](NoteNumber n) {
    const int d = (n - note).semitones;
    neighbour = neighbour || (d >= -2 && d <= 2);
  });
  if (!neighbour || slipAt_ != never) return;
  slip_ = note;
  slipAt_ = at + window_;
}

bool Gather::dropSlip(Samples at) noexcept {
  if (slipAt_ > at || windowEnd_ != never) return false;
  slipAt_ = never;
  KeySet rest = keys_;
  rest.remove(slip_);
  const bool others = down_.count() > 2 && rest.without(down_).empty() && !down_.has(slip_);
  if (!keys_.has(slip_) || !others || !wholeChord(rest.pitchClasses())) return false;
  keys_ = rest;
  return true;
}

void Gather::dropDoubtful() noexcept {
  if (doubtful_.empty() || !(restruck_ || gathered_.count() >= std::min(3, doubtful_.count()))) return;
  const KeySet lost = doubtful_.without(gathered_);
  down_ = down_.without(lost);
  old_ = old_.without(lost);
  doubtful_ = {};
  restruck_ = false;
}

void Gather::strikeAgain(Samples at) noexcept {
  if (down_.empty()) return;
  keys_ = {};
  gathered_ = down_;
  old_ = {};
  first_ = windowEnd_ = at;
  struckInWindow_ = false;
  velocitySum_ = force_;  // as hard as it was
  velocityCount_ = 1;
  schedule();
}

GatherEvent Gather::settle(Samples at) noexcept {
  auto result = GatherEvent::nothing;
  if (windowEnd_ != never) {
    dropDoubtful();
    const bool closing = windowEnd_ <= at;
    KeySet all = gathered_;
    old_.forEach([&](NoteNumber n) { all.add(n); });
    const auto tones = all.pitchClasses();
    // Keys of the old chord may be common tones once others of it have gone; while all are down it may be overlap.
    const bool settled = old_.empty() || oldGone_;
    const bool clear = settled && (!struckInWindow_ || !(tones == keys_.pitchClasses())) && wholeChord(tones);
    if (closing || clear) {
      force_ = velocitySum_ / std::max(1, velocityCount_);
      if (!struckInWindow_)
        result = GatherEvent::struck;
      else
        result = all == keys_ ? GatherEvent::closed : GatherEvent::refined;
      keys_ = all;
      struckInWindow_ = true;
    }
    if (closing) {
      windowEnd_ = never;
      // Overlap of the old chord: 5 % of changes overlap by 69 ms or more (REFERENCES section 6), so twice the window.
      overlapEnd_ = old_.empty() ? never : Samples{at.value + 2 * window_.value};
    }
  } else if (overlapTaken_) {
    result = keys_.empty() ? GatherEvent::nothing : GatherEvent::refined;
  }
  if (dropSlip(at) && result == GatherEvent::nothing) result = GatherEvent::refined;
  if (slipAt_ <= at) slipAt_ = windowEnd_ == never ? never : windowEnd_;
  overlapTaken_ = false;
  if (overlapEnd_ <= at) {
    overlapEnd_ = never;
    old_ = {};
  }
  if (goneAt_ <= at && result == GatherEvent::nothing && windowEnd_ == never) {
    goneAt_ = never;
    keys_ = {};
    result = GatherEvent::gone;
  } else if (goneAt_ <= at) {
    goneAt_ = windowEnd_ != never ? windowEnd_ : Samples{at.value + 1};
  }
  schedule();
  return result;
}

void Gather::keepOn() noexcept {
  goneAt_ = never;
  schedule();
}

Velocity Gather::force() const noexcept { return Velocity::clamped(force_); }

}  // namespace seguente
