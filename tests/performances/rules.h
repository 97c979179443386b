// Judges of hands of two other kinds, to measure against: hand-written rules over running hand positions, reach and
// held notes (after Kilian & Hoos 2002 and Hadjakos et al. 2019, who describe such baselines), and a beam search over
// whole assignments by the costs of those rules (in the spirit of the two chains of Nakamura et al. 2014): what a later
// note shows of an earlier one is believed. Both decide at the note-on.
#pragma once

#include "tests/performances/two_hands.h"

namespace seguente::test {

/// width: how many beliefs are kept; one is the rules alone.
std::vector<Hand> handsByRules(const TwoHands& played, std::size_t width = 1);

}  // namespace seguente::test
