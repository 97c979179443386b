#include "plugin/page/glyphs.h"

#include <algorithm>
#include <array>

#include "plugin/page/pen.h"

namespace seguente::page {

namespace {

using pen::ellipse;
using pen::filled;
using pen::hole;
using pen::moved;
using pen::polygon;
using pen::slice;
using pen::stroke;

Outline together(std::initializer_list<Outline> parts) {
  Outline all;
  for (const Outline& part : parts) all.add(filled(part));
  return all;
}

/// A shape with others cut out of it.
Outline without(const Outline& shape, std::initializer_list<Outline> holes) {
  Outline all = filled(shape);
  for (const Outline& part : holes) all.add(hole(part));
  return all;
}

/// One line from the inner curl out round the bowl, up over the top, and down the stem to its ball.
Outline trebleClef() {
  return stroke({{0.10, 0.52, 0.08},   {-0.22, 0.42, 0.14},  {-0.44, 0.06, 0.20},  {-0.28, -0.46, 0.28},
                 {0.18, -0.72, 0.34},  {0.68, -0.50, 0.34},  {0.88, 0.04, 0.29},   {0.66, 0.64, 0.21},
                 {0.08, 0.94, 0.16},   {-0.58, 0.78, 0.24},  {-1.06, 0.22, 0.38},  {-1.08, -0.54, 0.45},
                 {-0.66, -1.36, 0.38}, {-0.02, -2.04, 0.31}, {0.44, -2.72, 0.29},  {0.56, -3.44, 0.27},
                 {0.42, -4.12, 0.18},  {0.18, -4.34, 0.09},  {-0.10, -3.98, 0.14}, {-0.21, -3.26, 0.17},
                 {-0.11, -2.30, 0.17}, {0.06, -1.20, 0.17},  {0.26, 0.10, 0.16},   {0.42, 1.22, 0.15},
                 {0.41, 1.96, 0.14},   {0.10, 2.42, 0.12},   {-0.34, 2.44, 0.11},  {-0.60, 2.18, 0.14}});
}

Outline trebleBall() { return ellipse({-0.40, 1.98}, 0.31, 0.31, 0); }

Outline bassClef() {
  return together({stroke({{-1.02, 0.02, 0.20},
                           {-1.08, -0.40, 0.12},
                           {-0.72, -0.86, 0.14},
                           {-0.16, -0.98, 0.20},
                           {0.38, -0.72, 0.34},
                           {0.64, -0.06, 0.42},
                           {0.46, 0.82, 0.34},
                           {-0.10, 1.62, 0.22},
                           {-1.02, 2.28, 0.12},
                           {-1.24, 2.38, 0.06}})});
}

Outline flat() {
  Outline o = polygon({{-0.42, -1.72}, {-0.30, -1.76}, {-0.30, 0.66}, {-0.42, 0.72}});
  o.move({-0.31, -0.30});
  o.curve({-0.02, -0.62}, {0.46, -0.56}, {0.44, -0.16});
  o.curve({0.42, 0.24}, {0.02, 0.44}, {-0.31, 0.70});
  o.line({-0.31, 0.50});
  o.curve({-0.06, 0.28}, {0.16, 0.10}, {0.17, -0.12});
  o.curve({0.18, -0.34}, {-0.10, -0.34}, {-0.31, -0.10});
  o.close();
  return o;
}

Outline sharp() {
  constexpr double stem = 0.055, half = 0.175, slope = 0.16, wide = 0.50, x = 0.19, high = 1.38;
  const auto bar = [&](double middle, double at, double edge) { return middle - at * slope / wide + edge; };
  Outline all;
  for (const double middle : {-0.46, 0.46})
    all.add(polygon({{-wide, bar(middle, -wide, -half)},
                     {wide, bar(middle, wide, -half)},
                     {wide, bar(middle, wide, half)},
                     {-wide, bar(middle, -wide, half)}}));
  for (const double at : {-x, x}) {
    const double lift = at > 0 ? -0.10 : 0.10;
    all.add(polygon(
        {{at - stem, -high + lift}, {at + stem, -high + lift}, {at + stem, high + lift}, {at - stem, high + lift}}));
  }
  return all;
}

Outline natural() {
  constexpr double stem = 0.11;
  const Outline whole = polygon({{-0.33, -1.40},
                                 {-0.33 + stem, -1.40},
                                 {-0.33 + stem, -0.50},
                                 {0.33, -0.66},
                                 {0.33, 1.40},
                                 {0.33 - stem, 1.40},
                                 {0.33 - stem, 0.50},
                                 {-0.33, 0.66}});
  const Outline window =
      polygon({{-0.33 + stem, -0.17}, {0.33 - stem, -0.33}, {0.33 - stem, 0.17}, {-0.33 + stem, 0.33}});
  return without(whole, {window});
}

Outline doubleSharp() {
  constexpr double a = 0.46, b = 0.17, t = 0.07;
  Outline o = polygon({{-t, 0},
                       {-a, -a + b + b},
                       {-a, -a},
                       {-a + b + b, -a},
                       {0, -t},
                       {a - b - b, -a},
                       {a, -a},
                       {a, -a + b + b},
                       {t, 0},
                       {a, a - b - b},
                       {a, a},
                       {a - b - b, a},
                       {0, t},
                       {-a + b + b, a},
                       {-a, a},
                       {-a, a - b - b}});
  return o;
}

Outline restQuarter() {
  Outline o;
  o.move({-0.26, -1.44});
  o.curve({-0.20, -1.56}, {-0.12, -1.56}, {-0.04, -1.46});
  o.line({0.44, -0.84});
  o.curve({0.52, -0.72}, {0.50, -0.64}, {0.42, -0.52});
  o.curve({0.18, -0.16}, {0.18, 0.14}, {0.50, 0.56});
  o.curve({0.58, 0.68}, {0.48, 0.78}, {0.36, 0.70});
  o.curve({0.04, 0.52}, {-0.22, 0.62}, {-0.14, 0.94});
  o.curve({-0.10, 1.10}, {0.00, 1.24}, {0.12, 1.38});
  o.curve({0.18, 1.48}, {0.10, 1.56}, {0.00, 1.48});
  o.curve({-0.46, 1.16}, {-0.62, 0.66}, {-0.36, 0.40});
  o.curve({-0.20, 0.26}, {0.00, 0.28}, {0.16, 0.36});
  o.line({-0.40, -0.30});
  o.curve({-0.48, -0.42}, {-0.46, -0.48}, {-0.38, -0.58});
  o.curve({-0.12, -0.86}, {-0.08, -1.10}, {-0.26, -1.44});
  o.close();
  return o;
}

/// A ball with its hook, to the stem of the rest that falls to the left.
void restHook(Outline& o, double y, double slant) {
  o.add(ellipse({-0.34 + slant, y}, 0.25, 0.25, 0));
  o.add(stroke({{-0.40 + slant, y + 0.18, 0.10},
                {-0.10 + slant, y + 0.26, 0.12},
                {0.20 + slant, y + 0.08, 0.10},
                {0.38 + slant, y - 0.20, 0.08}}));
}

Outline restOf(int hooks) {
  Outline o;
  const double top = hooks == 1 ? -0.5 : hooks == 2 ? -0.5 : -1.5;
  const double bottom = hooks == 1 ? 1.0 : 2.0;
  const double lean = 0.22;
  for (int i = 0; i < hooks; ++i) restHook(o, top + i, lean * (hooks - 1 - i) + 0.02);
  const double x = 0.40 + lean * (hooks - 1);
  o.add(polygon({{x - 0.07, top - 0.22},
                 {x + 0.04, top - 0.26},
                 {x - lean * (bottom - top) - 0.06, bottom},
                 {x - lean * (bottom - top) - 0.19, bottom}}));
  return o;
}

Outline flagUp() {
  Outline o;
  o.move({0, 0});
  o.curve({0.06, 0.74}, {0.30, 0.96}, {0.60, 1.30});
  o.curve({1.02, 1.78}, {1.06, 2.40}, {0.72, 3.14});
  o.curve({0.70, 3.20}, {0.60, 3.18}, {0.62, 3.10});
  o.curve({0.86, 2.44}, {0.80, 2.02}, {0.50, 1.62});
  o.curve({0.32, 1.36}, {0.14, 1.20}, {0, 1.12});
  o.close();
  return o;
}

Outline mirrored(Outline o) {
  for (Outline::Piece& piece : o.pieces)
    for (Point* p : {&piece.a, &piece.b, &piece.to}) p->y = -p->y;
  return o;
}

Outline fermata() {
  Outline o;
  o.move({-1.25, 0});
  o.curve({-1.20, -1.60}, {1.20, -1.60}, {1.25, 0});
  o.line({1.16, 0});
  o.curve({1.00, -1.10}, {-1.00, -1.10}, {-1.16, 0});
  o.close();
  o.add(ellipse({0, -0.18}, 0.20, 0.20, 0));
  return o;
}

// Heads: a black one is turned up by 22 degrees, a half's hole further; a whole's hole leans the other way.
constexpr double headX = 0.625, headY = 0.452, headTurn = -22;
constexpr double wholeX = 0.84, wholeY = 0.50;

Outline headBlack() { return ellipse({0, 0}, headX, headY, headTurn); }
Outline headHalf() { return without(ellipse({0, 0}, 0.62, 0.45, headTurn), {ellipse({0, 0}, 0.55, 0.235, -31)}); }
Outline headWhole() { return without(ellipse({0, 0}, wholeX, wholeY, 0), {ellipse({0, 0}, 0.40, 0.33, 58)}); }
Outline headCross() {
  return together({polygon({{-0.52, -0.42}, {-0.42, -0.52}, {0.52, 0.42}, {0.42, 0.52}}),
                   polygon({{0.42, -0.52}, {0.52, -0.42}, {0.09, 0.01}, {-0.01, -0.09}}),
                   polygon({{-0.09, -0.01}, {0.01, 0.09}, {-0.42, 0.52}, {-0.52, 0.42}})});
}
// Hatching falls to the right. A quarter keeps more than two thirds of its ink; a half's hole is crossed once.
Outline headBlackHatched() {
  return without(headBlack(), {slice({0, 0}, 0.50, 0.335, headTurn, 45, -0.225, -0.12),
                               slice({0, 0}, 0.50, 0.335, headTurn, 45, 0.12, 0.225)});
}
Outline headHalfHatched() {
  return without(ellipse({0, 0}, 0.62, 0.45, headTurn),
                 {slice({0, 0}, 0.55, 0.235, -31, 45, -0.6, -0.07), slice({0, 0}, 0.55, 0.235, -31, 45, 0.07, 0.6)});
}
Outline headWholeHatched() {
  return without(ellipse({0, 0}, wholeX, wholeY, 0),
                 {slice({0, 0}, 0.40, 0.33, 58, 45, -0.6, -0.06), slice({0, 0}, 0.40, 0.33, 58, 45, 0.06, 0.6)});
}

Outline draw(Glyph glyph) {
  switch (glyph) {
    case Glyph::trebleClef:
      return together({trebleClef(), trebleBall()});
    case Glyph::bassClef:
      return together({bassClef(), ellipse({-0.78, 0.06}, 0.34, 0.34, 0), ellipse({1.34, -0.5}, 0.2, 0.2, 0),
                       ellipse({1.34, 0.5}, 0.2, 0.2, 0)});
    case Glyph::percussionClef:
      return together({polygon({{-0.55, -1}, {-0.15, -1}, {-0.15, 1}, {-0.55, 1}}),
                       polygon({{0.15, -1}, {0.55, -1}, {0.55, 1}, {0.15, 1}})});
    case Glyph::headBlack:
      return filled(headBlack());
    case Glyph::headHalf:
      return headHalf();
    case Glyph::headWhole:
      return headWhole();
    case Glyph::headCross:
      return filled(headCross());
    case Glyph::headBlackHatched:
      return headBlackHatched();
    case Glyph::headHalfHatched:
      return headHalfHatched();
    case Glyph::headWholeHatched:
      return headWholeHatched();
    case Glyph::sharp:
      return filled(sharp());
    case Glyph::flat:
      return filled(flat());
    case Glyph::natural:
      return natural();
    case Glyph::doubleSharp:
      return filled(doubleSharp());
    case Glyph::doubleFlat:
      return together({moved(flat(), -0.38, 0), moved(flat(), 0.38, 0)});
    case Glyph::restWhole:
      return filled(polygon({{-0.62, 0}, {0.62, 0}, {0.62, 0.52}, {-0.62, 0.52}}));
    case Glyph::restHalf:
      return filled(polygon({{-0.62, -0.52}, {0.62, -0.52}, {0.62, 0}, {-0.62, 0}}));
    case Glyph::restQuarter:
      return filled(restQuarter());
    case Glyph::restEighth:
      return filled(restOf(1));
    case Glyph::restSixteenth:
      return filled(restOf(2));
    case Glyph::restThirtySecond:
      return filled(restOf(3));
    case Glyph::flagUp:
      return filled(flagUp());
    case Glyph::flagDown:
      return filled(mirrored(flagUp()));
    case Glyph::dot:
      return filled(ellipse({0, 0}, 0.2, 0.2, 0));
    case Glyph::fermata:
      return filled(fermata());
    case Glyph::count:
      break;
  }
  return {};
}

struct Drawn {
  Outline outline;
  Box box;
};

const Drawn& drawn(Glyph glyph) {
  constexpr auto n = static_cast<std::size_t>(Glyph::count);
  static const std::array<Drawn, n> all = [] {
    std::array<Drawn, n> made;
    for (std::size_t i = 0; i < n; ++i) {
      made[i].outline = draw(static_cast<Glyph>(i));
      made[i].box = boxOf(made[i].outline);
    }
    return made;
  }();
  return all[static_cast<std::size_t>(glyph)];
}

}  // namespace

void Box::include(const Box& o) {
  left = std::min(left, o.left);
  top = std::min(top, o.top);
  right = std::max(right, o.right);
  bottom = std::max(bottom, o.bottom);
}

Box boxOf(const Outline& outline) {
  Box box{1e9, 1e9, -1e9, -1e9};
  Point from{};
  const auto take = [&](Point p) { box.include({p.x, p.y, p.x, p.y}); };
  for (const Outline::Piece& piece : outline.pieces) {
    if (piece.kind == Outline::Kind::close) continue;
    if (piece.kind == Outline::Kind::curve)
      for (int i = 1; i < 8; ++i) {
        const double t = i / 8.0, u = 1 - t;
        const auto mix = [&](double a, double b, double c, double d) {
          return u * u * u * a + 3 * u * u * t * b + 3 * u * t * t * c + t * t * t * d;
        };
        take({mix(from.x, piece.a.x, piece.b.x, piece.to.x), mix(from.y, piece.a.y, piece.b.y, piece.to.y)});
      }
    take(piece.to);
    from = piece.to;
  }
  return box;
}

const Outline& outlineOf(Glyph glyph) { return drawn(glyph).outline; }
const Box& boxOf(Glyph glyph) { return drawn(glyph).box; }

Outline braceOf(double height) {
  const double h = height / 2;
  Outline o;
  // The upper half and its mirror image; the thick belly at a quarter of the height.
  o.move({0, -h});
  o.curve({-0.95, -h + 0.10 * height}, {-0.10, -0.16 * height}, {-1.05, 0});
  o.curve({-0.10, 0.16 * height}, {-0.95, h - 0.10 * height}, {0, h});
  o.curve({-0.45, h - 0.12 * height}, {0.66, 0.14 * height}, {-1.05, 0});
  o.curve({0.66, -0.14 * height}, {-0.45, -h + 0.12 * height}, {0, -h});
  o.close();
  return o;
}

Outline tieOf(Point from, Point to, double rise) {
  constexpr double thick = 0.20;
  const double w = to.x - from.x;
  const double more = rise < 0 ? -thick : thick;
  Outline o;
  o.move(from);
  o.curve({from.x + w * 0.28, from.y + rise * 4 / 3}, {to.x - w * 0.28, to.y + rise * 4 / 3}, to);
  o.curve({to.x - w * 0.26, to.y + rise * 4 / 3 + more}, {from.x + w * 0.26, from.y + rise * 4 / 3 + more}, from);
  o.close();
  return o;
}

}  // namespace seguente::page
