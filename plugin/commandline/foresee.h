// Hears the whole piece first: what was heard becomes the chart of a second hearing.
#pragma once

#include <cstdint>

#include "plugin/commandline/performance.h"

namespace seguente {

/// Puts the chords that are heard in the piece into its stream, as a chart. The tempo is the file's. [message]
void foresee(Performance& performance, std::int64_t rate, std::size_t block);

}  // namespace seguente
