// The one way to run the engine in a test: a stamped stream goes in, cut into blocks of any sizes; what comes out is
// kept.
#pragma once

#include <optional>
#include <string>
#include <vector>

#include "dsp/engine.h"
#include "tests/support/score.h"

namespace seguente::test {

/// One message that came out; inputIndex counts in the whole stream, not in the call. [any]
struct Event {
  Samples sample{};
  OutputKind kind = OutputKind::passed;
  std::uint32_t inputIndex = 0;
  std::array<std::uint8_t, 3> bytes{};
  std::uint32_t noteId = 0;
  NoteReason reason{};  // of a note-on of ours
  Ticks tick{};
  int channel() const { return bytes[0] & 0x0F; }
  NoteNumber note() const { return {bytes[1]}; }
};
bool operator==(const Event& a, const Event& b);

/// A fact, with the best reading alone. [any]
struct HeardFact {
  Fact fact{};  // readings is null: they died with the call
  std::optional<Chord> chord;
  bool complete = false;
};
bool operator==(const HeardFact& a, const HeardFact& b);

/// All that came out of one run. [any]
struct Rendering {
  std::vector<Event> events;
  std::vector<HeardFact> facts;
  int violations = 0;       // allocations and locks inside the engine
  bool overflowed = false;  // the harness's own room was too small: the test must fail
};

/// The sizes of calls, taken in turn, over and over; with a seed, in random order. Empty: everything in one call.
struct Blocks {
  std::vector<std::int64_t> sizes;
  std::optional<std::uint64_t> seed;
  std::string text() const;
};

/// Runs a fresh engine to `end`. silenceAtEnd: then tells it to end every note. [message]
Rendering renderInBlocks(const std::vector<Input>& inputs, const Blocks& blocks, double rate, Samples end,
                         bool silenceAtEnd = true);

/// Whole, to a place of the score.
Rendering render(const Score& score, Ticks end, const Blocks& blocks = {});

}  // namespace seguente::test
