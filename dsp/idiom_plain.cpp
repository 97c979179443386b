// The quick way through a pattern file that is written as the guide writes it: tables, rows, texts and numbers in plain
// ASCII. It gives up on whatever else TOML has, and on every fault: then the TOML library reads the file and finds the
// words. A shelf of many files opens five times as fast for it (./run bench shelf).
#include <algorithm>
#include <charconv>
#include <vector>

#include "dsp/idiom_source.h"

namespace seguente {
namespace {

class PlainReader {
 public:
  explicit PlainReader(std::string_view text) : text_(text) { root_.kind = SourceKind::table; }

  std::optional<SourceValue> read() {
    const auto strange = [](char c) { return (c < 0x20 && c != '\n' && c != '\t') || c >= 0x7F || c == '\\'; };
    if (std::any_of(text_.begin(), text_.end(), strange)) return std::nullopt;
    SourceValue* table = &root_;
    for (skipLines(); at_ < text_.size(); skipLines()) {
      const bool good = text_[at_] == '[' ? header(table) : member(*table) && endOfLine();
      if (!good) return std::nullopt;
    }
    return std::move(root_);
  }

 private:
  char here() const { return at_ < text_.size() ? text_[at_] : '\0'; }
  bool take(char c) {
    if (here() != c) return false;
    ++at_;
    return true;
  }
  void skipBlanks() {
    while (here() == ' ' || here() == '\t') ++at_;
  }
  void skipRemark() {
    if (here() == '#')
      while (at_ < text_.size() && text_[at_] != '\n') ++at_;
  }
  void skipLines() {
    for (;;) {
      skipBlanks();
      skipRemark();
      if (here() != '\n') return;
      ++at_;
    }
  }
  bool endOfLine() {
    skipBlanks();
    skipRemark();
    return at_ == text_.size() || take('\n');
  }

  static bool plainLetter(char c) {
    return (c >= 'a' && c <= 'z') || (c >= 'A' && c <= 'Z') || (c >= '0' && c <= '9') || c == '_' || c == '-';
  }

  /// A bare or quoted key; empty when there is none.
  std::string_view key() {
    if (here() == '"') return quoted().value_or(std::string_view{});
    const auto from = at_;
    while (plainLetter(here())) ++at_;
    return text_.substr(from, at_ - from);
  }

  std::optional<std::string_view> quoted() {
    if (!take('"')) return std::nullopt;
    const auto from = at_;
    while (at_ < text_.size() && text_[at_] != '"' && text_[at_] != '\n') ++at_;
    const auto inside = text_.substr(from, at_ - from);
    if (!take('"') || here() == '"') return std::nullopt;  // """: a text of several lines
    return inside;
  }

  /// A new member of a table; null when its name is taken.
  static SourceValue* add(SourceValue& table, std::string_view name) {
    if (name.empty() || table.member(name) != nullptr) return nullptr;
    table.table.push_back({std::string(name), {}, {}});
    return &table.table.back().value;
  }
  static SourceValue* found(SourceValue& table, std::string_view name) {
    for (auto& m : table.table)
      if (m.key == name) return &m.value;
    return nullptr;
  }

  /// [name], [name.name] and [[name.name]]: each once, and only inside what headers made.
  bool header(SourceValue*& table) {
    ++at_;
    const bool list = take('[');
    const auto first = key();
    const bool dotted = take('.');
    const auto second = dotted ? key() : std::string_view{};
    if (first.empty() || dotted == second.empty() || !take(']') || (list && !take(']')) || !endOfLine()) return false;
    if (!dotted) return !list && open(root_, first, table, list, std::string(first));
    SourceValue* outer = found(root_, first);
    if (outer == nullptr) {
      outer = add(root_, first);
      outer->kind = SourceKind::table;
      made_.emplace_back(first);
    } else if (std::find(made_.begin(), made_.end(), first) == made_.end()) {
      return false;  // a table in braces, or no table
    }
    return open(*outer, second, table, list, std::string(first) + "." + std::string(second));
  }

  bool open(SourceValue& outer, std::string_view name, SourceValue*& table, bool list, std::string path) {
    SourceValue* inner = found(outer, name);
    if (inner != nullptr && (!list || std::find(lists_.begin(), lists_.end(), path) == lists_.end())) return false;
    if (inner == nullptr) {
      inner = add(outer, name);
      inner->kind = list ? SourceKind::list : SourceKind::table;
      (list ? lists_ : made_).push_back(std::move(path));
    }
    table = inner;
    if (list) {
      table = &inner->list.emplace_back();
      table->kind = SourceKind::table;
    }
    return true;
  }

  bool member(SourceValue& table) {
    SourceValue* const place = add(table, key());
    skipBlanks();
    if (place == nullptr || !take('=')) return false;
    skipBlanks();
    return value(*place);
  }

  bool value(SourceValue& into) {
    const char c = here();
    if (c == '[' || c == '{') {
      if (depth_ == deepest) return false;
      ++depth_;
      const bool good = c == '[' ? list(into) : braces(into);
      --depth_;
      return good;
    }
    if (c == '"') {
      const auto text = quoted();
      if (!text) return false;
      into.kind = SourceKind::text;
      into.text = *text;
      return true;
    }
    const auto from = at_;
    while (plainLetter(here()) || here() == '.') ++at_;
    const auto word = text_.substr(from, at_ - from);
    if (word == "true" || word == "false") {
      into.kind = SourceKind::truth;
      into.truth = word == "true";
      return true;
    }
    return number(word, into);
  }

  static bool number(std::string_view word, SourceValue& into) {
    auto digits = word;
    if (digits.starts_with('-')) digits.remove_prefix(1);
    const auto point = digits.find('.');
    const auto whole = digits.substr(0, point);
    const auto allDigits = [](std::string_view s) {
      return !s.empty() && s.size() <= 15 &&
             std::all_of(s.begin(), s.end(), [](char c) { return c >= '0' && c <= '9'; });
    };
    if (!allDigits(whole) || (whole.size() > 1 && whole.front() == '0')) return false;
    if (point == std::string_view::npos) {
      into.kind = SourceKind::integer;
      return std::from_chars(word.data(), word.data() + word.size(), into.integer).ec == std::errc{};
    }
    if (!allDigits(digits.substr(point + 1))) return false;
    into.kind = SourceKind::decimal;
    into.decimal = std::stod(std::string(word));
    return true;
  }

  bool list(SourceValue& into) {
    ++at_;
    into.kind = SourceKind::list;
    for (skipLines(); !take(']'); skipLines()) {
      if (!value(into.list.emplace_back())) return false;
      skipLines();
      if (!take(',') && here() != ']') return false;
    }
    return true;
  }

  bool braces(SourceValue& into) {
    ++at_;
    into.kind = SourceKind::table;
    into.table.reserve(5);  // a row
    skipBlanks();
    if (take('}')) return true;
    for (;;) {
      if (!member(into)) return false;
      skipBlanks();
      if (take('}')) return true;
      if (!take(',')) return false;
      skipBlanks();
    }
  }

  std::string_view text_;
  std::size_t at_ = 0;
  static constexpr int deepest = 4;  // a list of rows in a table
  int depth_ = 0;
  SourceValue root_;
  std::vector<std::string> made_, lists_;  // by headers
};

}  // namespace

std::optional<SourceValue> readPlain(std::string_view text) { return PlainReader(text).read(); }

}  // namespace seguente
