// A playing whose tempo was followed, told in the bars that were heard: the map from samples to the written file's
// ticks goes through every beat as it was followed, and every event is placed by it, so that all sounds when it
// sounded.
#pragma once

#include "plugin/commandline/performance.h"
#include "plugin/commandline/render.h"

namespace seguente {

/// Moves a performance and its rendering to the followed beats: the file's events, chords, hands and notes of ours; the
/// tempo map and the meters as `performance.timeline` and `performance.time`. Without any beat nothing changes. asked:
/// the idiom, for the meter that was guessed; may be null. [message]
void takeFollowedTime(Performance& performance, Rendering& rendering, const Idiom* asked, std::int64_t rate);

}  // namespace seguente
