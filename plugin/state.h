// A saved session as text (TOML): version, parameters by id, signals, the running order that is open with its whole
// file, every slot in use with its whole pattern file, and [end], so that one that is cut off is known. No path in it.
// Older versions open for ever; what is not understood leaves everything as it was.
#pragma once

#include <array>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "plugin/parameters.h"
#include "plugin/running_order.h"
#include "plugin/shelf.h"
#include "plugin/signals.h"

namespace seguente {

inline constexpr int stateVersion = 1;

struct SavedState {
  std::array<double, parameterCount> values{};  // by ParameterId; defaults where the text says nothing
  std::array<Giver, signalCount> givers{};
  bool saysGivers = true;  // false when the text has no section of them (a preset): the player's pedals stay
  std::vector<SavedSlot> slots;
  std::optional<SavedOrder> order;  // the running order that is open
};

/// A value as it is written there and in other files of ours: "lean", 2, true. [message]
std::string stateValue(const Parameter& row, double value);

/// The same text for the same state, slots ascending. Each slot at most once, ids and texts of any bytes. [message]
std::string writeState(const SavedState& state);

struct StateResult {
  std::optional<SavedState> state;  // empty: refused whole
  std::string fault;                // one line: what was wrong, with line and column
};
/// Never throws, whatever the bytes. Refused whole: what is cut off, no TOML (of the part that state_text.h reads), of
/// a later version, a slot that is none or named twice, an idiom without text. Put right: a number out of range means
/// the nearest; NaN, or a word that means nothing, the default; a giver that cannot give, nothing. Ignored: unknown
/// keys and sections, so that a later program of this version may add some. [message]
StateResult readState(std::string_view text);

}  // namespace seguente
