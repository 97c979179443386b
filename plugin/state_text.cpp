#include "plugin/state_text.h"

#include <algorithm>
#include <limits>

#include "plugin/plain_text.h"

namespace seguente {
namespace {

constexpr bool control(char c) { return (static_cast<unsigned char>(c) < 0x20 && c != '\t') || c == 0x7F; }
constexpr bool further(char c) { return (static_cast<unsigned char>(c) & 0xC0) == 0x80; }  // UTF-8's further bytes

constexpr bool inWord(char c, bool dots) {
  return (c >= 'a' && c <= 'z') || (c >= 'A' && c <= 'Z') || (c >= '0' && c <= '9') || c == '_' || c == '-' ||
         (dots && c == '.');
}

std::optional<std::uint32_t> hexadecimal(std::string_view digits) {
  std::uint32_t value = 0;
  for (const char c : digits) {
    constexpr std::string_view known = "0123456789abcdef";
    const auto digit = known.find(c >= 'A' && c <= 'F' ? static_cast<char>(c - 'A' + 'a') : c);
    if (digit == std::string_view::npos) return std::nullopt;
    value = value << 4 | static_cast<std::uint32_t>(digit);
  }
  return value;
}

/// Unicode 15, table 3-6.
void appendLetter(std::string& to, std::uint32_t letter) {
  const auto more = [&](unsigned shift) { to += static_cast<char>(0x80 | (letter >> shift & 0x3F)); };
  if (letter < 0x80) {
    to += static_cast<char>(letter);
  } else if (letter < 0x800) {
    to += static_cast<char>(0xC0 | letter >> 6);
    more(0);
  } else if (letter < 0x10000) {
    to += static_cast<char>(0xE0 | letter >> 12);
    more(6), more(0);
  } else {
    to += static_cast<char>(0xF0 | letter >> 18);
    more(12), more(6), more(0);
  }
}

}  // namespace

StateReader::StateReader(std::string_view text) : text_(text) {
  if (text_.starts_with("\xEF\xBB\xBF")) at_ = 3;  // a byte-order mark
}

void StateReader::refuse(std::size_t at, std::string found, std::string expected) {
  if (fault_) return;
  const auto before = text_.substr(0, std::min(at, text_.size()));
  const auto lineStart = before.rfind('\n') == std::string_view::npos ? 0 : before.rfind('\n') + 1;
  const auto line = before.substr(lineStart);
  const auto letters = line.size() - static_cast<std::size_t>(std::count_if(line.begin(), line.end(), further));
  fault_ = Fault{"session", 1 + static_cast<int>(std::count(before.begin(), before.end(), '\n')),
                 1 + static_cast<int>(letters), std::move(found), std::move(expected)};
}

/// A fault of syntax, here.
bool StateReader::no(std::string expected) {
  std::string found = "the end";
  if (!done() && control(peek()))
    found = peek() == '\n' ? "the end of the line" : "a control character";
  else if (!done() && static_cast<unsigned char>(peek()) >= 0x80)
    found = "a letter beyond ASCII outside quotation marks";
  else if (!done())
    found = std::string("\"") + peek() + "\"";
  refuse(at_, std::move(found), std::move(expected));
  return false;
}

void StateReader::blanks() {
  while (peek() == ' ' || peek() == '\t') ++at_;
}

/// What may stand behind a value: blanks, a remark, the end of the line.
bool StateReader::lineEnd() {
  blanks();
  if (peek() == '#')
    while (!done() && (!control(peek()) || (peek() == '\r' && peek(1) != '\n'))) ++at_;
  if (peek() == '\r' && peek(1) == '\n') ++at_;
  if (done()) return true;
  if (peek() != '\n') return no("the end of the line");
  ++at_;
  return true;
}

bool StateReader::emptyLines() {
  while (!done()) {
    blanks();
    if (done() || (peek() != '#' && peek() != '\n' && peek() != '\r')) return true;
    if (!lineEnd()) return false;
  }
  return true;
}

std::string_view StateReader::word(bool dots) {
  const auto from = at_;
  while (inWord(peek(), dots)) ++at_;
  return text_.substr(from, at_ - from);
}

std::optional<StateToken> StateReader::next() {
  if (fault_ || !emptyLines() || done()) return std::nullopt;
  StateToken token;
  token.at = at_;
  const bool good = peek() == '[' ? section(token) : value(token);
  if (!good || !lineEnd()) return std::nullopt;
  return token;
}

bool StateReader::section(StateToken& token) {
  const bool listed = peek(1) == '[';
  token.item = listed ? StateItem::listed : StateItem::section;
  at_ += listed ? 2 : 1;
  blanks();
  token.name = word(true);
  if (token.name.empty()) return no("the name of a section");
  blanks();
  for (int i = 0; i < (listed ? 2 : 1); ++i, ++at_)
    if (peek() != ']') return no("the bracket that closes the section's name");
  return true;
}

bool StateReader::value(StateToken& token) {
  token.name = word(false);
  if (token.name.empty()) return no("a key, or a section in brackets");
  blanks();
  if (peek() != '=') return no("an equals sign");
  ++at_;
  blanks();
  const char quote = peek();
  if (quote != '"' && quote != '\'') return plain(token);
  token.kind = StateKind::text;
  if (peek(1) == quote && peek(2) == quote) return severalLines(token, quote);
  return quoted(token, quote);
}

bool StateReader::quoted(StateToken& token, char quote) {
  ++at_;
  while (!done() && peek() != quote) {
    if (control(peek())) return no("the quotation mark that closes the text");
    if (peek() == '\\' && quote == '"') {
      if (!escape(token.text)) return false;
    } else {
      token.text += text_[at_++];
    }
  }
  if (done()) return no("the quotation mark that closes the text");
  ++at_;
  return true;
}

bool StateReader::severalLines(StateToken& token, char quote) {
  const std::string fence(3, quote);
  at_ += 3;
  if (peek() == '\r' && peek(1) == '\n') ++at_;
  if (peek() == '\n') ++at_;  // TOML 1.0: the first line end is not part of the text
  while (!done() && text_.substr(at_, 3) != fence) {
    const bool end = peek() == '\n' || (peek() == '\r' && peek(1) == '\n');
    if (control(peek()) && !end) return no("no control character in a text but by its escape");
    if (peek() == '\\' && quote == '"') {
      if (!escape(token.text)) return false;
    } else {
      token.text += text_[at_++];
    }
  }
  if (done()) return no("the three quotation marks that close the text");
  at_ += 3;
  return true;
}

bool StateReader::escape(std::string& into) {
  constexpr std::string_view names = "btnfr\"\\", meanings = "\b\t\n\f\r\"\\";
  const char name = peek(1);
  if (const auto known = names.find(name); name != '\0' && known != std::string_view::npos) {
    into += meanings[known];
    at_ += 2;
    return true;
  }
  const std::size_t digits = name == 'u' ? 4 : name == 'U' ? 8 : 0;
  const auto letter = digits > 0 && at_ + 2 + digits <= text_.size() ? hexadecimal(text_.substr(at_ + 2, digits))
                                                                     : std::optional<std::uint32_t>{};
  if (!letter || *letter > 0x10FFFF || (*letter >= 0xD800 && *letter < 0xE000)) return no("an escape of TOML");
  appendLetter(into, *letter);
  at_ += 2 + digits;
  return true;
}

bool StateReader::plain(StateToken& token) {
  const auto from = at_;
  while (inWord(peek(), true) || peek() == '+') ++at_;
  const auto written = text_.substr(from, at_ - from);
  const bool negative = written.starts_with('-');
  const auto unsignedPart = negative || written.starts_with('+') ? written.substr(1) : written;
  constexpr double infinite = std::numeric_limits<double>::infinity();
  token.kind = StateKind::number;
  if (written == "true" || written == "false") {
    token.kind = StateKind::truth;
    token.truth = written == "true";
  } else if (unsignedPart == "nan") {
    token.number = std::numeric_limits<double>::quiet_NaN();
  } else if (unsignedPart == "inf") {
    token.number = negative ? -infinite : infinite;
  } else if (const auto number = decimalFrom(written)) {
    token.number = *number;
  } else {
    at_ = from;
    return no("a text, a number, true or false");
  }
  return true;
}

namespace {

/// In TOML's own text of several lines nothing is escaped, so it holds no three quotation marks and no control
/// character; and none at the end, where they would run into those that close it.
bool asItIs(std::string_view text) {
  const bool controls = std::any_of(text.begin(), text.end(), [](char c) { return control(c) && c != '\n'; });
  return !controls && text.find("'''") == std::string_view::npos && !text.ends_with('\'');
}

std::string escaped(std::string_view text, bool oneLine) {
  constexpr std::string_view digits = "0123456789ABCDEF";
  std::string result;
  for (std::size_t i = 0; i < text.size(); ++i) {
    const char c = text[i];
    const bool mark = c == '"' && (oneLine || i + 1 == text.size() || text[i + 1] == '"');
    if (c == '\\' || mark)
      (result += '\\') += c;
    else if (c == '\r')
      result += "\\r";
    else if (c == '\n' && oneLine)
      result += "\\n";
    else if (control(c) && c != '\n')
      ((result += "\\u00") += digits[static_cast<unsigned char>(c) >> 4]) += digits[c & 0xF];
    else
      result += c;
  }
  return result;
}

}  // namespace

std::string stateText(std::string_view text) {
  if (asItIs(text)) return "'''\n" + std::string(text) + "'''";
  return "\"\"\"\n" + escaped(text, false) + "\"\"\"";
}

std::string stateWord(std::string_view text) { return '"' + escaped(text, true) + '"'; }

}  // namespace seguente
