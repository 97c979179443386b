// Says of each note, at its note-on, whether it is melody (pass) or chord (take). A note-off goes where its note-on
// went, whatever has been set in between. Today's rules are a fixed key or channels; every verdict is a revisable fact.
#pragma once

#include <array>

#include "dsp/input.h"
#include "dsp/output.h"

namespace seguente {

struct HandJudgement {
  Verdict verdict = Verdict::pass;
  Hand hand = Hand::melody;
  HandReason reason = HandReason::aboveSplit;
  bool ours = false;  // false: neither hand (percussion, a channel nobody reads); passes without being heard
};

/// [audio] throughout; no errors.
class Hands {
 public:
  void reset() noexcept { *this = Hands{}; }
  HandJudgement noteOn(const MidiMessage& message, const Settings& settings) noexcept;
  /// The verdict that the note-on got; an orphan passes. A key struck twice is up with its first
  /// note-off: a host that loops strikes again without letting go, and nothing may hang.
  Verdict noteOff(const MidiMessage& message) noexcept;
  /// Keys of the tune that are down, on any channel.
  const KeySet& melodyHeld() const noexcept { return melodyHeld_; }
  /// Keys of the chord hand that are down on a channel (0..15).
  const KeySet& taken(std::size_t channel) const noexcept { return taken_[channel]; }

 private:
  std::array<KeySet, limits::channels> taken_{};
  KeySet melodyHeld_{};
};

}  // namespace seguente
