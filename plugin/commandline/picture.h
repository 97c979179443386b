// A picture of an arrangement as a printed page: the tune above, the accompaniment below, chord symbols and numerals
// over them, the count under (plugin/page).
#pragma once

#include <string>
#include <vector>

#include "plugin/commandline/performance.h"
#include "plugin/commandline/render.h"
#include "plugin/page/score.h"

namespace seguente {

/// The first bars, at most so many, as they are written; bars at the end in which nothing sounds are left out.
/// whole: how many there are. [message]
std::vector<page::Bar> scoreOf(const Performance& performance, const Rendering& rendering, std::size_t most,
                               std::size_t* whole = nullptr);

/// SVG text. [message]
std::string drawPicture(const Performance& performance, const Rendering& rendering);

}  // namespace seguente
