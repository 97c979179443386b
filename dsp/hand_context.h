// Harmony, key, chart and beat, as the judge of hands wants to know them.
#pragma once

#include "dsp/clock.h"
#include "dsp/expected.h"
#include "dsp/hand_features.h"

namespace seguente {

/// inForce: the chord that is held, null when none. [audio]
HandContext handContext(const Chord* inForce, const Key& key, const Foresight& foresight, const Clock& clock,
                        Samples at) noexcept;

}  // namespace seguente
