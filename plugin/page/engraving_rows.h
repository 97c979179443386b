// What stands over and under the staves of a system: form, symbols, count, playhead.
#pragma once

#include <span>
#include <vector>

#include "plugin/page/engraving.h"

namespace seguente::page {

/// A bar in its place: its lines, and where its first beat lies. [any]
struct PlacedBar {
  const Bar* bar = nullptr;
  double left = 0, right = 0, first = 0;
  double xOf(Ticks at) const {
    return first + (right - first) * static_cast<double>(at.value) / static_cast<double>(bar->length.value);
  }
};

/// Each draws into `marks`; y is the row's base line. [any]
/// A symbol over the first note of its chord; the numeral after it where there is room before the next symbol.
void drawSymbols(std::span<const PlacedBar> bars, double y, std::vector<Mark>& marks);
/// The form's words over brackets that last until the next word. A word that says what the bar before said is not
/// repeated, but for a line's first.
void drawForm(std::span<const PlacedBar> bars, double y, std::vector<Mark>& marks);
void drawCount(std::span<const PlacedBar> bars, double y, const EngravingOptions& options, std::vector<Mark>& marks);
/// A marker's stroke on the paper, under everything, and a wedge over it.
/// under: the first mark of the system.
void drawPlayhead(std::span<const PlacedBar> bars, double top, double bottom, std::size_t under,
                  const EngravingOptions& options, std::vector<Mark>& marks);

}  // namespace seguente::page
