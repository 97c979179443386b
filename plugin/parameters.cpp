#include "plugin/parameters.h"

#include <algorithm>
#include <cmath>

#include "plugin/plain_text.h"

namespace seguente {
namespace {

using enum ParameterKind;
using Id = ParameterId;

constexpr std::array<const char*, 3> densityWords{"lean", "medium", "full"};
constexpr std::array<const char*, 4> splitWords{"auto", "by key", "by channel", "no melody"};
constexpr std::array<const char*, 3> partWords{"as written", "on", "off"};
constexpr std::array<const char*, 2> channelWords{"one", "one a part"};
constexpr std::array<const char*, 3> timeWords{"host", "own tempo", "hands"};
constexpr std::array<const char*, 2> entryWords{"next bar", "at once"};
constexpr std::array<const char*, 8> countWords{"none", "2", "3", "4", "5", "6", "7", "8"};

constexpr Parameter switchRow(Id which, const char* id, const char* name, const char* about) {
  return {which, id, name, "", onOff, 0, 1, 1, 0, {}, about};
}
constexpr Parameter choiceRow(Id which, const char* id, const char* name, double standard,
                              std::span<const char* const> words, const char* about) {
  return {which, id, name, "", choice, 0, static_cast<double>(words.size()) - 1, 1, standard, words, about};
}

constexpr const char* partAbout = "Whether these parts sound: as the idiom writes it, always, or not at all.";

// Slot 2 is a broken bass: at home in 4/4, which is what a host counts before anybody sets it.
constexpr std::array<Parameter, parameterCount> table{{
    {Id::idiom, "idiom", "Idiom", "", slot, 0, 127, 1, 2, {}, "The way of accompanying: waltz, broken bass and so on."},
    choiceRow(Id::density, "density", "Density", 1, densityWords,
              "How busy the figure is; lean can be played by one left hand."),
    {Id::swing,
     "swing",
     "Swing ratio",
     "",
     ratio,
     0.95,
     3,
     0.05,
     0.95,
     {},
     "Long to short within a pair: 1 : 1 is straight, 2 : 1 the triplet; as written is the idiom's own."},
    choiceRow(Id::handSplit, "hand-split", "Hand split", 0, splitWords,
              "What parts the chord hand from the melody hand: auto hears which hand plays a note; the others are "
              "fixed rules."),
    {Id::splitKey,
     "split-key",
     "Split key",
     "",
     key,
     21,
     108,
     1,
     60,
     {},
     "By key, the lowest key of the melody: the keys below it are the chord hand's. C4 is the middle one."},
    {Id::chordChannel,
     "chord-channel",
     "Chord channel",
     "",
     number,
     1,
     16,
     1,
     2,
     {},
     "The channel of the chord hand when hands are parted by channel; the melody comes on all others but 10."},
    {Id::registerShift,
     "register-shift",
     "Register shift",
     "octaves",
     number,
     -2,
     2,
     1,
     0,
     {},
     "Moves the accompaniment up or down by octaves."},
    {Id::level,
     "level",
     "Accompaniment level",
     "%",
     number,
     0,
     150,
     1,
     85,
     {},
     "How loud the accompaniment is against what the idiom writes."},
    {Id::force,
     "force",
     "Force",
     "%",
     number,
     0,
     100,
     1,
     60,
     {},
     "How far the accompaniment follows the force of the chord hand."},
    switchRow(Id::keep, "keep", "Keep", "The chord stays after its keys are let go."),
    choiceRow(Id::bass, "bass", "Bass", 0, partWords, partAbout),
    choiceRow(Id::chords, "chords", "Chords", 0, partWords, partAbout),
    choiceRow(Id::counterLine, "counter-line", "Counter-line", 0, partWords, partAbout),
    choiceRow(Id::percussion, "percussion", "Percussion", 0, partWords, partAbout),
    {Id::transpose,
     "transpose",
     "Transpose",
     "semitones",
     number,
     -24,
     24,
     1,
     0,
     {},
     "Moves melody and chords together: play in C and be heard in another key."},
    choiceRow(
        Id::outputChannels, "output-channels", "Output channels", 0, channelWords,
        "Where the accompaniment goes: all on channel 1, or a channel a part from 2 up; percussion on 10 in both."),
    choiceRow(
        Id::time, "time", "Time", 0, timeWords,
        "Who gives the beat: the host, the own tempo, or your hands, in whose playing it is then found and followed."),
    {Id::ownTempo,
     "own-tempo",
     "Own tempo",
     "quarters a minute",
     number,
     30,
     300,
     0.1,
     100,
     {},
     "The tempo when the host does not give it. When hands do: about how fast you begin; 100 leaves that open."},
    switchRow(Id::waitForChord, "wait-for-chord", "Wait for my chord",
              "The figure finishes its bar and waits until the next chord is found."),
    choiceRow(Id::idiomEnters, "new-idiom-enters", "New idiom enters", 0, entryWords,
              "When an idiom that is chosen while another plays takes over."),
    {Id::handSpan,
     "hand-span",
     "Hand span",
     "semitones",
     number,
     10,
     16,
     1,
     12,
     {},
     "What one left hand can reach: lean figures stay within it."},
    switchRow(Id::bypass, "bypass", "Bypass", "Nothing of the accompaniment sounds, and all that is played passes."),
    choiceRow(Id::countIn, "count-in", "Count-in", 0, countWords,
              "When hands give the time: so many even strokes of any key count before the first downbeat."),
}};

constexpr bool inOrder() {
  for (std::size_t i = 0; i < parameterCount; ++i)
    if (static_cast<std::size_t>(table[i].which) != i) return false;
  return true;
}
static_assert(inOrder(), "a row stands where its ParameterId says");

/// Steps to one unit of the parameter: 1, 10 or 20.
int perUnit(const Parameter& row) noexcept { return row.step < 1 ? static_cast<int>(std::lround(1 / row.step)) : 1; }

std::optional<double> wordValue(std::span<const char* const> words, const std::string& typed) {
  for (std::size_t i = 0; i < words.size(); ++i)
    if (plainWord(words[i]) == typed) return static_cast<double>(i);
  return std::nullopt;
}

std::optional<double> switchValue(const std::string& typed) {
  if (typed == "on" || typed == "yes" || typed == "true" || typed == "1") return 1;
  if (typed == "off" || typed == "no" || typed == "false" || typed == "0") return 0;
  return std::nullopt;
}

/// "1.65", "1.65 : 1", "3:2" (which is 1.5).
std::optional<double> ratioValue(std::string_view typed) {
  const auto colon = typed.find(':');
  const auto side = [&](std::string_view text) { return decimalFrom(trimmed(text)); };
  const auto first = side(typed.substr(0, colon));
  if (!first || colon == std::string_view::npos) return first;
  const auto second = side(typed.substr(colon + 1));
  if (!second || *second <= 0) return std::nullopt;
  return *first / *second;
}

std::optional<double> numberValue(const Parameter& row, std::string_view typed) {
  const std::string unit = plainWord(row.unit);
  if (!unit.empty() && plainWord(typed).ends_with(unit)) typed = trimmed(typed.substr(0, typed.size() - unit.size()));
  return decimalFrom(typed);
}

}  // namespace

std::span<const Parameter, parameterCount> parameterTable() noexcept { return table; }
const Parameter& parameter(ParameterId which) noexcept { return table[static_cast<std::size_t>(which)]; }

double allowed(const Parameter& row, double value) noexcept {
  if (std::isnan(value)) return row.standard;
  const int steps = perUnit(row);
  return std::round(std::clamp(value, row.low, row.high) * steps) / steps;
}

std::string textOf(const Parameter& row, double value) {
  const double plain = allowed(row, value);
  const auto whole = static_cast<std::int64_t>(plain);
  switch (row.kind) {
    case slot:
      return std::to_string(whole + 1);
    case choice:
      return row.words[static_cast<std::size_t>(whole)];
    case onOff:
      return whole != 0 ? "on" : "off";
    case key:
      return keyText({static_cast<std::uint8_t>(whole)});
    case ratio:
      return plain <= row.low ? "as written" : decimalText(std::llround(plain * 100), 100) + " : 1";
    case number:
      break;
  }
  const int decimals = row.step < 1 ? 10 : 1;
  return (row.low < 0 && plain > 0 ? "+" : "") + decimalText(std::llround(plain * decimals), decimals);
}

std::optional<double> valueOf(const Parameter& row, std::string_view text) {
  const auto typed = trimmed(text);
  const auto word = plainWord(typed);
  std::optional<double> value;
  switch (row.kind) {
    case slot:
      value = decimalFrom(typed);
      if (value) *value -= 1;
      break;
    case choice:
      value = wordValue(row.words, word);
      break;
    case onOff:
      value = switchValue(word);
      break;
    case key:
      if (const auto found = keyFrom(typed)) value = found->value;
      break;
    case ratio:
      if (word == "as written") return row.low;
      value = ratioValue(typed);
      if (value) value = std::max(1.0, *value);
      break;
    case number:
      value = numberValue(row, typed);
      break;
  }
  if (value) value = allowed(row, *value);
  return value;
}

ParameterValues::ParameterValues() noexcept {
  for (const auto& row : table)
    values_[index(row.which)].store(static_cast<float>(row.standard), std::memory_order_relaxed);
}

SlotSet ParameterValues::used() const noexcept {
  SlotSet all(used_[1].load(std::memory_order_relaxed));
  all = all << 64 | SlotSet(used_[0].load(std::memory_order_relaxed));
  return all.set(static_cast<std::size_t>(get(ParameterId::idiom)) % slotCount);
}

}  // namespace seguente
