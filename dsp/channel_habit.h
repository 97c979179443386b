// Which hand a channel speaks for: a keyboard or a file may have put each hand on a channel of its own without anybody
// having said so. What was believed of a channel's earlier notes, against that of all, is evidence for its next one;
// where all is on one channel, or both hands are on both, it says nothing.
#pragma once

#include <array>
#include <bit>
#include <cstdint>

#include "dsp/limits.h"
#include "dsp/output.h"

namespace seguente {

/// [audio] throughout; no errors.
class ChannelHabit {
 public:
  /// What is finally believed of a note.
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
  /// The odds of the right hand that the channel adds, in 64ths: log of P(channel | right) / P(channel | left), each
  /// count begun at a half; not more than `bound`, so that what is played can still speak against it.
  int odds(std::uint8_t channel) const noexcept {
    if (std::popcount(seen_) < 2) return 0;
    const auto& c = counts_[channel];
    const int sum = log(2u * c[1] + 1) - log(2u * all_[1] + 2) - log(2u * c[0] + 1) + log(2u * all_[0] + 2);
    return sum > bound ? bound : sum < -bound ? -bound : sum;
  }

 private:
  static constexpr int bound = 192;            // a chance of 0.95
  static constexpr std::uint16_t most = 128;   // of one hand; then all is halved: habits change
  /// 64 times the natural logarithm, within 4: straight between powers of two.
  static int log(std::uint32_t v) noexcept {
    const int whole = std::bit_width(v) - 1;
    const auto part = static_cast<int>((v << 8 >> whole) & 255u);
    return 44 * (256 * whole + part) / 256;
  }

  std::array<std::array<std::uint16_t, 2>, limits::channels> counts_{};
  std::array<std::uint16_t, 2> all_{};
  std::uint16_t seen_ = 0;  // bit a channel
};

}  // namespace seguente
