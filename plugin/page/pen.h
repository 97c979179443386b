// Tools that the signs are drawn with: a pen of changing width along a curve, ellipses, polygons.
#pragma once

#include <cmath>
#include <functional>
#include <vector>

#include "plugin/page/glyphs.h"

namespace seguente::page::pen {

/// A point of a stroke and how wide the pen is there.
struct Mark {
  double x, y, width;
};

/// A stroke through the marks (Catmull-Rom), round at both ends.
Outline stroke(const std::vector<Mark>& marks);
/// An ellipse turned by degrees, clockwise on paper (y down).
Outline ellipse(Point middle, double radiusX, double radiusY, double degrees);
Outline polygon(const std::vector<Point>& points);
/// The part of an ellipse between two parallel lines: those points whose distance from the line through its middle at
/// `angle` lies in [from, to].
Outline slice(Point middle, double radiusX, double radiusY, double degrees, double angle, double from, double to);
/// Every closed line turned clockwise on paper, or (a hole) the other way, so that the non-zero rule fills what is
/// meant.
Outline filled(const Outline& outline);
Outline hole(const Outline& outline);
Outline moved(Outline outline, double dx, double dy);

}  // namespace seguente::page::pen
