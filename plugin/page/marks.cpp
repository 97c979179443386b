#include "plugin/page/marks.h"

#include <algorithm>
#include <utility>

namespace seguente::page {

Mark lineMark(Point a, Point b, double thickness, Token token) {
  Mark mark;
  mark.kind = Mark::Kind::line;
  mark.a = a;
  mark.b = b;
  mark.thickness = thickness;
  mark.token = token;
  return mark;
}
Mark glyphMark(Glyph glyph, Point at, Token token, double scale) {
  Mark mark;
  mark.kind = Mark::Kind::glyph;
  mark.glyph = glyph;
  mark.a = at;
  mark.token = token;
  mark.scale = scale;
  return mark;
}
Mark textMark(Point at, std::string text, double size, Style style, Anchor anchor, Token token) {
  Mark mark;
  mark.kind = Mark::Kind::text;
  mark.a = at;
  mark.text = std::move(text);
  mark.size = size;
  mark.style = style;
  mark.anchor = anchor;
  mark.token = token;
  return mark;
}
Mark outlineMark(Outline outline, Token token) {
  Mark mark;
  mark.kind = Mark::Kind::outline;
  mark.outline = std::move(outline);
  mark.token = token;
  return mark;
}
Mark moved(Mark mark, double dx, double dy) {
  mark.a = {mark.a.x + dx, mark.a.y + dy};
  mark.b = {mark.b.x + dx, mark.b.y + dy};
  for (Outline::Piece& piece : mark.outline.pieces)
    for (Point* p : {&piece.a, &piece.b, &piece.to}) *p = {p->x + dx, p->y + dy};
  return mark;
}

Box boxOf(const Mark& mark) {
  switch (mark.kind) {
    case Mark::Kind::line: {
      const double h = mark.thickness / 2;
      return {std::min(mark.a.x, mark.b.x) - h, std::min(mark.a.y, mark.b.y) - h, std::max(mark.a.x, mark.b.x) + h,
              std::max(mark.a.y, mark.b.y) + h};
    }
    case Mark::Kind::box:
      return {mark.a.x, mark.a.y, mark.b.x, mark.b.y};
    case Mark::Kind::outline:
      return boxOf(mark.outline);
    case Mark::Kind::glyph: {
      const Box& b = boxOf(mark.glyph);
      return {mark.a.x + b.left * mark.scale, mark.a.y + b.top * mark.scale, mark.a.x + b.right * mark.scale,
              mark.a.y + b.bottom * mark.scale};
    }
    case Mark::Kind::text: {
      const double wide = widthOf(mark.text, mark.style, mark.size);
      const double left = mark.anchor == Anchor::start ? 0 : mark.anchor == Anchor::middle ? -wide / 2 : -wide;
      return {mark.a.x + left, mark.a.y - mark.size * capitalHeight, mark.a.x + left + wide, mark.a.y};
    }
  }
  return {};
}

}  // namespace seguente::page
