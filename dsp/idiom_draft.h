// An idiom while it is being compiled: what its figures need to know of the head of the file.
#pragma once

#include <string_view>
#include <vector>

#include "dsp/idiom.h"
#include "dsp/idiom_check.h"

namespace seguente {

/// A compiled row of a figure and where it stands in the file. [message]
struct PlacedStep {
  Step step;
  Place place;
};

/// An idiom while it is being compiled, and what its figures need to know of the head of the file. [message]
struct IdiomDraft {
  Idiom& idiom;
  Checker& check;
  std::vector<std::string> partNames;  // every part that the file names, whether good or not
  std::vector<int> partIndex;          // into idiom.parts, -1 for a part with faults
  Fraction crush{1, 12};               // beats from a crushed note to its goal; common practice, no source
  bool headGood = true;                // meter and tempo could be read, so that figures can be measured
  std::vector<PlacedStep> percussion;  // goes round under statement, answer, lift and vamp of every density
  Ticks percussionLength{};
};

}  // namespace seguente
