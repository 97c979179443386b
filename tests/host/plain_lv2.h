// An LV2 host of few words, for what JUCE's own never does: positions without time:beat, sent only when something
// changes, in the middle of a block, in other number types; more notes than a port has room for.
#pragma once

#include <cstdint>
#include <memory>
#include <optional>
#include <string>
#include <vector>

#include "tests/host/piece.h"

namespace seguente::host {

/// What a host puts into one time:Position; what is empty is left out. In the plugin standard's own units: beats are
/// the meter's. https://lv2plug.in/ns/ext/time
struct SaidPosition {
  std::int64_t offset = 0;  // in the block
  std::optional<std::int64_t> frame, bar;
  std::optional<float> barBeat, beatsPerBar, beatsPerMinute, speed;
  std::optional<double> beat;
  std::optional<std::int32_t> beatUnit;
};

/// One instance of the built LV2. [message], and process calls alike.
class PlainLv2 {
 public:
  explicit PlainLv2(double rate = 48000, std::int32_t largest = 8192, std::uint32_t outputBytes = 1u << 16);
  ~PlainLv2();
  PlainLv2(const PlainLv2&) = delete;
  PlainLv2& operator=(const PlainLv2&) = delete;

  /// For the next block, in the order in which they are given.
  void position(const SaidPosition& said);
  void midi(std::int64_t offset, const std::vector<std::uint8_t>& bytes);
  void enable(bool on) { enabled_ = on ? 1.0f : 0.0f; }
  /// A parameter, by its id in the table.
  void set(const std::string& id, float plain);
  /// A block. What came out is appended to heard().
  void run(std::int64_t samples);
  const std::vector<Heard>& heard() const { return heard_; }
  /// Of a plugin with audio: each block's left side, then its right.
  const std::vector<float>& sound() const { return sound_; }
  float latency() const { return latency_; }

  /// The one property that the plugin stores, as text; and back.
  std::string state();
  bool restore(const std::string& text);

 private:
  struct Body;
  std::unique_ptr<Body> body_;
  std::vector<Heard> heard_;
  std::vector<float> sound_;
  std::int64_t now_ = 0;
  float latency_ = -1, freeWheeling_ = 0, enabled_ = 1;
};

}  // namespace seguente::host
