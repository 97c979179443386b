// A lean figure is played by one left hand. The rule, in degrees over a plain major triad in root position
// (what a beginner holds; "C" is its third and fifth): common practice, no source.
//   1. What sounds together spans at most the idiom's lean_span (an octave unless the file says otherwise); a note
//      counts as long as it sounds, also beyond the figure's end into the next round.
//   2. It needs at most five fingers.
//   3. From one stroke to the next the hand moves by the lesser of the way of its lowest and of its highest note: over
//      an octave only in a quarter of a second or more, over a tenth only in half a second or more, at the fastest
//      tempo of the file.
//   4. Its parts' registers come within lean_span of one another.
// What the next chord will be ("R", "R~") is not known here, so these are not measured.
#pragma once

#include <algorithm>
#include <array>
#include <cstdlib>
#include <optional>
#include <string>

#include "dsp/hand_leap.h"
#include "dsp/idiom_draft.h"
#include "dsp/idiom_steps.h"

namespace seguente {
namespace leanHand {

inline constexpr int fingers = 5;
using handLeap::octave, handLeap::tenth, handLeap::secondsForOverOctave, handLeap::secondsForOverTenth;

struct Grip {
  int low = 1000, high = -1000, notes = 0;
  void add(int semitones) {
    low = std::min(low, semitones);
    high = std::max(high, semitones);
    ++notes;
  }
  void add(const Grip& other) {
    if (other.notes == 0) return;
    low = std::min(low, other.low);
    high = std::max(high, other.high);
    notes += other.notes;
  }
};

inline int semitonesOf(Degree degree) {
  constexpr std::array<int, 7> major{0, 2, 4, 5, 7, 9, 11};
  const int step = degree.number - 1;
  return major[static_cast<std::size_t>(step % 7)] + octave * (step / 7) + degree.alteration;
}

inline Grip gripOf(const Play& play) {
  Grip grip;
  const auto add = [&](std::initializer_list<int> notes) {
    for (const int n : notes) grip.add(n);
  };
  switch (play.kind) {
    case PlayKind::degrees:
      for (std::size_t i = 0; i < play.count; ++i) grip.add(semitonesOf(play.degrees[i]));
      break;
    case PlayKind::upper:
    case PlayKind::heldUpper:
      add({4, 7});
      break;
    case PlayKind::heldAll:
      add({0, 4, 7});
      break;
    case PlayKind::heldLowest:
      add({0});
      break;
    case PlayKind::heldTop:
      add({7});
      break;
    case PlayKind::heldNth:
      add({play.nth == 1 ? 0 : play.nth == 2 ? 4 : 7});
      break;
    case PlayKind::nextBass:
    case PlayKind::approach:
    case PlayKind::percussion:
    case PlayKind::line:
      break;
  }
  return grip;
}

inline bool soundsAt(const Step& step, Ticks at, Ticks figureLength) {
  const auto within = [&](Ticks t) { return step.at <= t && t < step.at + step.length; };
  return within(at) || within(at + figureLength);  // the second: still ringing from the round before
}

class Rule {
 public:
  Rule(IdiomDraft& draft, const std::vector<PlacedStep>& steps, Ticks length)
      : draft_(draft), steps_(steps), length_(length) {}

  void check() {
    std::optional<Ticks> before;
    Grip gripBefore;
    for (const auto& [step, place] : steps_) {
      if (before && *before == step.at) continue;  // one stroke a time; steps are sorted
      const auto struck = struckAt(step.at);
      checkGrip(step.at, place);
      if (struck.notes == 0) continue;
      if (before) checkLeap(gripBefore, struck, step.at - *before, place);
      before = step.at;
      gripBefore = struck;
    }
    checkRegisters();
  }

 private:
  Grip struckAt(Ticks at) const {
    Grip grip;
    for (const auto& s : steps_)
      if (s.step.at == at) grip.add(gripOf(s.step.play));
    return grip;
  }

  void checkGrip(Ticks at, Place place) {
    Grip grip;
    for (const auto& s : steps_)
      if (s.step.condition != Condition::noMajorThirdOrNoRoom && soundsAt(s.step, at, length_))
        grip.add(gripOf(s.step.play));
    if (grip.notes == 0) return;
    if (grip.high - grip.low > draft_.idiom.leanSpan)
      draft_.check.fault(place, std::to_string(grip.high - grip.low) + " semitones sounding together",
                         "a lean figure that one hand can play: at most " + std::to_string(draft_.idiom.leanSpan));
    if (grip.notes > fingers)
      draft_.check.fault(place, std::to_string(grip.notes) + " notes sounding together",
                         "a lean figure that one hand can play: at most " + std::to_string(fingers) + " fingers");
  }

  void checkLeap(const Grip& from, const Grip& to, Ticks time, Place place) {
    const int leap = std::min(std::abs(to.low - from.low), std::abs(to.high - from.high));
    const double seconds =
        static_cast<double>(time.value) / static_cast<double>(quarter.value) * 60.0 / draft_.idiom.tempoHigh;
    const double needed = leap > tenth ? secondsForOverTenth : leap > octave ? secondsForOverOctave : 0.0;
    if (seconds >= needed) return;
    draft_.check.fault(place,
                       "a leap of " + std::to_string(leap) + " semitones in " +
                           std::to_string(static_cast<int>(seconds * 1000.0)) + " ms at the fastest tempo",
                       "a lean figure that one hand can play: at least " +
                           std::to_string(static_cast<int>(needed * 1000.0)) + " ms for such a leap");
  }

  void checkRegisters() {
    for (const auto& a : steps_)
      for (const auto& b : steps_) {
        if (gripOf(a.step.play).notes == 0 || gripOf(b.step.play).notes == 0) continue;
        const auto& lower = draft_.idiom.parts[a.step.part];
        const auto& upper = draft_.idiom.parts[b.step.part];
        if (upper.low.value - lower.high.value <= draft_.idiom.leanSpan) continue;
        draft_.check.fault(b.place,
                           "registers of " + quotedText(lower.name) + " and " + quotedText(upper.name) + " " +
                               std::to_string(upper.low.value - lower.high.value) + " semitones apart",
                           "a lean figure that one hand can play: at most " + std::to_string(draft_.idiom.leanSpan));
        return;
      }
  }

  IdiomDraft& draft_;
  const std::vector<PlacedStep>& steps_;
  Ticks length_;
};

}  // namespace leanHand

/// Can one left hand play this figure? Faults name the row. [message]
inline void checkLeanHand(IdiomDraft& draft, const std::vector<PlacedStep>& steps, Ticks figureLength) {
  leanHand::Rule(draft, steps, figureLength).check();
}

}  // namespace seguente
