#include "plugin/signals.h"

#include <cmath>

#include "plugin/plain_text.h"

namespace seguente {
namespace {

struct SignalWords {
  const char* name;
  const char* id;
};
constexpr std::array<SignalWords, signalCount> words{{{"Hold", "hold"},
                                                      {"Go on", "go-on"},
                                                      {"End", "end"},
                                                      {"Next", "next"},
                                                      {"Previous", "previous"},
                                                      {"Silence all", "silence-all"},
                                                      {"Round", "round"},
                                                      {"Turnaround", "turnaround"},
                                                      {"Tag", "tag"}}};

constexpr std::size_t indexOf(Signal signal) noexcept { return static_cast<std::size_t>(signal); }

constexpr std::uint32_t packed(Giver g) noexcept {
  return static_cast<std::uint32_t>(g.kind) << 16 | static_cast<std::uint32_t>(g.channel) << 8 | g.number;
}
constexpr Giver unpacked(std::uint32_t bits) noexcept {
  return {static_cast<GiverKind>(bits >> 16), static_cast<std::uint8_t>(bits >> 8 & 0x0F),
          static_cast<std::uint8_t>(bits & 0x7F)};
}

constexpr int pressedFrom = 64;  // MIDI 1.0: a switch is on from 64

std::optional<int> wholeFrom(std::string_view text, int low, int high) {
  const auto number = decimalFrom(trimmed(text));
  if (!number || *number < low || *number > high || std::floor(*number) != *number) return std::nullopt;
  return static_cast<int>(*number);
}

/// "controller 67" -> 67 when the word is "controller".
std::optional<std::string_view> behind(std::string_view text, std::string_view word) {
  if (text.size() <= word.size() || plainWord(text.substr(0, word.size())) != word) return std::nullopt;
  if (text[word.size()] != ' ') return std::nullopt;
  return trimmed(text.substr(word.size()));
}

}  // namespace

const char* nameOf(Signal signal) noexcept { return words[indexOf(signal)].name; }
const char* idOf(Signal signal) noexcept { return words[indexOf(signal)].id; }

std::string textOf(Giver giver) {
  if (!canGive(giver)) return "nothing";
  const std::string channel = ", channel " + std::to_string(giver.channel + 1);
  if (giver.kind == GiverKind::key) return "key " + keyText({giver.number}) + channel;
  return "controller " + std::to_string(giver.number) + channel;
}

std::optional<Giver> giverFrom(std::string_view text) {
  if (plainWord(text) == "nothing") return Giver{};
  const auto comma = text.find(',');
  if (comma == std::string_view::npos) return std::nullopt;
  const auto what = trimmed(text.substr(0, comma));
  const auto channelText = behind(trimmed(text.substr(comma + 1)), "channel");
  const auto channel = channelText ? wholeFrom(*channelText, 1, 16) : std::nullopt;
  if (!channel) return std::nullopt;
  Giver giver{GiverKind::nothing, static_cast<std::uint8_t>(*channel - 1), 0};
  if (const auto number = behind(what, "controller")) {
    const auto controller = wholeFrom(*number, 0, 119);
    if (!controller) return std::nullopt;
    giver.kind = GiverKind::controller;
    giver.number = static_cast<std::uint8_t>(*controller);
  } else if (const auto name = behind(what, "key")) {
    const auto key = keyFrom(*name);
    if (!key) return std::nullopt;
    giver.kind = GiverKind::key;
    giver.number = key->value;
  } else {
    return std::nullopt;
  }
  return giver;
}

bool SignalMap::Bits::has(int channel, int number) const noexcept {
  const auto word = words[static_cast<std::size_t>(channel)][static_cast<std::size_t>(number >> 6)];
  return (word >> (number & 63) & 1u) != 0;
}

void SignalMap::Bits::put(int channel, int number, bool down) noexcept {
  auto& word = words[static_cast<std::size_t>(channel)][static_cast<std::size_t>(number >> 6)];
  const auto bit = std::uint64_t{1} << (number & 63);
  word = down ? word | bit : word & ~bit;
}

void SignalMap::set(Signal signal, Giver giver) noexcept {
  const auto bits = canGive(giver) ? packed(giver) : 0u;
  for (std::size_t i = 0; bits != 0 && i < signalCount; ++i) {
    auto same = bits;
    if (i != indexOf(signal)) givers_[i].compare_exchange_strong(same, 0, std::memory_order_relaxed);
  }
  givers_[indexOf(signal)].store(bits, std::memory_order_relaxed);
}

Giver SignalMap::get(Signal signal) const noexcept {
  return unpacked(givers_[indexOf(signal)].load(std::memory_order_relaxed));
}

void SignalMap::learn(std::optional<Signal> signal) noexcept {
  learning_.store(signal ? static_cast<int>(*signal) : -1, std::memory_order_relaxed);
}

std::optional<Signal> SignalMap::learning() const noexcept {
  const int signal = learning_.load(std::memory_order_relaxed);
  return signal < 0 ? std::nullopt : std::optional(static_cast<Signal>(signal));
}

std::optional<Signal> SignalMap::servedBy(Giver giver) const noexcept {
  const auto bits = packed(giver);
  for (std::size_t i = 0; i < signalCount; ++i)
    if (givers_[i].load(std::memory_order_relaxed) == bits) return static_cast<Signal>(i);
  return std::nullopt;
}

SignalHeard SignalMap::press(Downs& downs, Giver giver) noexcept {
  int learning = learning_.load(std::memory_order_relaxed);
  const bool wasDown = downs.taken.has(giver.channel, giver.number);
  if (learning >= 0 && learning_.compare_exchange_strong(learning, -1, std::memory_order_relaxed)) {
    set(static_cast<Signal>(learning), giver);
    downs.taken.put(giver.channel, giver.number, true);
    return {true, std::nullopt};
  }
  const auto signal = servedBy(giver);
  (signal ? downs.taken : downs.passed).put(giver.channel, giver.number, true);
  if (!signal) return {};
  // A controller sends many values on its way down, a key is struck anew each time.
  return {true, giver.kind == GiverKind::controller && wasDown ? std::nullopt : signal};
}

bool SignalMap::release(Downs& downs, Giver giver) noexcept {
  const bool passed = downs.passed.has(giver.channel, giver.number);
  const bool taken = downs.taken.has(giver.channel, giver.number);
  downs.passed.put(giver.channel, giver.number, false);
  downs.taken.put(giver.channel, giver.number, false);
  return taken && !passed;  // what was passed is closed where it was heard
}

SignalHeard SignalMap::hear(const MidiMessage& m) noexcept {
  if (m.length < 3 || m.bytes[0] < 0x80 || m.bytes[0] >= 0xC0) return {};
  Giver giver{GiverKind::key, m.channel(), static_cast<std::uint8_t>(m.bytes[1] & 0x7F)};
  if (m.noteOn()) return press(keys_, giver);
  if (m.noteOff()) return {release(keys_, giver), std::nullopt};
  if (m.kind() == 0xA0) return {keys_.taken.has(giver.channel, giver.number), std::nullopt};  // a key's pressure
  giver.kind = GiverKind::controller;
  if (!canGive(giver)) return {};
  if ((m.bytes[2] & 0x7F) >= pressedFrom) return press(controllers_, giver);
  const bool passedBefore = controllers_.passed.has(giver.channel, giver.number);
  const bool ours = release(controllers_, giver);
  return {ours || (!passedBefore && servedBy(giver)), std::nullopt};
}

void SignalMap::forget() noexcept { keys_ = controllers_ = {}; }

}  // namespace seguente
