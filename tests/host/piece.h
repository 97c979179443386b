// A piece of playing in a host: what the hands do, where the host's transport is, which parameters move, and when.
// Rendered by the engine alone it is what must be heard; performed by a host through the plugin it is what is heard.
#pragma once

#include <array>
#include <cstdint>
#include <string>
#include <string_view>
#include <vector>

#include "plugin/parameters.h"
#include "tests/support/harness.h"
#include "tests/support/music.h"
#include "tests/support/score.h"

namespace seguente::host {

/// A message that came out, at its sample from the first block's first. [any]
struct Heard {
  std::int64_t sample = 0;
  std::vector<std::uint8_t> bytes;
  friend bool operator==(const Heard&, const Heard&) = default;
};

/// A parameter set to a plain value, at the top of the block that begins there. [any]
struct Change {
  std::int64_t sample = 0;
  ParameterId which{};
  double plain = 0;
};

/// Where the host says that it is at a sample. [any]
struct Place {
  double quarters = 0;
  double quartersPerMinute = 120;
  Meter meter{};
  double barStart = 0;
  std::int64_t bar = 0;
  bool playing = true;
};

/// Notes, transport and parameters of one performance, in samples from its start. [message]
class Piece {
 public:
  /// The host rolls from the first sample, its zero; a bar of this meter begins at barStart.
  explicit Piece(double rate = 48000, Meter meter = {4, 4}, double quartersPerMinute = 120, Ticks barStart = {});

  test::Score& score() { return score_; }
  const test::Score& score() const { return score_; }
  /// The parameter as the musician sets it.
  Piece& set(ParameterId which, double plain, Samples at = {});
  /// An idiom that is shipped, by its id: the parameter is set to its slot.
  Piece& choose(std::string_view idiom, Samples at = {});
  Piece& endsAt(Ticks tick) { return endsAt(score_.sampleOf(tick)); }
  Piece& endsAt(Samples end) {
    end_ = end;
    return *this;
  }

  Samples end() const { return end_; }
  const std::vector<Change>& changes() const { return changes_; }
  /// The stream as the engine is to get it: at one sample time first, then what is set, then what is played.
  std::vector<Input> inputs() const;
  Place placeAt(std::int64_t sample) const;
  /// Where something other than a note happens: hosts that split their blocks do it here.
  std::vector<std::int64_t> cuts() const;

 private:
  void tellSettings(Samples at);
  test::Score score_;
  std::array<double, parameterCount> values_{};
  const Idiom* idiom_ = nullptr;
  std::vector<Change> changes_;
  Samples end_{};
};

/// The slot of a shipped idiom, by patterns/slots.txt. [message]
int slotOf(std::string_view idiom);

/// What must be heard: the engine alone, in one call. [message]
std::vector<Heard> byEngine(const Piece& piece);
/// Of any stream, as the engine alone plays it. [message]
std::vector<Heard> byEngine(const std::vector<Input>& inputs, double rate, Samples end);

/// "" or the first place where two performances part, with what stands about it. [message]
std::string firstDifference(const std::vector<Heard>& expected, const std::vector<Heard>& came);
/// "90 3C 50 at 24000". [any]
std::string textOf(const Heard& heard);
/// Note-ons (with a velocity) in order. [any]
std::vector<Heard> noteOns(const std::vector<Heard>& heard);
/// Keys that were struck and not let go, "" when none: of all channels, whoever struck them. A key struck twice and let
/// go once is up, and so is one whose channel was told to end all notes. [any]
std::string stillSounding(const std::vector<Heard>& heard);

}  // namespace seguente::host
