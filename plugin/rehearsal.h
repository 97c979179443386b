// What an idiom would make of a chord: an engine of its own plays it, off the audio thread, and tells it as a page is
// told. "How it is made" and what is due next on the page and on the keyboard are read from it.
#pragma once

#include <span>
#include <vector>

#include "dsp/chord.h"
#include "dsp/input.h"
#include "plugin/page/told.h"
#include "plugin/page/writer.h"

namespace seguente {

struct RehearsalTask {
  const Idiom* idiom = nullptr;  // who plays is its member for this meter
  Settings settings;
  Meter meter{};
  Key key{};
  /// The keys held, one chord after another, each but the last for a bar: how a chord is voiced depends on those
  /// before.
  std::vector<KeySet> chords;
  int bars = 4;  // of the last chord
};

struct Rehearsal {
  std::vector<page::Told> told;  // from the last chord on, which begins at tick 0
  Ticks length{};
};

/// The tune is taken to be under way, far above. Empty when nobody plays or nothing is held. [message]
Rehearsal rehearse(const RehearsalTask& task);

/// What follows `last` in a rehearsal of its chord, moved to its place: up to `until`. Empty when the rehearsal does
/// not know it. [message]
std::vector<page::Foreseen> after(const Rehearsal& rehearsal, const NoteReason& last, Ticks until);

}  // namespace seguente
