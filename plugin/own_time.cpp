#include "plugin/own_time.h"

#include <cmath>

namespace seguente {

void FirstChord::strike(Samples at, int beats, double beatSamples, bool countIn) noexcept {
  if (begins_ || counting()) return;
  restingSince_.reset();
  ending_ = false;
  begins_ = at;
  if (!countIn || beats <= 0) return;
  counted_ = at;
  beats_ = beats;
  beatSamples_ = beatSamples;
  told_ = 0;
  begins_ = Samples{at.value + std::llround(beatSamples * beats)};
}

std::optional<Samples> FirstChord::beginsBefore(Samples until) noexcept {
  if (!begins_ || *begins_ >= until) return {};
  const auto at = *begins_;
  begins_.reset();
  return at;
}

/// On at each beat, off a quarter of a beat later.
std::optional<Click> FirstChord::clickBefore(Samples until) noexcept {
  if (!counting()) return {};
  const int beat = told_ / 2;
  const bool on = told_ % 2 == 0;
  const Samples at{counted_.value + std::llround(beatSamples_ * (beat + (on ? 0 : 0.25)))};
  if (at >= until) return {};
  if (++told_ == 2 * beats_) beats_ = 0;
  return Click{at, on, beat == 0};
}

bool FirstChord::restedFor(Samples bar, Samples now, bool sounds, bool held) noexcept {
  if (sounds || (held && !ending_)) {
    restingSince_.reset();
    return false;
  }
  if (!restingSince_) restingSince_ = now;
  if (now - *restingSince_ < bar) return false;
  ending_ = false;
  restingSince_.reset();
  return true;
}

}  // namespace seguente
