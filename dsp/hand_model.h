// A small net that says which hand played a note, from dsp/hand_features.h; once for the note-on, once for looking
// again. Integers throughout: the same answer on every machine, in every block. Made by ./run train hands.
#pragma once

#include "dsp/hand_features.h"

namespace seguente {

inline constexpr std::size_t handHidden1 = 64;
inline constexpr std::size_t handHidden2 = 24;

/// Weights in 64ths, biases in 4096ths; laid out by unit, so that a unit's weights lie side by side. [any]
struct HandNet {
  alignas(16) std::array<std::array<std::int16_t, handFeatureCount>, handHidden1> weights1{};
  std::array<std::int32_t, handHidden1> biases1{};
  alignas(16) std::array<std::array<std::int16_t, handHidden1>, handHidden2> weights2{};
  std::array<std::int32_t, handHidden2> biases2{};
  std::array<std::int16_t, handHidden2> weights3{};
  std::int32_t bias3 = 0;
};

/// What is needed to judge: at the note-on and when looking again. [any]
struct HandNets {
  HandNet first{};
  HandNet again{};
};

/// The table in dsp/hand_weights.inc. [any]
const HandNets& shippedHandNets() noexcept;

/// The logarithm of the odds that the right hand played it, in 64ths, -1023..1023. [audio]
int rightOdds(const HandNet& net, const HandFeatures& features) noexcept;

}  // namespace seguente
