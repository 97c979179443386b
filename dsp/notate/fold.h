// Lays the rounds of a figure over one another. What most rounds agree on is the figure; a slip is outvoted.
#pragma once

#include <vector>

#include "dsp/notate/take.h"

namespace seguente::notate {

/// One note of the figure, as the mean of its rounds. Seconds from the figure's start. [message]
struct Struck {
  int key = 60;
  double at = 0, length = 0, velocity = 64;
  int times = 1;  // rounds in which it was played
  int crushedFrom = -1;
};

struct Folded {
  int barsPlayed = 0;  // whole bars that were read
  int bars = 1;        // of the figure: 1, 2, 4, or all when nothing comes round
  int rounds = 1;
  std::vector<Struck> notes;
  int liftBars = 0;  // the last bars of eight, when they are livelier than the figure
  std::vector<Struck> lift;
  double agreement = 1;  // share of the notes played that are the figure's
};

/// notes: by onset; bar: seconds; the first bar line lies at 0. Empty bars before the first note are a count-in. The
/// shortest description wins (bars as a code book: idea of minimum description length, Rissanen 1978; its weights by
/// trial). [message]
Folded fold(const std::vector<TakenNote>& notes, double bar, double beat);

}  // namespace seguente::notate
