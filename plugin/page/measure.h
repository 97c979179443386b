// How much room a bar asks for, and where lines of bars are broken.
#pragma once

#include <span>
#include <vector>

#include "plugin/page/engraving.h"

namespace seguente::page {

/// Staff spaces. [any]
struct BarNeeds {
  double before = 0;  // before its first place: a new key or meter, signs, air
  double after = 0;   // of music, from the first place to the bar line
  double full() const { return before + after; }
};
BarNeeds needsOf(const Bar& bar, bool signature, bool time);

/// Room for a signature, and for the figures of a meter. [any]
double signatureWidth(const Key& key);
inline constexpr double timeWidth = 2.5;
inline constexpr double clefWidth = 3.9;

/// Sizes of text, in staff spaces (the project's look at a space of 8 pixels). [any]
namespace letters {
inline constexpr double symbol = 2.4, numeral = 1.75, form = 1.62, count = 1.62, time = 3.1, title = 2.9, head = 1.9;
}

/// One line of bars: from, to (not included), and each bar's width. [any]
struct Line {
  std::size_t from = 0, to = 0;
  double left = 0;  // where the staves begin
  double prefix = 0;
  std::vector<double> widths;
};
std::vector<Line> linesOf(std::span<const Bar> bars, const EngravingOptions& options, double indent);

/// The bar begins with a new signature or meter, seen from the one before it (null: the first of all). [any]
bool newSignature(const Bar& bar, const Bar* before);
bool newTime(const Bar& bar, const Bar* before);

}  // namespace seguente::page
