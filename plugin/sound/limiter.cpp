#include "plugin/sound/limiter.h"

#include <algorithm>
#include <cmath>

namespace seguente {

namespace {
// Longer than half a period of the lowest note (A0, 27.5 Hz: 18 ms), so that a loud bass is turned down as a whole and
// not within each of its waves; then slowly enough not to be heard as pumping (common practice, no source).
constexpr double holdSeconds = 0.02;
constexpr double letUpSeconds = 0.2;
}  // namespace

void Limiter::prepare(double rate) noexcept {
  factor_ = 1;
  held_ = 0;
  hold_ = static_cast<int>(rate * holdSeconds);
  letUp_ = static_cast<float>(1 - std::exp(-1 / (rate * letUpSeconds)));
}

float Limiter::process(float* left, float* right, int frames) noexcept {
  float least = factor_;
  for (int i = 0; i < frames; ++i) {
    const float l = std::isfinite(left[i]) ? left[i] : 0;
    const float r = std::isfinite(right[i]) ? right[i] : 0;
    const float peak = std::max(std::abs(l), std::abs(r));
    if (peak * factor_ > ceiling) {
      factor_ = ceiling / peak;
      held_ = hold_;
      least = std::min(least, factor_);
    } else if (held_ > 0) {
      --held_;
    } else if (factor_ < 1) {
      factor_ += (1 - factor_) * letUp_;
    }
    left[i] = std::clamp(l * factor_, -ceiling, ceiling);
    right[i] = std::clamp(r * factor_, -ceiling, ceiling);
  }
  return least;
}

}  // namespace seguente
