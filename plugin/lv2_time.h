// What LV2 hosts say of time (time:Position), in quarters, and carried on between their words. Knows no plugin format:
// lv2_shim.cpp reads the atoms.
//
// The specification counts everything in beats, and a beat is 1/time:beatUnit of a whole note; time:beat is a running
// count, time:barBeat the place in the bar. Hosts differ, and where a beat is no quarter (6/8, 2/2) that matters. Seen:
//   beats     by the specification
//   quarters  whatever the unit: our framework's own host, which also sends time:beat
//   mixed     whole beats, and what is over in quarters: a sequencer that was tried, so 6/8 goes 0 .. 0.49, 1 .. 1.49
// Which it is shows at the next beat or bar line; until then a host that sends time:beat is taken to count quarters,
// any other to mix. The tempo is counted in notes that the host does not name: it is the power of two of
// time:beatsPerMinute that the place moves at. Places are cut off to 1/1920 of a beat, and some hosts speak on change
// alone.
#pragma once

#include <cstdint>
#include <optional>

namespace seguente {

/// One time:Position as it came; what is not in it is empty. [audio]
struct Lv2Position {
  std::optional<double> frame, speed, bar, barBeat, beat, beatUnit, beatsPerBar, beatsPerMinute;
  bool ownKeys = false;  // keys that the specification does not have
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
  enum class Counts : std::uint8_t { unknown, beats, quarters, mixed };
  Counts counting(bool sendsBeat) const noexcept;
  bool learnCounts(const Lv2Position& said) noexcept;
  void learnTempo(const Lv2Position& said) noexcept;
  double inBar(double barBeat, Counts counts, bool goesOn) const noexcept;
  double steppedOnBeat(double ran) const noexcept;
  void hearPlace(const Lv2Position& said, bool goesOn) noexcept;
  double barLength() const noexcept { return static_cast<double>(place_.beatsPerBar) * 4 / place_.beatUnit; }
  double quartersPerBeat() const noexcept { return 4.0 / place_.beatUnit; }

  double rate_ = 48000;
  bool known_ = false;
  Lv2Place place_;
  double frame_ = 0;   // as place_.frame, with its fraction at odd speeds
  double inBar_ = 0;   // quarters from the bar line, for counting bars on
  double shift_ = 0;   // added to the host's time:beat so that its bar lines lie on multiples of the bar
  double minute_ = 0;  // time:beatsPerMinute as it came; 0: never
  bool ownKeys_ = false;
  Counts counts_ = Counts::unknown;
  double factor_ = 0;  // quarters a minute for each of time:beatsPerMinute; 0: not measured
  double measuredSamples_ = 0, measuredCount_ = 0;
  double tempoBefore_ = 0, inBarBefore_ = 0, factorBefore_ = 1;  // with the last word
  Lv2Position last_;                                             // as it came
  double sinceLast_ = 0;                                         // samples
};

}  // namespace seguente
