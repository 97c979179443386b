// How many slots of idioms there are, for ever: a parameter, a program change and a session mean them by number.
#pragma once

#include <bitset>
#include <cstddef>

namespace seguente {

inline constexpr std::size_t slotCount = 128;
/// Some of them. [any]
using SlotSet = std::bitset<slotCount>;

}  // namespace seguente
