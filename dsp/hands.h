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
  /// The verdict that the note-on got; an orphan passes. A key struck twice before it is let go is up with its last
  /// note-off: `stillDown` is true until then.
  Verdict noteOff(const MidiMessage& message, bool& stillDown) noexcept;
  /// Keys of the tune that are down, on any channel.
  const KeySet& melodyHeld() const noexcept { return melodyHeld_; }

 private:
  std::array<std::array<std::uint8_t, limits::keys>, limits::channels> taken_{};  // note-ons not yet let go of
  KeySet melodyHeld_{};
};

}  // namespace seguente
