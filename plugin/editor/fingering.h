// Which finger of the left hand plays which key of a figure: the cheapest way through it by a published model.
//
// Parncutt, R., Sloboda, J. A., Clarke, E. F., Raekallio, M. & Desain, P. (1997): An ergonomic model of keyboard
// fingering for melodic fragments. Music Perception 14(4), 341-382. Its table of spans and its rules of stretch, small
// and large span, three to four, thumb on black and thumb passing (table and weights from memory). Its rule of weak
// fingers is left out: made for a right hand's melodies, it would keep the little finger off a left hand's lowest key,
// where common practice has it. For chords the spans are asked of every two neighbours, and a figure that is played
// round is taken twice.
#pragma once

#include <vector>

#include "dsp/pitch.h"
#include "dsp/time.h"

namespace seguente::screen {

/// What is struck together. keys: from the bottom; fingers: as many, 5 the little finger, 1 the thumb; empty when one
/// hand cannot.
struct Grip {
  Ticks at{};
  std::vector<NoteNumber> keys;
  std::vector<int> fingers;
};

/// Fills in the fingers. span: semitones that this hand reaches. [any]
void finger(std::vector<Grip>& grips, int span);

/// What two fingers of one hand cost at this distance, semitones upwards from the first to the second as a right hand
/// counts them. [any]
int spanCost(int from, int to, int semitones);

}  // namespace seguente::screen
