// Reads a figure that was played in, for two to eight bars over one chord, as the rows of a pattern file.
//
// The way: the held chord is taken out; bars come from the click, or from the figure's own coming round (pace.h);
// rounds are laid over one another and vote (fold.h); what remains is put on the plainest grid that explains it
// (grid.h); registers part bass from chords, and keys become degrees of the chord (degrees_of.h).
// All of it knows no file and no plugin framework; the command line and the screen hand in a Take. Off the audio thread
// only.
#pragma once

#include <string>

#include "dsp/notate/take.h"

namespace seguente::notate {

/// errors: in Notation::fault, one clause without the file's name. [message]
Notation notate(Take take, const Wishes& wishes);

/// What a pattern file says beside its figure. [message]
struct Heading {
  std::string id, title;
  std::string source;  // the take's file name, for the remark
};

/// The pattern file, as a teacher would write it: it passes `seguente check`. [message]
std::string patternText(const Notation& figure, const Heading& heading);

/// "My Waltz_2" -> "my-waltz-2"; "" when no letter or digit is left. [message]
std::string idFrom(std::string_view name);

}  // namespace seguente::notate
