// Which hand a channel speaks for: a keyboard or a file may have put each hand on a channel of its own without anybody
// having said so. What was believed of a channel's earlier notes, against that of all, is evidence for its next one;
// where all is on one channel, or both hands are on both, it says nothing.
#pragma once

#include <algorithm>
#include <array>
#include <bit>
#include <cstdint>

#include "dsp/limits.h"
#include "dsp/output.h"

namespace seguente {

/// [audio] throughout; no errors.
class ChannelHabit {
 public:
  /// What is believed of a note by how it was played alone: a belief must not feed on itself.
  void learn(std::uint8_t channel, Hand hand) noexcept {
    const auto right = static_cast<std::size_t>(hand == Hand::melody);
    ++counts_[channel][right];
    seen_ = static_cast<std::uint16_t>(seen_ | 1u << channel);
    if (++all_[right] < most) return;
    all_ = {};
    for (auto& c : counts_)
      for (std::size_t h = 0; h < 2; ++h) {
        c[h] = static_cast<std::uint16_t>(c[h] / 2);
        all_[h] = static_cast<std::uint16_t>(all_[h] + c[h]);
      }
  }
  /// The odds of the right hand that the channel adds, in 64ths: the logarithm of P(channel | right) / P(channel |
  /// left), as if one note more had come on each channel from both hands in their usual shares. Not more than `bound`,
  /// so that what is played can still speak against it.
  int odds(std::uint8_t channel) const noexcept {
    if (std::popcount(seen_) < 2) return 0;
    const auto& c = counts_[channel];
    const std::uint32_t left = all_[0] + 1u, right = all_[1] + 1u, both = left + right;
    const int sum = log(c[1] * both + right) - log(c[0] * both + left) + log(left) - log(right);
    return std::clamp(sum, -bound, bound);
  }

 private:
  static constexpr int bound = 320;           // a chance of 0.993
  static constexpr std::uint16_t most = 128;  // of one hand; then all is halved: habits change
  /// 64 times the natural logarithm, within 4 (straight between powers of two); v is never 0.
  static int log(std::uint32_t v) noexcept {
    const int whole = static_cast<int>(std::bit_width(v)) - 1;
    const auto part = static_cast<int>((v << 8 >> whole) & 255u);
    return 44 * (256 * whole + part) / 256;
  }

  std::array<std::array<std::uint16_t, 2>, limits::channels> counts_{};
  std::array<std::uint16_t, 2> all_{};
  std::uint16_t seen_ = 0;  // bit a channel
};

}  // namespace seguente
