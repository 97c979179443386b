// The computer's own keys as an instrument: a letter from A to G holds the chord of that name as it stands in C major,
// with Shift the one of the other mode; the figures 1 to 8 play the scale above, 9 and 0 go on.
#pragma once

#include <array>
#include <cstdint>
#include <functional>
#include <optional>
#include <span>
#include <vector>

#include "dsp/pitch.h"

namespace seguente::home {

/// The keys of a chord, all below middle C so that the hands are clear; common practice, no source. Empty for any other
/// letter. [any]
std::span<const NoteNumber> chordOf(char letter, bool otherMode);
/// "C", "Dm", "G7": what that chord is called.
const char* chordName(char letter, bool otherMode);
/// '1' to '9' and '0': C4 to E5.
std::optional<NoteNumber> tuneKeyOf(char figure);

/// All [message]. Keys that repeat are struck once; of several letters the last one holds, and an earlier one comes
/// back when it is let go.
class ComputerKeys {
 public:
  using Play = std::function<void(NoteNumber, bool down)>;
  explicit ComputerKeys(Play play) : play_(std::move(play)) {}

  /// 'A' to 'G' or '0' to '9'; anything else is not ours (false).
  bool down(char key, bool shift);
  /// Each key that is down and of which `isDown` says no is let go.
  void letGoUnless(const std::function<bool(char)>& isDown);
  void letGoAll();
  bool any() const { return !letters_.empty() || !figures_.empty(); }

 private:
  struct Letter {
    char name;
    bool otherMode;
  };
  void hold(const Letter* chord);

  Play play_;
  std::vector<Letter> letters_;  // down, in the order in which they were pressed
  std::vector<char> figures_;
  std::vector<NoteNumber> sounding_;  // of the chord that is held
};

}  // namespace seguente::home
