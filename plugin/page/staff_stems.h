// Stems, flags and beams of one staff in one bar.
#pragma once

#include <functional>
#include <vector>

#include "plugin/page/staff_layout.h"

namespace seguente::page {

/// One stem. y grows downwards; the tip is its free end. [any]
struct Stem {
  std::size_t column = 0;
  double x = 0;
  double foot = 0;  // at the head furthest from the tip
  double tip = 0;
  bool up = true;
};

/// xs: where each column's heads stand. [any]
std::vector<Stem> stemsOf(const std::vector<Column>& columns, const std::vector<double>& xs, bool twoVoices);
void drawStems(const std::vector<Stem>& stems, const std::vector<Column>& columns,
               const std::function<void(Mark)>& put);

/// How much a beam rises or falls from its first to its last stem: half of the heads' way, at most a space; level when
/// the ends are alike or a head between them lies nearer the beam. first, last, nearest: y of heads. [any]
double slantOf(double first, double last, double nearestBetween, bool up, double width);

}  // namespace seguente::page
