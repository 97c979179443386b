// What a meter means on paper: how strong each place of a bar is, which values may be written where, what is beamed.
// Rules: common notation textbooks, from memory; where they differ, said beside the rule.
#pragma once

#include <optional>
#include <vector>

#include "dsp/time.h"
#include "plugin/page/score.h"

namespace seguente::page {

inline constexpr Ticks shortest{quarter.value / 8};  // a thirty-second
inline constexpr Ticks third{quarter.value / 3};     // an eighth of a triplet
inline constexpr Ticks shortestThird{quarter.value / 6};

/// The felt beat: a quarter, in compound meters three of the lower figure, in n/2 a half. [any]
Ticks feltBeat(Meter meter);
/// Where beats that differ in length begin (5/8, 7/8: from memory 3+2 and 2+2+3), else every felt beat. From 0 on,
/// the bar's end last. [any]
std::vector<Ticks> beatStarts(Meter meter, Ticks length);

/// How strong a place of the bar is, as the length of what it begins: the bar, its half, a beat, ... [any]
Ticks weightAt(Ticks place, Meter meter, Ticks length);

/// The single value that may stand from a to b without hiding the beat; none when it must be cut and tied. Both are
/// places of the bar on the grid of thirty-seconds. [any]
std::optional<Value> noteValue(Ticks a, Ticks b, Meter meter, Ticks length);
/// The same for a rest: rests show the beats more strictly. [any]
std::optional<Value> restValue(Ticks a, Ticks b, Meter meter, Ticks length);
/// Where to cut what has no single value. a < result < b. [any]
Ticks cutOf(Ticks a, Ticks b, Meter meter, Ticks length);

/// Fills `beam` of each event: by beats; pairs of plain eighths go on to the next beat within a bar of 2/4 or 3/4 and
/// within half a bar of 4/4. [any]
void beam(Voice& voice, Meter meter, Ticks length);

}  // namespace seguente::page
