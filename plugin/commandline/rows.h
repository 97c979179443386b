// The rows of `chords` and `hands`, as tab-separated lines and as JSON.
#pragma once

#include <string>

#include "plugin/commandline/options.h"
#include "plugin/commandline/performance.h"
#include "plugin/commandline/render.h"

namespace seguente {

std::string chordRowsTsv(const Rendering& rendering);
std::string chordRowsJson(const Rendering& rendering);
std::string handRowsTsv(const Performance& performance, const Rendering& rendering);
std::string handRowsJson(const Performance& performance, const Rendering& rendering);

/// When not a single chord was heard: one line that says so and what may help; else "". [message]
std::string noChordsText(const Rendering& rendering, const HearingOptions& options);

}  // namespace seguente
