// The beat of a take that was played to no click: from the figure's own coming round.
//
// What repeats in an accompaniment is known to the note, so the round is found by its keys (self-similarity; idea:
// Foote & Cooper 2001), and the beat as the plainest division of the round: a tempo near the usual (about 105 to the
// minute: Parncutt 1994; van Noorden & Moelants 1999, from memory), a meter that is usual, a grid that fits.
#pragma once

#include <optional>
#include <vector>

#include "dsp/notate/take.h"

namespace seguente::notate {

/// What was found. notes: the take's, moved so that every round is as long as any other and the first stroke lies at 0.
struct Pace {
  Meter meter{};
  double quarterSeconds = 0;
  std::vector<TakenNote> notes;
};

/// errors: nullopt when nothing comes round. [message]
std::optional<Pace> findPace(const std::vector<TakenNote>& notes, const Wishes& wishes,
                             const std::optional<Meter>& fromFile);

}  // namespace seguente::notate
