// A picture of an arrangement as a printed page: systems of grand staff, melody and accompaniment told apart, chord
// symbols over, count under, a legend. No roll of bars: noteheads on five lines, at their true fraction of the bar.
#pragma once

#include <string>

#include "plugin/commandline/performance.h"
#include "plugin/commandline/render.h"

namespace seguente {

/// SVG text. [message]
std::string drawPicture(const Performance& performance, const Rendering& rendering, const TimeWishes& wishes);

}  // namespace seguente
