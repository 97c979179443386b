// Which grid a figure was felt on: straight halves, triplets, quarters of the beat, or long and short.
//
// Each grid explains the onsets with some error and costs something to say; the cheapest is taken. Ideas: a prior for
// the plainer place and a normal error in playing (Cemgil, Desain & Kappen, Rhythm quantization for transcription,
// Computer Music Journal 24(2), 2000); places ranked by the metrical tree (Longuet-Higgins & Lee 1984; Temperley, Music
// and Probability, 2007). The numbers are by trial on our own renderings, played with measured touch.
#pragma once

#include <vector>

#include "dsp/notate/fold.h"

namespace seguente::notate {

/// The felt beat that is divided: three eighths, a quarter in n/2 and n/4, else the meter's own beat. [message]
inline Ticks feltBeat(Meter m) {
  if (compound(m)) return m.beat() * 3;
  return m.denominator < 4 ? quarter : m.beat();
}

/// A figure whose notes have their places. [message]
struct Gridded {
  GridFound grid;
  std::vector<Ticks> at;   // a note each, straight
  std::vector<Ticks> end;  // straight, not yet on any grid
};

/// length: of the figure. Whoever plays is a little early or late throughout: found, and taken off. [message]
Gridded onGrid(const std::vector<Struck>& notes, Meter meter, double quarterSeconds, Ticks length);

/// The same notes on a grid that is known: a lift stands on the figure's own. [message]
Gridded onThisGrid(const std::vector<Struck>& notes, const GridFound& grid, Meter meter, double quarterSeconds,
                   Ticks length);

}  // namespace seguente::notate
