#include "plugin/plain_text.h"

#include <array>

#include "dsp/idiom_steps.h"

namespace seguente {
namespace {

bool digit(char c) { return c >= '0' && c <= '9'; }

constexpr std::size_t mostDigits = 9;  // exact in a double together with nine behind the point, near enough

}  // namespace

std::string_view trimmed(std::string_view text) {
  constexpr std::string_view blanks = " \t\r\n";
  const auto first = text.find_first_not_of(blanks);
  if (first == std::string_view::npos) return {};
  return text.substr(first, text.find_last_not_of(blanks) - first + 1);
}

std::string plainWord(std::string_view text) {
  std::string word(trimmed(text));
  for (char& c : word) {
    if (c >= 'A' && c <= 'Z') c = static_cast<char>(c - 'A' + 'a');
    if (c == '-') c = ' ';
  }
  return word;
}

std::optional<double> decimalFrom(std::string_view text) {
  constexpr std::string_view minusSign = "\xE2\x88\x92";  // U+2212, as typesetters and some phones write it
  bool negative = false;
  if (text.starts_with(minusSign)) {
    negative = true;
    text.remove_prefix(minusSign.size());
  } else if (!text.empty() && (text.front() == '-' || text.front() == '+')) {
    negative = text.front() == '-';
    text.remove_prefix(1);
  }
  std::int64_t digits = 0, scale = 1;
  std::size_t before = 0, behind = 0;
  while (before < text.size() && before < mostDigits && digit(text[before]))
    digits = digits * 10 + (text[before++] - '0');
  text.remove_prefix(before);
  if (!text.empty() && (text.front() == '.' || text.front() == ',')) {
    text.remove_prefix(1);
    for (; behind < text.size() && behind < mostDigits && digit(text[behind]); ++behind, scale *= 10)
      digits = digits * 10 + (text[behind] - '0');
    text.remove_prefix(behind);
  }
  if (!text.empty() || before + behind == 0) return std::nullopt;
  const double value = static_cast<double>(digits) / static_cast<double>(scale);
  return negative ? -value : value;
}

std::string decimalText(std::int64_t value, int perUnit) {
  const std::int64_t size = value < 0 ? -value : value;
  std::string text = (value < 0 ? "-" : "") + std::to_string(size / perUnit);
  if (perUnit == 1) return text;
  text += '.';
  for (std::int64_t rest = size % perUnit, place = perUnit / 10; place > 0; place /= 10)
    text += static_cast<char>('0' + rest / place % 10);
  return text;
}

std::optional<NoteNumber> keyFrom(std::string_view text) {
  if (text.empty()) return std::nullopt;
  std::string name(text);
  if (name[0] >= 'a' && name[0] <= 'g') name[0] = static_cast<char>(name[0] - 'a' + 'A');
  if (const auto key = parseNoteName(name)) return key;
  const auto number = decimalFrom(text);
  if (!number || *number < 0 || *number > 127 || *number != static_cast<int>(*number)) return std::nullopt;
  return NoteNumber{static_cast<std::uint8_t>(*number)};
}

std::string keyText(NoteNumber key) {
  constexpr std::array<const char*, 12> names{"C", "C#", "D", "D#", "E", "F", "F#", "G", "G#", "A", "A#", "B"};
  return names[key.value % 12] + std::to_string(key.value / 12 - 1);
}

}  // namespace seguente
