// A judge of hands of another kind, to measure against: hand-written rules over running hand positions, reach and held
// notes (after Kilian & Hoos 2002 and Hadjakos et al. 2019, who describe such baselines). Decides at the note-on.
#pragma once

#include "tests/performances/two_hands.h"

namespace seguente::test {

std::vector<Hand> handsByRules(const TwoHands& played);

}  // namespace seguente::test
