// The only source that sees the TOML library (toml++, MIT; header-only here, so that no second source pays for it).
#include "dsp/idiom_file.h"

#include <algorithm>
#include <fstream>
#include <sstream>

#include "dsp/idiom_source.h"
#include "dsp/limits.h"

namespace {

/// A condition that the TOML library asserts does not hold: seen in 3.3.0 for "a = [}", found by our fuzzer.
struct LibraryAssertion {};

[[noreturn]] void failAssertion() { throw LibraryAssertion{}; }

}  // namespace

// The library's assertions become a syntax error, in release builds too: there it would promise the compiler that they
// hold.
#pragma push_macro("NDEBUG")
#undef NDEBUG
#define TOML_ASSERT(condition) (static_cast<bool>(condition) ? static_cast<void>(0) : failAssertion())
#define TOML_HEADER_ONLY 1
#define TOML_MAX_NESTED_VALUES 16  // a pattern file nests four deep; reading and freeing a tree are recursive
#include <toml++/toml.h>
#pragma pop_macro("NDEBUG")

namespace seguente {
namespace {

constexpr std::size_t dotsPerLine = 16;  // [a.b.c] nests as deep as it has dots, and the library does not count these

Place placeOf(const toml::source_region& region) {
  return {static_cast<int>(region.begin.line), static_cast<int>(region.begin.column)};
}

SourceValue convert(const toml::node& node);

SourceValue convertTable(const toml::table& table) {
  SourceValue value;
  value.kind = SourceKind::table;
  for (const auto& [key, node] : table)
    value.table.push_back({std::string(key.str()), placeOf(key.source()), convert(node)});
  std::stable_sort(value.table.begin(), value.table.end(), [](const SourceMember& a, const SourceMember& b) {
    return std::pair(a.place.line, a.place.column) < std::pair(b.place.line, b.place.column);
  });
  return value;
}

SourceValue convert(const toml::node& node) {
  SourceValue value;
  if (const auto* table = node.as_table()) {
    value = convertTable(*table);
  } else if (const auto* list = node.as_array()) {
    value.kind = SourceKind::list;
    for (const auto& item : *list) value.list.push_back(convert(item));
  } else if (const auto* text = node.as_string()) {
    value.kind = SourceKind::text;
    value.text = text->get();
  } else if (const auto* integer = node.as_integer()) {
    value.kind = SourceKind::integer;
    value.integer = integer->get();
  } else if (const auto* decimal = node.as_floating_point()) {
    value.kind = SourceKind::decimal;
    value.decimal = decimal->get();
  } else if (const auto* truth = node.as_boolean()) {
    value.kind = SourceKind::truth;
    value.truth = truth->get();
  }
  value.place = placeOf(node.source());
  return value;
}

/// What the TOML library must not be given, found by our fuzzer in 3.3.0: nesting by dots, whose depth it does not
/// count, and letters beyond ASCII outside quotation marks and remarks (no TOML 1.0 anyway), where it runs into what it
/// has promised the compiler never to reach. Texts of several lines go too: no key takes one, and the scan stays plain.
class Scan {
 public:
  Scan(std::string_view text, std::string_view name) : text_(text), name_(name) {}

  std::optional<Fault> fault() {
    if (text_.starts_with("\xEF\xBB\xBF")) at_ = 3;  // a byte-order mark
    for (; at_ < text_.size(); ++at_) {
      const auto c = static_cast<unsigned char>(text_[at_]);
      if ((c & 0xC0) != 0x80) ++place_.column;  // counted in letters: UTF-8's further bytes are none
      if (c == '\n') {
        newLine();
      } else if (comment_ || quote_ != 0) {
        inside(c);
      } else if (auto fault = outside(c)) {
        return fault;
      }
    }
    return std::nullopt;
  }

 private:
  void newLine() {
    place_ = {place_.line + 1, 0};
    dots_ = 0;
    quote_ = 0;
    comment_ = false;
  }

  void inside(unsigned char c) {
    if (comment_) return;
    if (c == '\\' && quote_ == '"' && at_ + 1 < text_.size() && text_[at_ + 1] != '\n') {
      ++at_;  // what is escaped does not close the text
      ++place_.column;
    } else if (c == quote_) {
      quote_ = 0;
    }
  }

  std::optional<Fault> outside(unsigned char c) {
    if (c == '#') comment_ = true;
    if (c == '"' || c == '\'') {
      if (text_.substr(at_, 3) == std::string(3, static_cast<char>(c)))
        return because("a text of several lines", "one line between quotation marks");
      quote_ = c;
    }
    if (c == '.' && ++dots_ > dotsPerLine)
      return because("more than " + std::to_string(dotsPerLine) + " dots in a line",
                     "tables nested no deeper than [parts.bass]");
    if (text_.substr(at_, 2) == "\xE2\x80")  // as word processors put them
      return because("a curly quotation mark or a dash", "straight quotation marks, as in title = \"Waltz\"");
    if (c >= 0x80) return because(letter(), "quotation marks around it, as in title = \"Ländler\"");
    return std::nullopt;
  }

  std::string letter() const {
    const auto two = text_.substr(at_, 2);
    const auto byte = [&](std::size_t i) { return static_cast<unsigned char>(two[i]); };
    const bool whole = two.size() == 2 && byte(0) >= 0xC3 && byte(0) < 0xE0 && (byte(1) & 0xC0) == 0x80;
    return whole ? "the letter " + std::string(two) + " outside quotation marks"
                 : "a letter beyond ASCII outside quotation marks";
  }

  Fault because(std::string found, std::string expected) const {
    return {std::string(name_), place_.line, std::max(1, place_.column), std::move(found), std::move(expected)};
  }

  std::string_view text_, name_;
  std::size_t at_ = 0, dots_ = 0;
  Place place_{1, 0};
  unsigned char quote_ = 0;
  bool comment_ = false;
};

/// What a teacher would have meant to write where the TOML library stumbles: its own words are a programmer's.
std::string meantAt(std::string_view text, Place place, std::string_view what) {
  std::size_t from = 0;
  for (int line = 1; line < place.line && from != std::string_view::npos; ++line) {
    from = text.find('\n', from);
    if (from != std::string_view::npos) ++from;
  }
  const auto line =
      from == std::string_view::npos ? std::string_view{} : text.substr(from, text.find('\n', from) - from);
  const auto said = [&](std::string_view words) { return what.find(words) != std::string_view::npos; };
  const auto column = std::min(line.size(), static_cast<std::size_t>(std::max(0, place.column - 1)));
  const auto digit = [&](std::size_t at) { return at < line.size() && line[at] >= '0' && line[at] <= '9'; };
  for (std::size_t at = column; at <= column + 1; ++at)
    if (at > 0 && at < line.size() && line[at] == '/' && digit(at - 1) && digit(at + 1))
      return "quotation marks around a fraction, as in length = \"1/2\"";
  if (said("parsing array") && said("comma"))
    return "a comma behind each row but the last, and ] at the end of the list";
  if (said("inline table")) return "commas between the keys of a row, and } at its end";
  if (said("parsing value") || said("value type")) return "quotation marks around a text, as in title = \"Waltz\"";
  if (said("expected '='")) return "an equals sign behind the key, or square brackets around a heading, as in [lean]";
  return "a key, an equals sign and a value, as in title = \"Waltz\"";
}

Fault syntaxFault(std::string_view name, std::string_view text, const toml::parse_error& error) {
  const auto place = placeOf(error.source());
  auto what = std::string(error.description());
  for (auto& c : what)
    if (static_cast<unsigned char>(c) < 0x20) c = ' ';
  return {std::string(name), std::max(1, place.line), std::max(1, place.column), "broken TOML (" + what + ")",
          meantAt(text, place, what)};
}

bool trips(std::string_view text) {
  try {
    return static_cast<void>(toml::parse(text)), false;
  } catch (const LibraryAssertion&) {
    return true;
  } catch (const std::exception&) {
    return false;
  }
}

/// Where an assertion that knows no place was tripped: at the end of the shortest beginning of the text that trips it.
Fault assertionFault(std::string_view name, std::string_view text) {
  std::size_t good = 0, bad = text.size();
  while (bad - good > 1) {
    const auto middle = good + (bad - good) / 2;
    (trips(text.substr(0, middle)) ? bad : good) = middle;
  }
  const auto before = text.substr(0, bad > 0 ? bad - 1 : 0);
  const auto lineStart = before.rfind('\n') == std::string_view::npos ? 0 : before.rfind('\n') + 1;
  return {std::string(name), 1 + static_cast<int>(std::count(before.begin(), before.end(), '\n')),
          1 + static_cast<int>(before.size() - lineStart), "broken TOML",
          "a value, or the bracket that closes what was opened"};
}

}  // namespace

const SourceMember* SourceValue::member(std::string_view key) const {
  for (const auto& m : table)
    if (m.key == key) return &m;
  return nullptr;
}

std::string Fault::text() const {
  return file + ":" + std::to_string(line) + ":" + std::to_string(column) + ": found " + found + ", expected " +
         expected;
}

std::optional<SourceValue> parseSource(std::string_view text, std::string_view name, std::vector<Fault>& faults) {
  if (text.size() > limits::fileBytes) {
    faults.push_back({std::string(name), 1, 1, std::to_string(text.size()) + " bytes",
                      "at most " + std::to_string(limits::fileBytes) + " bytes (the cap fileBytes)"});
    return std::nullopt;
  }
  if (auto fault = Scan(text, name).fault()) {
    faults.push_back(std::move(*fault));
    return std::nullopt;
  }
  try {
    return convert(toml::parse(text, std::string_view(name)));
  } catch (const toml::parse_error& error) {
    faults.push_back(syntaxFault(name, text, error));
  } catch (const LibraryAssertion&) {
    faults.push_back(assertionFault(name, text));
  } catch (const std::exception& error) {
    faults.push_back(
        {std::string(name), 1, 1, std::string("what cannot be read (") + error.what() + ")", "a pattern file in TOML"});
  }
  return std::nullopt;
}

IdiomResult readIdiom(const std::filesystem::path& path) {
  const auto name = path.string();
  const auto refuse = [&](std::string found) {
    IdiomResult result;
    result.faults.push_back({name, 1, 1, std::move(found), "a pattern file that can be read"});
    return result;
  };
  std::error_code error;
  if (!std::filesystem::is_regular_file(path, error)) return refuse("no file");
  std::ifstream stream(path, std::ios::binary);
  if (!stream) return refuse("a file that does not open");
  // One byte more than the cap shows that the file is too large; one more than its size, that it has grown.
  const auto size = std::filesystem::file_size(path, error);
  std::string text(error ? limits::fileBytes + 1 : std::min<std::size_t>(size, limits::fileBytes) + 1, '\0');
  stream.read(text.data(), static_cast<std::streamsize>(text.size()));
  if (stream.bad()) return refuse("a file that cannot be read to its end");
  text.resize(static_cast<std::size_t>(stream.gcount()));
  auto result = compileIdiom(text, name);
  if (result.idiom) result.idiom->path = name;
  return result;
}

}  // namespace seguente
