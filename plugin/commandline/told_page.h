// What a rendering tells a page, in order of time.
#pragma once

#include <vector>

#include "plugin/commandline/performance.h"
#include "plugin/commandline/render.h"
#include "plugin/page/writer.h"

namespace seguente {

/// Time, swing, our notes, the tune and the chords as they were heard in the end. [message]
std::vector<page::Told> toldOf(const Performance& performance, const Rendering& rendering);

/// The key that the piece was found to be in, at its end. [message]
Key keyOf(const Rendering& rendering);

}  // namespace seguente
