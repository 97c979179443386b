// A saved session as text (TOML): version, parameters by id, signals, and every slot in use with its whole pattern
// file. No path in it. Older versions open for ever; what is not understood leaves everything as it was.
#pragma once

#include <array>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "plugin/parameters.h"
#include "plugin/shelf.h"
#include "plugin/signals.h"

namespace seguente {

inline constexpr int stateVersion = 1;

struct SavedState {
  std::array<double, parameterCount> values{};  // by ParameterId; defaults where the text says nothing
  std::array<Giver, signalCount> givers{};
  std::vector<SavedSlot> slots;
};

std::string writeState(const SavedState& state);

struct StateResult {
  std::optional<SavedState> state;  // empty: refused whole
  std::string fault;                // one line: what was wrong, with line and column
};
/// A state of a later version is refused with a word; unknown keys are ignored (a later minor one may add them).
StateResult readState(std::string_view text);

}  // namespace seguente
