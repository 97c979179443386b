// What LV2 hosts say of time (time:Position), in quarters, and carried on between their words. Knows no plugin format:
// lv2_shim.cpp reads the atoms.
//
// The specification counts everything in beats, and a beat is 1/time:beatUnit of a whole note; time:beat is a running
// count, time:barBeat the place in the bar. Hosts differ: most send only bar and barBeat (cut off to 1/1920 of a beat),
// some only on change, some count quarters whatever the unit. Which it is shows at the bar line and in how fast the
// place moves; until then a host that sends time:beat is taken to count quarters, as the wrapper that we are built with
// reads it, any other as the specification says.
#pragma once

#include <cstdint>
#include <optional>

namespace seguente {

/// One time:Position as it came; what is not in it is empty. [audio]
struct Lv2Position {
  std::optional<double> frame, speed, bar, barBeat, beat, beatUnit, beatsPerBar, beatsPerMinute;
};

/// Where the host is; empty where it has never said. [audio]
struct Lv2Place {
  std::int64_t frame = 0;
  double speed = 0;  // 0: stopped
  std::optional<double> quarters;
  std::optional<double> quartersPerMinute;
  std::optional<std::int64_t> bar;
  float beatsPerBar = 4;
  std::int32_t beatUnit = 4;
  bool meterKnown = false;
};

/// [audio] throughout; no errors: what cannot be right is taken as not said.
class Lv2Time {
 public:
  void prepare(double rate) noexcept;
  /// The host's word about this very sample.
  void hear(const Lv2Position& said) noexcept;
  /// So many samples go by.
  void advance(std::int64_t samples) noexcept;
  /// Nothing until the first word.
  std::optional<Lv2Place> now() const noexcept;

 private:
  enum class Counts : std::uint8_t { unknown, beats, quarters };
  void learn(const Lv2Position& said, bool goesOn) noexcept;
  void hearPlace(const Lv2Position& said, bool goesOn) noexcept;
  double quartersPerCount(bool sendsBeat) const noexcept;

  double rate_ = 48000;
  bool known_ = false;
  Lv2Place place_;
  double frame_ = 0;                 // as place_.frame, with its fraction at odd speeds
  double inBar_ = 0;                 // quarters from the bar line, for counting bars on
  double shift_ = 0;                 // added to the host's time:beat so that its bar lines lie on multiples of the bar
  double minute_ = 0;                // time:beatsPerMinute as it came; 0: never
  Counts counts_ = Counts::unknown;  // barBeat and beat
  Counts tempo_ = Counts::unknown;   // beatsPerMinute
  Lv2Position last_;                 // as it came
  double sinceLast_ = 0;             // samples
};

}  // namespace seguente
