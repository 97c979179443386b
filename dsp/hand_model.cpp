#include "dsp/hand_model.h"

#include <algorithm>

namespace seguente {

namespace {

constexpr std::size_t handNumbers =
    handHidden1 * (handFeatureCount + 1) + handHidden2 * (handHidden1 + 1) + handHidden2 + 1;

constexpr std::array<std::int32_t, 2 * handNumbers> weightTable = {
#include "dsp/hand_weights.inc"
};

constexpr HandNet netFrom(std::size_t at) {
  HandNet net;
  for (auto& unit : net.weights1)
    for (auto& weight : unit) weight = static_cast<std::int16_t>(weightTable[at++]);
  for (auto& bias : net.biases1) bias = weightTable[at++];
  for (auto& unit : net.weights2)
    for (auto& weight : unit) weight = static_cast<std::int16_t>(weightTable[at++]);
  for (auto& bias : net.biases2) bias = weightTable[at++];
  for (auto& weight : net.weights3) weight = static_cast<std::int16_t>(weightTable[at++]);
  net.bias3 = weightTable[at];
  return net;
}

constexpr std::int32_t mostActive = 2047;  // 32; the sums stay far inside 32 bits

/// One layer: units that sum products of 16-bit numbers in 32 bits, four at a time, so that each input is fetched once
/// for four and one instruction multiplies eight.
template <std::size_t inputs, std::size_t units>
void layer(const std::array<std::array<std::int16_t, inputs>, units>& weights,
           const std::array<std::int32_t, units>& biases, const std::array<std::int16_t, inputs>& in,
           std::array<std::int16_t, units>& out) noexcept {
  static_assert(units % 4 == 0);
  for (std::size_t u = 0; u < units; u += 4) {
    const auto &a = weights[u], &b = weights[u + 1], &c = weights[u + 2], &d = weights[u + 3];
    std::array<std::int32_t, 4> sums{};
    for (std::size_t i = 0; i < inputs; ++i) {
      const auto x = static_cast<std::int32_t>(in[i]);
      sums[0] += a[i] * x;
      sums[1] += b[i] * x;
      sums[2] += c[i] * x;
      sums[3] += d[i] * x;
    }
    for (std::size_t k = 0; k < 4; ++k)
      out[u + k] = static_cast<std::int16_t>(std::clamp((sums[k] + biases[u + k]) >> 6, 0, mostActive));
  }
}

}  // namespace

const HandNets& shippedHandNets() noexcept {
  static constexpr HandNets nets{netFrom(0), netFrom(handNumbers)};
  return nets;
}

int rightOdds(const HandNet& net, const HandFeatures& features) noexcept {
  alignas(16) std::array<std::int16_t, handHidden1> one;
  layer(net.weights1, net.biases1, features, one);
  alignas(16) std::array<std::int16_t, handHidden2> two;
  layer(net.weights2, net.biases2, one, two);
  std::int32_t sum = net.bias3;
  for (std::size_t i = 0; i < handHidden2; ++i) sum += net.weights3[i] * two[i];
  return std::clamp(sum >> 6, -1023, 1023);
}

}  // namespace seguente
