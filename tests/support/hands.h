// Random hands and random transports: what people, hosts and broken cables do, from a seed.
#pragma once

#include "tests/support/random.h"
#include "tests/support/score.h"

namespace seguente::test {

/// What may happen in a performance. [any]
struct HandsOptions {
  double rate = 48000;
  double seconds = 10;
  bool transport = true;     // jumps, stops, tempo and meter changes
  bool otherIdioms = true;   // the idiom, density and swing change while it goes on
  bool tuneChannel = false;  // the accompaniment goes out on the tune's own channel
  bool twoChannels = false;  // the chord hand plays on channel 2, told apart by channel
  bool listening = false;    // hands are told apart by listening
  bool rubbish = false;      // orphan note-offs, keys struck twice, NaN tempi, positions that run backwards
};

/// A stream, what was set in it, and where it ends. The rule of the hands stays as `settings` says. [any]
struct Performance {
  Score score;
  Settings settings;
  Samples end{};
};

/// Chords struck as fingers land (0-60 ms apart, REFERENCES section 6: 99 % of left-hand chords), early and late, with
/// gaps and overlaps; a tune over them; signals, pedals and a transport that nobody would want. [message]
Performance randomHands(std::uint64_t seed, const HandsOptions& options);

}  // namespace seguente::test
