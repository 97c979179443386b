// The one class that calls hands, gather, harmony, clock, player, voicing and ledger in their order.
// It has no music in it. Plugin, standalone and command line run this same class.
#pragma once

#include <memory>
#include <span>

#include "dsp/input.h"
#include "dsp/output.h"

namespace seguente {

struct EngineParts;  // engine_parts.h: the nine parts, as one block of memory

/// Where the music stands, for whoever shows it: as the clock has it, whoever gives the time. [any]
struct EngineTime {
  Ticks tick{};
  Ticks barStart{};  // the bar line at or before it
  Meter meter{};
  double quartersPerMinute = 120;
  bool playing = false;
};

/// A round that is kept going: where it begins again, and how long it is. [any]
struct RoundNow {
  bool kept = false;
  Ticks beginsAgain{}, length{};
};

/// The chord that is expected after the present one, and where: as Foresight knows it. [any]
struct NextChord {
  bool known = false;
  Chord chord{};
  Ticks at{};
};

class Engine {
 public:
  Engine();
  ~Engine();
  Engine(const Engine&) = delete;
  Engine& operator=(const Engine&) = delete;

  /// Takes all memory and starts at sample 0 with nothing held. rate: 8,000..768,000 Hz. [message]
  void prepare(double rate);

  /// Runs from where the last call ended up to `until` (exclusive). The split of a stream into calls changes nothing.
  /// inputs: in order of sample; one stamped before now counts as now, one at or after `until` as the last moment.
  /// until <= now with no inputs does nothing. [audio] noexcept, no allocation, no lock, bounded.
  void process(std::span<const Input> inputs, Samples until, const Sink& sink) noexcept;

  /// Ends every note of ours now and closes every passed note that is open. [audio]
  void silence(const Sink& sink) noexcept;

  Samples now() const noexcept;
  /// As of now. [audio]
  EngineTime time() const noexcept;
  RoundNow round() const noexcept;
  /// Nothing while time stands or nobody knows. Bounded, for a picture now and then. [audio]
  NextChord nextChord() const noexcept;
  /// The figure rests on its chord (hold, fermata) until the player goes on. [audio]
  bool holding() const noexcept;
  /// The generation of the newest idiom that the player has let go of: see handoff.h. [audio]
  std::uint32_t releasedGeneration() const noexcept;

 private:
  std::unique_ptr<EngineParts> parts_;
};

}  // namespace seguente
