// Which member of an idiom's family plays in a meter.
#pragma once

#include "dsp/idiom.h"

namespace seguente {

/// The idiom itself, its relative for that meter, or null when neither fits. [any] O(relatives).
inline const Idiom* inMeter(const Idiom& idiom, Meter meter) noexcept {
  if (idiom.anyMeter || idiom.meter == meter) return &idiom;
  for (const Relative& r : idiom.relatives)
    if (r.meter == meter && r.idiom != nullptr) return r.idiom;
  for (const Relative& r :
       idiom.relatives)  // a relative of any meter (held chords) stands in for all that are not named
    if (r.idiom != nullptr && r.idiom->anyMeter) return r.idiom;
  return nullptr;
}

}  // namespace seguente
