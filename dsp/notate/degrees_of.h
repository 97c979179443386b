// Parts told apart by register, keys as degrees of the chord or as the keys that are held, lengths and stresses.
#pragma once

#include <string>
#include <vector>

#include "dsp/notate/fold.h"
#include "dsp/notate/grid.h"

namespace seguente::notate {

/// A note of the figure in its place. [message]
struct PlacedNote {
  int key = 60;
  Ticks at{}, end{};  // straight; the end on no grid
  double velocity = 64;
  int crushedFrom = -1;
};

/// What the rows are read over. held: the hand's keys, low to high; for as-held steps. [message]
struct Over {
  Chord chord{};
  std::vector<int> held;
  bool asHeld = false;
  Meter meter{};
  GridFound grid;
};

struct PartsRead {
  std::string fault;
  std::vector<PartFound> parts;
  std::vector<std::vector<Row>> rows;  // one list a run that was given
};

/// runs: the figure, then perhaps its lift, each with its length; parts are found in the first and serve all.
/// errors: as-held steps that the hand does not hold. [message]
PartsRead readParts(const std::vector<std::vector<PlacedNote>>& runs, const std::vector<Ticks>& lengths,
                    const Over& over);

}  // namespace seguente::notate
