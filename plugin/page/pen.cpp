#include "plugin/page/pen.h"

#include <algorithm>
#include <numbers>

namespace seguente::page::pen {

namespace {

constexpr double pi = std::numbers::pi;

/// A closed smooth line through points: each corner's tangent is parallel to its neighbours' chord.
void smooth(Outline& outline, const std::vector<Point>& points) {
  const std::size_t n = points.size();
  outline.move(points[0]);
  for (std::size_t i = 0; i < n; ++i) {
    const Point& p0 = points[(i + n - 1) % n];
    const Point& p1 = points[i];
    const Point& p2 = points[(i + 1) % n];
    const Point& p3 = points[(i + 2) % n];
    outline.curve({p1.x + (p2.x - p0.x) / 6, p1.y + (p2.y - p0.y) / 6},
                  {p2.x - (p3.x - p1.x) / 6, p2.y - (p3.y - p1.y) / 6}, p2);
  }
  outline.close();
}

struct Loop {
  std::vector<Outline::Piece> pieces;  // the first one moves
};

std::vector<Loop> loopsOf(const Outline& outline) {
  std::vector<Loop> loops;
  for (const Outline::Piece& piece : outline.pieces) {
    if (piece.kind == Outline::Kind::move) loops.emplace_back();
    if (piece.kind != Outline::Kind::close) loops.back().pieces.push_back(piece);
  }
  return loops;
}

/// Twice the area of the polygon of ends and control points; positive: clockwise, as y grows downwards.
double areaOf(const Loop& loop) {
  std::vector<Point> points;
  for (const auto& piece : loop.pieces) {
    if (piece.kind == Outline::Kind::curve) points.insert(points.end(), {piece.a, piece.b});
    points.push_back(piece.to);
  }
  double area = 0;
  for (std::size_t i = 0; i < points.size(); ++i) {
    const Point& p = points[i];
    const Point& q = points[(i + 1) % points.size()];
    area += p.x * q.y - q.x * p.y;
  }
  return area;
}

Outline turned(const Outline& outline, bool clockwise) {
  Outline all;
  for (const Loop& loop : loopsOf(outline)) {
    const auto& pieces = loop.pieces;
    if ((areaOf(loop) > 0) == clockwise) {
      for (const auto& piece : pieces) all.pieces.push_back(piece);
    } else {
      all.move(pieces.back().to);
      for (std::size_t i = pieces.size(); i-- > 1;) {
        const Point to = pieces[i - 1].to;
        if (pieces[i].kind == Outline::Kind::curve)
          all.curve(pieces[i].b, pieces[i].a, to);
        else
          all.line(to);
      }
    }
    all.close();
  }
  return all;
}

double between(double a, double b, double c, double d, double t) {
  return 0.5 * (2 * b + (c - a) * t + (2 * a - 5 * b + 4 * c - d) * t * t + (3 * b - a - 3 * c + d) * t * t * t);
}

}  // namespace

Outline stroke(const std::vector<Mark>& marks) {
  constexpr int steps = 4;
  std::vector<Mark> path;
  const auto at = [&](std::size_t i, int offset) -> const Mark& {
    const auto k = std::clamp<std::ptrdiff_t>(static_cast<std::ptrdiff_t>(i) + offset, 0,
                                              static_cast<std::ptrdiff_t>(marks.size()) - 1);
    return marks[static_cast<std::size_t>(k)];
  };
  for (std::size_t i = 0; i + 1 < marks.size(); ++i)
    for (int s = 0; s < steps; ++s) {
      const double t = static_cast<double>(s) / steps;
      const Mark &a = at(i, -1), &b = at(i, 0), &c = at(i, 1), &d = at(i, 2);
      path.push_back({between(a.x, b.x, c.x, d.x, t), between(a.y, b.y, c.y, d.y, t),
                      std::max(0.02, between(a.width, b.width, c.width, d.width, t))});
    }
  path.push_back(marks.back());
  std::vector<Point> left, right;
  for (std::size_t i = 0; i < path.size(); ++i) {
    const Mark& before = path[i > 0 ? i - 1 : 0];
    const Mark& after = path[std::min(i + 1, path.size() - 1)];
    const double dx = after.x - before.x, dy = after.y - before.y;
    const double length = std::max(1e-9, std::hypot(dx, dy));
    const double nx = -dy / length * path[i].width / 2, ny = dx / length * path[i].width / 2;
    left.push_back({path[i].x + nx, path[i].y + ny});
    right.push_back({path[i].x - nx, path[i].y - ny});
  }
  std::vector<Point> round = left;
  const auto cap = [&](const Mark& end, const Mark& inner) {
    const double dx = end.x - inner.x, dy = end.y - inner.y;
    const double length = std::max(1e-9, std::hypot(dx, dy));
    round.push_back({end.x + dx / length * end.width / 2, end.y + dy / length * end.width / 2});
  };
  cap(path.back(), path[path.size() - 2]);
  round.insert(round.end(), right.rbegin(), right.rend());
  cap(path.front(), path[1]);
  Outline outline;
  smooth(outline, round);
  return outline;
}

Outline ellipse(Point middle, double radiusX, double radiusY, double degrees) {
  constexpr double k = 0.5522847498;  // a quarter of a circle as one cubic curve
  const double c = std::cos(degrees * pi / 180), s = std::sin(degrees * pi / 180);
  const auto at = [&](double x, double y) {
    return Point{middle.x + x * radiusX * c - y * radiusY * s, middle.y + x * radiusX * s + y * radiusY * c};
  };
  Outline outline;
  outline.move(at(1, 0));
  outline.curve(at(1, k), at(k, 1), at(0, 1));
  outline.curve(at(-k, 1), at(-1, k), at(-1, 0));
  outline.curve(at(-1, -k), at(-k, -1), at(0, -1));
  outline.curve(at(k, -1), at(1, -k), at(1, 0));
  outline.close();
  return outline;
}

Outline polygon(const std::vector<Point>& points) {
  Outline outline;
  outline.move(points.front());
  for (std::size_t i = 1; i < points.size(); ++i) outline.line(points[i]);
  outline.close();
  return outline;
}

Outline slice(Point middle, double radiusX, double radiusY, double degrees, double angle, double from, double to) {
  const double c = std::cos(degrees * pi / 180), s = std::sin(degrees * pi / 180);
  const double nx = -std::sin(angle * pi / 180), ny = std::cos(angle * pi / 180);
  std::vector<Point> points;
  for (int i = 0; i < 48; ++i) {
    const double a = 2 * pi * i / 48;
    const double x = std::cos(a) * radiusX, y = std::sin(a) * radiusY;
    points.push_back({x * c - y * s, x * s + y * c});
  }
  const auto cut = [&](double sign, double limit) {  // keeps sign * distance <= limit
    std::vector<Point> kept;
    for (std::size_t i = 0; i < points.size(); ++i) {
      const Point& p = points[i];
      const Point& q = points[(i + 1) % points.size()];
      const double dp = sign * (p.x * nx + p.y * ny) - limit, dq = sign * (q.x * nx + q.y * ny) - limit;
      if (dp <= 0) kept.push_back(p);
      if ((dp < 0) != (dq < 0) && dp != dq) {
        const double t = dp / (dp - dq);
        kept.push_back({p.x + (q.x - p.x) * t, p.y + (q.y - p.y) * t});
      }
    }
    points = kept;
  };
  cut(1, to);
  if (!points.empty()) cut(-1, -from);
  Outline outline;
  if (points.size() < 3) return outline;
  for (Point& p : points) p = {p.x + middle.x, p.y + middle.y};
  return polygon(points);
}

Outline filled(const Outline& outline) { return turned(outline, true); }
Outline hole(const Outline& outline) { return turned(outline, false); }

Outline moved(Outline outline, double dx, double dy) {
  for (Outline::Piece& piece : outline.pieces)
    for (Point* p : {&piece.a, &piece.b, &piece.to}) *p = {p->x + dx, p->y + dy};
  return outline;
}

}  // namespace seguente::page::pen
