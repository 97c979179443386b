#include "dsp/hand_model.h"

#include <algorithm>

namespace seguente {

namespace {

constexpr std::size_t handNumbers = handHidden1 * (handFeatureCount + 1) + handHidden2 * (handHidden1 + 1) + handHidden2 + 1;

constexpr std::array<std::int32_t, 2 * handNumbers> table = {
#include "dsp/hand_weights.inc"
};

constexpr HandNet netFrom(std::size_t at) {
  HandNet net;
  for (auto& unit : net.weights1)
    for (auto& weight : unit) weight = static_cast<std::int16_t>(table[at++]);
  for (auto& bias : net.biases1) bias = table[at++];
  for (auto& unit : net.weights2)
    for (auto& weight : unit) weight = static_cast<std::int16_t>(table[at++]);
  for (auto& bias : net.biases2) bias = table[at++];
  for (auto& weight : net.weights3) weight = static_cast<std::int16_t>(table[at++]);
  net.bias3 = table[at];
  return net;
}

/// Products of 16-bit numbers summed in 32 bits, a fixed count of them: one instruction does eight.
template <std::size_t count>
std::int32_t dot(const std::array<std::int16_t, count>& a, const std::array<std::int16_t, count>& b) noexcept {
  std::int32_t sum = 0;
  for (std::size_t i = 0; i < count; ++i) sum += static_cast<std::int32_t>(a[i]) * static_cast<std::int32_t>(b[i]);
  return sum;
}

constexpr std::int32_t mostActive = 2047;  // 32; the sums below stay far inside 32 bits

}  // namespace

const HandNets& shippedHandNets() noexcept {
  static constexpr HandNets nets{netFrom(0), netFrom(handNumbers)};
  return nets;
}

int rightOdds(const HandNet& net, const HandFeatures& features) noexcept {
  std::array<std::int16_t, handHidden1> one;
  for (std::size_t i = 0; i < handHidden1; ++i)
    one[i] = static_cast<std::int16_t>(std::clamp((dot(net.weights1[i], features) + net.biases1[i]) >> 6, 0, mostActive));
  std::array<std::int16_t, handHidden2> two;
  for (std::size_t i = 0; i < handHidden2; ++i)
    two[i] = static_cast<std::int16_t>(std::clamp((dot(net.weights2[i], one) + net.biases2[i]) >> 6, 0, mostActive));
  return std::clamp((dot(net.weights3, two) + net.bias3) >> 6, -1023, 1023);
}

}  // namespace seguente
