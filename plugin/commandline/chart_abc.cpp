// Chord symbols out of ABC: as much of the notation as it takes to know when each quoted symbol stands.
// Source of the notation: the ABC standard 2.1; checked against tests/reference/tunes/tunes.json.
#include <cctype>
#include <string>

#include "dsp/harmony.h"
#include "plugin/commandline/chart_file.h"

namespace seguente {

namespace {

constexpr std::int64_t whole = quarter.value * 4;

struct Length {
  std::int64_t numerator = 1;
  std::int64_t denominator = 1;
  bool sane() const { return numerator >= 0 && numerator <= 1024 && denominator >= 1 && denominator <= 1024; }
};

class AbcReader {
 public:
  explicit AbcReader(std::string_view text) : text_(text) {}
  Checked<Chart> read();

 private:
  bool more() const { return at_ < text_.size() && fault_.empty(); }
  char look(std::size_t ahead = 0) const { return at_ + ahead < text_.size() ? text_[at_ + ahead] : '\0'; }
  void fail(const std::string& what) {
    if (fault_.empty()) fault_ = std::to_string(line_) + ": " + what;
  }
  std::string_view restOfLine();
  std::string_view upTo(char close);
  bool fieldHere() const;
  void field(char name, std::string_view value);
  void meterField(std::string_view value);
  void voiceField(std::string_view value);
  std::int64_t number();
  Length length();
  void token();
  void quoted();
  void barLine();
  void barSigns(std::string_view line);
  void ending();
  void tuplet();
  void bracket();
  void timed(bool rest);
  void broken();
  void advance(Length l);
  void mark(std::string_view name);

  std::string_view text_;
  std::size_t at_ = 0;
  int line_ = 1;
  std::string fault_;
  bool lineStart_ = true;
  bool inBody_ = false;
  bool ended_ = false;
  std::string voice_;
  Ticks bar_{whole};
  std::int64_t unit_ = whole / 8;
  bool unitGiven_ = false;
  Ticks now_{};
  Ticks barStart_{};
  bool firstBarDone_ = false;
  Length next_{};     // what a broken rhythm or tuplet makes of the next note
  Ticks lastNote_{};  // length of the note before, for broken rhythm
  int tupletLeft_ = 0;
  Length tuplet_{};
  bool hold_ = false;
  bool end_ = false;
  std::vector<RepeatSign> signs_;
  std::vector<RepeatSign::Kind> atBarLine_;  // words that are written in the last bar before they count
  bool inEnding_ = false;
  Chart chart_;
};

std::string_view AbcReader::restOfLine() {
  const auto end = std::min(text_.find('\n', at_), text_.size());
  const auto rest = text_.substr(at_, end - at_);
  at_ = end;
  return rest;
}

/// From the character after the opening one to the closing one, on the same line.
std::string_view AbcReader::upTo(char close) {
  const std::size_t from = ++at_;
  while (at_ < text_.size() && text_[at_] != close && text_[at_] != '\n') ++at_;
  if (look() != close) fail(std::string("expected a closing ") + close);
  const auto inside = text_.substr(from, at_ - from);
  ++at_;
  return inside;
}

bool AbcReader::fieldHere() const {
  return lineStart_ && std::isalpha(static_cast<unsigned char>(look())) != 0 && look(1) == ':' && look(2) != '|' &&
         look(2) != ':';
}

std::int64_t AbcReader::number() {
  std::int64_t value = 0;
  while (std::isdigit(static_cast<unsigned char>(look())) != 0 && value < 100000)
    value = value * 10 + (text_[at_++] - '0');
  return value;
}

/// "3", "/", "//", "3/2", "/4": ABC 2.1, section 4.3.
Length AbcReader::length() {
  Length l;
  if (std::isdigit(static_cast<unsigned char>(look())) != 0) l.numerator = number();
  while (look() == '/') {
    ++at_;
    l.denominator *= std::isdigit(static_cast<unsigned char>(look())) != 0 ? number() : 2;
    if (!l.sane()) break;
  }
  if (!l.sane()) {
    fail("a note length beyond reason");
    l = {};
  }
  return l;
}

void AbcReader::meterField(std::string_view v) {
  const auto text = std::string(v);
  int n = 4;
  int d = 4;
  if (text.rfind("C|", 0) == 0) {
    n = d = 2;
  } else if (text.rfind("C", 0) != 0 && text.rfind("none", 0) != 0) {
    const auto slash = text.find('/');
    n = std::atoi(text.c_str());
    d = slash == std::string::npos ? 0 : std::atoi(text.c_str() + slash + 1);
  }
  const Meter meter{static_cast<std::uint8_t>(n & 0xFF), static_cast<std::uint8_t>(d & 0xFF)};
  if (n < 1 || n > 32 || d < 1 || d > 32 || !meter.valid()) return fail("M:" + text + " is no meter");
  bar_ = meter.bar();
  // ABC 2.1, section 3.1.7: without L: a sixteenth when the meter as a fraction is below 0.75, else an eighth.
  if (!unitGiven_) unit_ = n * 4 < d * 3 ? whole / 16 : whole / 8;
}

void AbcReader::voiceField(std::string_view v) {
  const auto id = std::string(v.substr(0, v.find_first_of(" \t\r")));
  if (!voice_.empty() && voice_ != id) fail("several voices (V:) are not read: give the chart alone");
  voice_ = id;
}

void AbcReader::field(char name, std::string_view v) {
  while (!v.empty() && (v.front() == ' ' || v.front() == '\t')) v.remove_prefix(1);
  if (name == 'X' && inBody_) ended_ = true;
  if (name == 'M') meterField(v);
  if (name == 'L') {
    const auto text = std::string(v);
    const auto slash = text.find('/');
    const int d = slash == std::string::npos ? 1 : std::atoi(text.c_str() + slash + 1);
    const int n = std::atoi(text.c_str());
    if (n < 1 || n > 16 || d < 1 || d > 128) return fail("L:" + text + " is no length");
    unit_ = whole * n / d;
    unitGiven_ = true;
  }
  if (name == 'V') voiceField(v);
  if (name == 'K') inBody_ = true;
}

void AbcReader::advance(Length l) {
  std::int64_t ticks = unit_ * l.numerator * next_.numerator / (l.denominator * next_.denominator);
  next_ = {};
  if (tupletLeft_ > 0) {
    ticks = ticks * tuplet_.numerator / tuplet_.denominator;
    --tupletLeft_;
  }
  lastNote_ = {ticks};
  now_ = now_ + lastNote_;
  if (now_.value > (std::int64_t{1} << 48)) fail("too long a tune");
}

void AbcReader::mark(std::string_view name) {
  using Kind = RepeatSign::Kind;
  if (name == "fine") atBarLine_.push_back(Kind::fine);
  if (name == "segno") signs_.push_back({now_.value, Kind::segno, 2, 0});
  if (name == "D.C." || name == "dacapo") atBarLine_.push_back(Kind::daCapo);
  if (name == "D.S.") atBarLine_.push_back(Kind::dalSegno);
  hold_ = hold_ || name == "fermata";
  end_ = end_ || name == "fine";
}

void AbcReader::timed(bool rest) {
  const bool bars = look() == 'Z';
  ++at_;
  while (!rest && (look() == ',' || look() == '\'')) ++at_;
  if (bars) {
    const std::int64_t count = std::isdigit(static_cast<unsigned char>(look())) != 0 ? number() : 1;
    if (count > 1000) return fail("a rest of more than 1,000 bars");
    now_ = now_ + bar_ * count;
    return;
  }
  if ((hold_ || end_) && !chart_.chords.empty()) {
    chart_.chords.back().hold = chart_.chords.back().hold || hold_;
    chart_.chords.back().end = chart_.chords.back().end || end_;
    hold_ = end_ = false;
  }
  advance(length());
}

/// "a>b": the first by half longer, the second by half shorter; ">>" by three quarters. ABC 2.1, section 4.4.
void AbcReader::broken() {
  const char sign = look();
  int count = 0;
  while (look() == sign) {
    ++count;
    ++at_;
  }
  if (count > 3) return fail("a broken rhythm of more than three signs");
  const std::int64_t parts = std::int64_t{1} << count;
  const std::int64_t longer = 2 * parts - 1;
  const std::int64_t before = lastNote_.value * (sign == '>' ? longer : 1) / parts;
  now_ = {now_.value - lastNote_.value + before};
  next_ = {sign == '>' ? 1 : longer, parts};
}

/// "(3abc": three in the time of two; ABC 2.1, section 4.13. "(" alone is a slur.
void AbcReader::tuplet() {
  ++at_;
  if (std::isdigit(static_cast<unsigned char>(look())) == 0) return;
  const std::int64_t p = number();
  const bool compound = bar_.value % (quarter.value * 3 / 2) == 0 && bar_.value != quarter.value * 3;
  std::int64_t q = p == 2 || p == 4 || p == 8 ? 3 : p == 3 || p == 6 ? 2 : compound ? 3 : 2;
  std::int64_t r = p;
  if (look() == ':') {
    ++at_;
    if (std::isdigit(static_cast<unsigned char>(look())) != 0) q = number();
    if (look() == ':') {
      ++at_;
      if (std::isdigit(static_cast<unsigned char>(look())) != 0) r = number();
    }
  }
  if (p < 2 || p > 9 || q < 1 || q > 16 || r < 1 || r > 64) return fail("a tuplet beyond reason");
  tuplet_ = {q, p};
  tupletLeft_ = static_cast<int>(r);
}

void AbcReader::quoted() {
  const auto text = upTo('"');
  lastNote_ = {};  // a broken rhythm's sign stands right after its note
  if (!fault_.empty() || text.empty() || std::string_view("^_<>@").find(text[0]) != std::string_view::npos) return;
  const auto chord = parseSymbol(text);
  if (!chord) return fail("\"" + std::string(text) + "\" is no chord symbol");
  if (!chart_.chords.empty() && chart_.chords.back().to > now_) chart_.chords.back().to = now_;
  if (!chart_.chords.empty() && chart_.chords.back().from == now_) {
    chart_.chords.pop_back();  // two symbols at one place: the later one stands
    chart_.symbols.pop_back();
  }
  if (chord->none()) return;
  chart_.chords.push_back({now_, {std::int64_t{1} << 50}, *chord, false, false});
  chart_.symbols.emplace_back(text);
}

/// ABC 2.1, sections 4.8 and 4.9: ":|" goes back, "|:" is gone back to, "::" is both; "|1" and ":|2" begin endings.
void AbcReader::barLine() {
  const auto from = at_;
  while (look() == '|' || look() == ':' || look() == ']') ++at_;
  const auto line = text_.substr(from, at_ - from);
  barSigns(line);
  if (std::isdigit(static_cast<unsigned char>(look())) != 0 && line.back() != ':') ending();
  const Ticks length = now_ - barStart_;
  if (!firstBarDone_ && length.value > 0) {
    firstBarDone_ = true;
    if (length < bar_) chart_.pickup = length;
  }
  barStart_ = now_;
  lastNote_ = {};
}

void AbcReader::barSigns(std::string_view line) {
  using Kind = RepeatSign::Kind;
  for (const Kind kind : atBarLine_) signs_.push_back({now_.value, kind, 2, 0});
  atBarLine_.clear();
  const auto before = std::min(line.find_first_not_of(':'), line.size());
  const auto after = before == line.size() ? line.size() / 2 : line.size() - 1 - line.find_last_not_of(':');
  if (before > 0) signs_.push_back({now_.value, Kind::backward, static_cast<int>(before) + 1, 0});
  if (inEnding_ && before == 0 && (line == "||" || line == "|]" || after > 0))
    signs_.push_back({now_.value, Kind::endingStops, 2, 0});
  if (before > 0 || line == "||" || line == "|]" || after > 0) inEnding_ = false;
  if (after > 0) signs_.push_back({now_.value, Kind::forward, 2, 0});
}

void AbcReader::ending() {
  const auto from = at_;
  while (std::isdigit(static_cast<unsigned char>(look())) != 0 ||
         ((look() == ',' || look() == '-') && std::isdigit(static_cast<unsigned char>(look(1))) != 0))
    ++at_;
  const auto numbers = endingNumbers(text_.substr(from, at_ - from));
  if (numbers == 0) return fail("\"" + std::string(text_.substr(from, at_ - from)) + "\" numbers no ending");
  signs_.push_back({now_.value, RepeatSign::Kind::ending, 2, numbers});
  inEnding_ = true;
}

/// "[CEG]" a chord of notes, "[M:3/4]" a field, "[1" an ending.
void AbcReader::bracket() {
  if (std::isalpha(static_cast<unsigned char>(look(1))) != 0 && look(2) == ':') {
    const char name = look(1);
    const auto inside = upTo(']');
    return field(name, inside.substr(2));
  }
  if (look(1) == '|') {
    ++at_;
    return barLine();
  }
  if (std::isdigit(static_cast<unsigned char>(look(1))) != 0) {
    ++at_;
    return ending();
  }
  const auto inside = upTo(']');
  Length inner;  // the first note's own length counts, times the length after the bracket
  for (std::size_t i = 0; i < inside.size(); ++i)
    if (std::isdigit(static_cast<unsigned char>(inside[i])) != 0 || inside[i] == '/') {
      AbcReader note(inside.substr(i));
      inner = note.length();
      break;
    }
  const Length outer = length();
  advance({inner.numerator * outer.numerator, inner.denominator * outer.denominator});
}

void AbcReader::token() {
  const char c = look();
  if (c == '"') return quoted();
  if (c == '!') return mark(upTo('!'));
  if (c == '{') return static_cast<void>(upTo('}'));
  if (c == '[') return bracket();
  if (c == '(') return tuplet();
  if (c == '|' || c == ':') return barLine();
  if (c == '>' || c == '<') return broken();
  if ((c >= 'a' && c <= 'g') || (c >= 'A' && c <= 'G')) return timed(false);
  if (c == 'z' || c == 'x' || c == 'Z') return timed(true);
  if (c == 'H') hold_ = true;  // ABC 2.1, section 4.14: fermata
  if (c == '%') return static_cast<void>(restOfLine());
  if (c == '&') return fail("voices laid over each other (&) are not read");
  ++at_;  // ties, accidentals, slurs' ends, spaces, ornaments: they take no time
}

Checked<Chart> AbcReader::read() {
  chart_.ownBars = true;
  while (more() && !ended_) {
    if (look() == '\n') {
      ++at_;
      ++line_;
      lineStart_ = true;
      continue;
    }
    if (fieldHere()) {
      const char name = look();
      at_ += 2;
      field(name, restOfLine());
    } else if (!inBody_ || (lineStart_ && look() == '%')) {
      restOfLine();
    } else {
      token();
    }
    lineStart_ = false;
  }
  if (!fault_.empty()) return bad<Chart>(fault_);
  if (chart_.chords.empty()) return bad<Chart>("1: no chord symbols, e.g. \"G7\" before a note");
  if (chart_.chords.back().to > now_) chart_.chords.back().to = now_;
  for (const RepeatSign::Kind kind : atBarLine_) signs_.push_back({now_.value, kind, 2, 0});
  if (signs_.empty()) return good(std::move(chart_));
  auto played = playedOut(chart_, signs_, now_);
  return played.good() ? std::move(played) : bad<Chart>(std::to_string(line_) + ": " + played.fault);
}

}  // namespace

Checked<Chart> parseAbcChart(std::string_view text) { return AbcReader(text).read(); }

}  // namespace seguente
