// Marks, made shortly.
#pragma once

#include <string>

#include "plugin/page/engraving.h"

namespace seguente::page {

Mark lineMark(Point a, Point b, double thickness, Token token = Token::ink);
Mark glyphMark(Glyph glyph, Point at, Token token = Token::ink, double scale = 1);
Mark textMark(Point at, std::string text, double size, Style style, Anchor anchor, Token token = Token::ink);
Mark outlineMark(Outline outline, Token token = Token::ink);
Mark moved(Mark mark, double dx, double dy);

}  // namespace seguente::page
