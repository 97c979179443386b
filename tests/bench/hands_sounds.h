// What a listener hears of a performance: how long after it was due, and could be known, each chord was struck, and
// every wrong sound that lasts.
#pragma once

#include <array>
#include <cstdint>
#include <vector>

#include "dsp/output.h"
#include "tests/performances/two_hands.h"

namespace seguente::test {

/// A note that sounded: ours, or one that passed. Seconds. [any]
struct Sounded {
  double from = 0, to = 1e9;
  double due = 0;  // ours: the step's own moment
  int key = 0;
  std::uint32_t chordId = 0;
};

/// Delays from max(the step's moment, the chord's last finger) to the strike; and wrong sounds of more than 20 and 40
/// ms:
///   leaked: a key of the chord hand that sounds in the tune;
///   mis-struck: a key that we strike under a chord to which it does not belong;
///   re-struck: a key that we strike late and had struck already, within a quarter of a second; so long it sounded.
struct SoundTally {
  enum Kind { leaked, misStruck, reStruck, kinds };
  static constexpr std::array<const char*, kinds> names = {"leaked", "mis-struck", "re-struck"};
  std::vector<double> delays;  // seconds
  std::array<std::array<int, 2>, kinds> wrong{};
  /// Those of the performance added last.
  struct Wrong {
    Kind kind = leaked;
    double at = 0, seconds = 0;
    int key = 0;
  };
  std::vector<Wrong> last;
  int chords = 0;

  /// passed: by note of the performance; to < from where it did not sound.
  void add(const TwoHands& played, const std::vector<Sounded>& ours, const std::vector<Sounded>& passed);
  double delayAt(double share) const;  // milliseconds
  double perHundred(int kind, int longer) const;
};

}  // namespace seguente::test
