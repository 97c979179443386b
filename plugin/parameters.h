// The one table of parameters: id, name, unit, range, default, words. Processor, state, editor, and tests read it; a
// default or a range stands nowhere else. An id, once out, keeps its meaning for ever; new rows go to the end.
#pragma once

#include <array>
#include <atomic>
#include <cstdint>
#include <optional>
#include <span>
#include <string>
#include <string_view>

#include "dsp/input.h"
#include "plugin/host_time.h"
#include "plugin/slots.h"

namespace seguente {

enum class ParameterId : std::uint8_t {
  idiom,
  density,
  swing,
  handSplit,
  splitKey,
  chordChannel,
  registerShift,
  level,
  force,
  keep,
  bass,
  chords,
  counterLine,
  percussion,
  transpose,
  outputChannels,
  time,
  ownTempo,
  waitForChord,
  idiomEnters,
  handSpan,
  bypass,
  countIn,
};
inline constexpr std::size_t parameterCount = 23;

/// How a value is shown and typed. [any]
enum class ParameterKind : std::uint8_t {
  slot,    // 0..127, shown as the title of the idiom in that slot
  choice,  // index into words
  onOff,
  number,
  key,    // a key of the keyboard, shown as C4
  ratio,  // long : short, shown as 1.65 : 1; the lowest value says "as written" (by the idiom)
};

/// One row. Values are plain (the parameter's own unit), whole numbers but where the step is below 1. Words are kept in
/// sessions, so they too keep their meaning for ever. [any]
struct Parameter {
  ParameterId which;
  const char* id;    // for ever
  const char* name;  // on the screen and in hosts
  const char* unit;  // "" when none
  ParameterKind kind;
  double low, high, step, standard;
  std::span<const char* const> words;  // of a choice
  const char* about;                   // one sentence: tooltip and help
};

std::span<const Parameter, parameterCount> parameterTable() noexcept;
const Parameter& parameter(ParameterId which) noexcept;

/// The nearest value that the row allows; the default for NaN. The result is the double nearest to its decimal. [any]
double allowed(const Parameter& row, double value) noexcept;
/// As shown, without unit: "waltz" is the shelf's business, a slot reads "1" to "128" here. No locale. [message]
std::string textOf(const Parameter& row, double value);
/// What somebody typed; empty when it means nothing. Words in any case, numbers with or without the unit, decimals with
/// point or comma; a number out of range means the nearest. valueOf(textOf(v)) is v for every allowed v. [message]
std::optional<double> valueOf(const Parameter& row, std::string_view text);

/// The values in force. Written from any thread, read once a block by the audio thread. [any] wait-free.
class ParameterValues {
 public:
  ParameterValues() noexcept;
  double get(ParameterId which) const noexcept { return values_[index(which)].load(std::memory_order_relaxed); }
  void set(ParameterId which, double plain) noexcept {
    const auto next = static_cast<float>(allowed(parameter(which), plain));
    // LV2 says in every block whether we are bypassed: what is set to what it is does not count.
    if (values_[index(which)].exchange(next, std::memory_order_relaxed) == next) return;
    if (which == ParameterId::idiom) use(static_cast<std::size_t>(next));
    changes_.fetch_add(1, std::memory_order_release);
  }
  /// The slots that are or have been chosen, or were in a session that was opened: a state keeps their idioms whole.
  SlotSet used() const noexcept;
  void useNone() noexcept {
    for (auto& word : used_) word.store(0, std::memory_order_relaxed);
  }
  void use(std::size_t slot) noexcept {
    used_[slot / 64 % 2].fetch_or(std::uint64_t{1} << (slot % 64), std::memory_order_relaxed);
  }
  /// Goes up with every change: the audio thread looks at this one number in an idle block.
  std::uint32_t changes() const noexcept { return changes_.load(std::memory_order_acquire); }

 private:
  static constexpr std::size_t index(ParameterId which) noexcept { return static_cast<std::size_t>(which); }
  std::array<std::atomic<float>, parameterCount> values_;
  std::array<std::atomic<std::uint64_t>, slotCount / 64> used_{};  // bit a slot
  std::atomic<std::uint32_t> changes_{1};
};

/// The engine's settings that the values ask for. Transposition moves the split with the keys. asked: the idiom of the
/// slot, in whose meter hands are followed (one that plays in any leaves the meter to be guessed). plays: the one that
/// sounds (in this meter), so that its percussion goes to channel 10 wherever it stands among its parts. Either is null
/// when none is known yet. [audio]
Settings settingsFrom(const ParameterValues& values, const Idiom* plays = nullptr,
                      const Idiom* asked = nullptr) noexcept;
/// Who gives the time. `meter`: of the idiom that plays. [audio]
TimeSettings timeFrom(const ParameterValues& values, Meter meter) noexcept;

}  // namespace seguente
