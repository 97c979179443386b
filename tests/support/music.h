// Says what came out in a musician's words: bars, beats and note names; and where two runs part company.
#pragma once

#include <string>
#include <vector>

#include "tests/support/harness.h"

namespace seguente::test {

/// "bar 3, beat 2 1/3": where a tick lies in a stretch of the score; beats are the meter's, counted from 1. [any]
std::string place(Ticks tick, const Stretch& stretch);
/// The stretch that runs at a sample.
const Stretch& stretchAt(const Score& score, Samples sample);
/// "2 1/3"; other denominators than a musician's come as decimals.
std::string fractionText(Ticks amount, Ticks unit);
/// "7/2", as figures.json counts.
std::string quartersText(Ticks amount);

/// "bar 3, beat 2 1/3: bass C2 expected, nothing came"; "" when the runs are the same.
std::string firstDifference(const Rendering& expected, const Rendering& came, const Score& score);

/// Which notes of ours to look at. [any]
enum class Names { withOctave, pitchClasses };

/// Our attacks from a place until before another, beats counted in quarters from `from`, as a musician would say them:
/// "0:C2 1:E3+G3 5/2:E3+G3". Low to high; several parts together. part: -1 for all.
std::string attacks(const Rendering& r, Ticks from, Ticks to, Names names = Names::pitchClasses, int part = -1);

/// Our note-ons, in order.
std::vector<Event> strikes(const Rendering& r);
/// The sample at which the note ends; `never` when it does not.
Samples endOf(const Rendering& r, std::uint32_t noteId);

/// One line an event of ours: bar and beat, part, key, length, velocity, why. For the golden arrangement.
std::string arrangement(const Rendering& r, const Score& score, const Idiom& idiom);

}  // namespace seguente::test
