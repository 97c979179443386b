// A running order: presets (an idiom with its settings) in the order of an evening or a lesson, as one TOML file that
// somebody can write by hand and send. presets/README.md describes it to those who write one.
#pragma once

#include <array>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "dsp/idiom_file.h"
#include "plugin/parameters.h"

namespace seguente {

/// Values by ParameterId; empty: not named. [any]
using NamedSettings = std::array<std::optional<double>, parameterCount>;

struct OrderPreset {
  std::string title;  // as it is announced
  std::string about;  // a line for the player, may be empty
  std::string idiom;  // its id
  NamedSettings settings{};
  int line = 1;  // where it begins
};

inline constexpr std::size_t mostPresets = 128;

struct RunningOrder {
  std::string title, about;
  NamedSettings settings{};  // of every preset that does not say otherwise
  std::vector<OrderPreset> presets;

  /// Whether a row is anybody's: named by the order or by one of its presets. What is nobody's is left as it is.
  bool names(ParameterId which) const;
  /// What a row has in a preset: what that names, else what the order does, else the usual value. [message]
  double valueIn(std::size_t preset, ParameterId which) const;
};

/// The order that is open as a state keeps it, whole: it opens the same on another machine. [message]
struct SavedOrder {
  std::string name;
  std::string text;
  int place = 0;
};

/// An order, or every fault of its meaning (of its syntax the first); never half of each. [message]
struct OrderResult {
  std::optional<RunningOrder> order;
  std::vector<Fault> faults;
};
/// Never throws, whatever the bytes. file: its name, for the faults. Whether the idioms exist is not looked at.
/// [message]
OrderResult readOrder(std::string_view text, const std::string& file);

/// Whether a setting is the piece's (density, swing, transpose ...) and not the player's (hand split, channels ...):
/// only those are written down for somebody who asks for a preset of what is set now. [any]
bool ofThePiece(ParameterId which) noexcept;
/// A preset as it stands in a file: what is of the piece and not usual, or is named elsewhere in the order. [message]
std::string presetText(const std::string& title, const std::string& idiom, const ParameterValues& values,
                       const RunningOrder* order);
/// The head of a new file. [message]
std::string orderHead(const std::string& title);

}  // namespace seguente
