// Says of each note, at its note-on, whether it is melody (pass), chord (take), or melody that may yet be withdrawn
// (lend). A note-off goes where its note-on went, whatever has been set in between. The rules are a fixed key,
// channels, or listening (dsp/hand_judge.h); every verdict is a revisable fact.
#pragma once

#include <array>

#include "dsp/hand_judge.h"
#include "dsp/input.h"
#include "dsp/output.h"

namespace seguente {

struct HandJudgement {
  Verdict verdict = Verdict::pass;
  Hand hand = Hand::melody;
  HandReason reason = HandReason::aboveSplit;
  bool ours = false;  // false: neither hand (percussion, a channel nobody reads); passes without being heard
  // By listening, a key may be struck again by the other hand though no note-off has come (a host that loops swallows
  // them): the tune's note is to be closed, or the chord's key is up.
  bool leavesTune = false, leavesChord = false;
};

/// [audio] throughout; no errors.
class Hands {
 public:
  void reset() noexcept { *this = Hands{}; }
  /// All note messages of one moment, before the first is judged (by listening alone): none is at a disadvantage by its
  /// place in the cable. at, now: the moment in samples and tenths; window: how long a verdict may be changed.
  /// Returns whether any note landed.
  bool foresee(std::span<const Input> moment, const Settings& settings, const HandContext& context, Samples at,
               Tenths now, Samples window) noexcept;
  HandJudgement noteOn(const MidiMessage& message, const Settings& settings) noexcept;
  /// The fact that told of the newest note on that key, so that a change of mind can name it.
  void toldAs(const MidiMessage& message, std::uint32_t id) noexcept;
  /// The verdict that the note-on got; an orphan passes. A key struck twice is up with its first
  /// note-off: a host that loops strikes again without letting go, and nothing may hang.
  Verdict noteOff(const MidiMessage& message) noexcept;
  /// A sustain pedal moves: while it is down nothing is lent on that channel.
  void pedal(std::size_t channel, bool down) noexcept;

  /// Whether lookAgain will need its context now: it is not free to come by.
  bool asksAgain(Samples at) const noexcept { return judge_.asksAgain(at); }
  /// Verdicts that are changed now. The keys have changed hands already when this returns.
  std::span<const HandRevision> lookAgain(Samples at, Tenths now, const HandContext& context) noexcept;
  /// The next moment at which lookAgain must be called even if nothing lands.
  Samples deadline() const noexcept { return judge_.nextEnd(); }

  /// Keys of the tune that are down, on any channel.
  const KeySet& melodyHeld() const noexcept { return melodyHeld_; }
  /// Keys of the chord hand that are down on a channel (0..15).
  const KeySet& taken(std::size_t channel) const noexcept { return taken_[channel]; }

 private:
  HandJudgement listened(const MidiMessage& message) noexcept;
  void tuneUp(std::size_t channel, NoteNumber note) noexcept;
  void tuneDown(std::size_t channel, NoteNumber note) noexcept;

  std::array<KeySet, limits::channels> taken_{};
  std::array<KeySet, limits::channels> tune_{};
  KeySet melodyHeld_{};
  HandJudge judge_{};
  std::uint16_t pedals_ = 0;  // bit a channel
  bool listens_ = false;
};

}  // namespace seguente
