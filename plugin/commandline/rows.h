// The rows of `chords` and `hands`, as tab-separated lines and as JSON.
#pragma once

#include <string>

#include "plugin/commandline/performance.h"
#include "plugin/commandline/render.h"

namespace seguente {

std::string chordRowsTsv(const Rendering& rendering);
std::string chordRowsJson(const Rendering& rendering);
std::string handRowsTsv(const Performance& performance, const Rendering& rendering);
std::string handRowsJson(const Performance& performance, const Rendering& rendering);

}  // namespace seguente
