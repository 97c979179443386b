// The signs of music as filled outlines, drawn for this project with a pen of changing width. Lengths are staff spaces,
// y grows downwards; where a sign's own zero lies is said beside it. Proportions: common engraving practice, from
// memory (a head is a space high and 1.18 wide, an accidental about 2.8 high, an up-stem flag 3.2 long).
#pragma once

#include <cstdint>
#include <vector>

namespace seguente::page {

struct Point {
  double x = 0, y = 0;
};

/// A path of straight and curved pieces, filled by the non-zero rule. [any]
struct Outline {
  enum class Kind : std::uint8_t { move, line, curve, close };
  struct Piece {
    Kind kind = Kind::move;
    Point a{}, b{}, to{};  // a and b are a curve's control points
  };
  std::vector<Piece> pieces;

  void move(Point to) { pieces.push_back({Kind::move, {}, {}, to}); }
  void line(Point to) { pieces.push_back({Kind::line, {}, {}, to}); }
  void curve(Point a, Point b, Point to) { pieces.push_back({Kind::curve, a, b, to}); }
  void close() { pieces.push_back({Kind::close, {}, {}, {}}); }
  void add(const Outline& other) { pieces.insert(pieces.end(), other.pieces.begin(), other.pieces.end()); }
};

/// Left, top, right, bottom. [any]
struct Box {
  double left = 0, top = 0, right = 0, bottom = 0;
  bool overlaps(const Box& o) const { return left < o.right && o.left < right && top < o.bottom && o.top < bottom; }
  void include(const Box& o);
};
Box boxOf(const Outline& outline);

enum class Glyph : std::uint8_t {
  trebleClef,      // zero: on the G line
  bassClef,        // zero: on the F line
  percussionClef,  // zero: the staff's middle
  headBlack,       // heads: their middle
  headHalf,
  headWhole,
  headCross,
  headBlackHatched,
  headHalfHatched,
  headWholeHatched,
  sharp,  // accidentals: the middle of the line or space that they alter
  flat,
  natural,
  doubleSharp,
  doubleFlat,
  restWhole,  // rests: the line or middle that they hang from, sit on, or are centred on
  restHalf,
  restQuarter,
  restEighth,
  restSixteenth,
  restThirtySecond,
  flagUp,  // flags: the stem's end, to its right; one flag each, further ones are put under (over) it
  flagDown,
  dot,
  fermata,  // the middle of its foot
  count
};

/// [any]
const Outline& outlineOf(Glyph glyph);
const Box& boxOf(Glyph glyph);

/// A brace of this height, its point to the left; zero: its right side, at half height. [any]
Outline braceOf(double height);
/// A tie between two points; rise: how far it bows, negative upwards. [any]
Outline tieOf(Point from, Point to, double rise);

}  // namespace seguente::page
