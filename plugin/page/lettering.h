// How wide text is, for laying out without a font at hand. Whoever draws with another face may hand in a measure of its
// own.
#pragma once

#include <string_view>

namespace seguente::page {

enum class Style { roman, bold, italic };

/// Width in the unit of `size` (the em). Advance widths of Gentium Book Plus (OFL), in thousandths of an em; a letter
/// outside ASCII that is not known counts as an n. [any]
double widthOf(std::string_view utf8, Style style, double size);

/// Height of a capital or figure, as a part of the em: the same face. [any]
inline constexpr double capitalHeight = 0.615;

}  // namespace seguente::page
