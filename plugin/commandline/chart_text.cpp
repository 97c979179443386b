// Charts as people type them: "| C | F G | C |".
#include <algorithm>
#include <cctype>
#include <string>

#include "dsp/harmony.h"
#include "plugin/commandline/chart_file.h"

namespace seguente {

namespace {

bool isSpace(char c) { return c == ' ' || c == '\t' || c == '\r' || c == '\n'; }

/// Reads words one after another and keeps count of lines and columns.
class TextReader {
 public:
  explicit TextReader(std::string_view text) : text_(text) {}
  bool more() {
    for (; at_ < text_.size(); step()) {
      if (text_[at_] == '#' && atWordStart_) {
        while (at_ < text_.size() && text_[at_] != '\n') step();
        if (at_ >= text_.size()) return false;
      } else if (!isSpace(text_[at_])) {
        return true;
      }
    }
    return false;
  }
  /// A bar line, or a run of anything else up to a space or a bar line.
  std::string_view word() {
    line = line_;
    column = column_;
    const std::size_t from = at_;
    const auto inLine = [&] {
      return at_ < text_.size() && (text_[at_] == '|' || text_[at_] == ']' || text_[at_] == ':');
    };
    if (text_[at_] == '|' || text_[at_] == ':') {
      while (inLine()) step();
      while (at_ < text_.size() && (std::isdigit(static_cast<unsigned char>(text_[at_])) != 0 || text_[at_] == ','))
        step();
    } else {
      while (at_ < text_.size() && !isSpace(text_[at_]) && text_[at_] != '|' && text_[at_] != ':') step();
    }
    return text_.substr(from, at_ - from);
  }
  int line = 1;
  int column = 1;

 private:
  void step() {
    atWordStart_ = isSpace(text_[at_]);
    column_ = text_[at_] == '\n' ? 1 : column_ + 1;
    line_ += text_[at_] == '\n' ? 1 : 0;
    ++at_;
  }
  std::string_view text_;
  std::size_t at_ = 0;
  int line_ = 1;
  int column_ = 1;
  bool atWordStart_ = true;
};

struct Marks {
  bool hold = false;
  bool end = false;
  bool turnaround = false;
  bool tag = false;
  bool any() const { return hold || end || turnaround || tag; }
};

constexpr const char* expectedMark = "expected !fermata!, !fine!, !turnaround! or !tag!, found ";

/// Takes "!fermata!" and the like off the front of a word. False when a word between "!" is none of them.
bool takeMark(std::string_view& word, Marks& marks) {
  const auto close = word.find('!', 1);
  if (close == std::string_view::npos) return false;
  const auto name = word.substr(1, close - 1);
  bool* const mark = name == "fermata"      ? &marks.hold
                     : name == "fine"       ? &marks.end
                     : name == "turnaround" ? &marks.turnaround
                     : name == "tag"        ? &marks.tag
                                            : nullptr;
  if (mark == nullptr) return false;
  *mark = true;
  word.remove_prefix(close + 1);
  return true;
}

void put(ChartBar::Entry& entry, const Marks& marks) {
  entry.hold = entry.hold || marks.hold;
  entry.end = entry.end || marks.end;
  entry.turnaround = entry.turnaround || marks.turnaround;
  entry.tag = entry.tag || marks.tag;
}

std::string placed(int line, int column, const std::string& what) {
  return std::to_string(line) + ":" + std::to_string(column) + ": " + what;
}

/// One bar that is being read.
class BarReader {
 public:
  /// Adds a word of a bar: marks, a symbol, "%", "/". Returns a fault or "".
  std::string add(std::string_view word, const TextReader& where) {
    while (!word.empty() && word[0] == '!')
      if (!takeMark(word, pending_)) return placed(where.line, where.column, expectedMark + std::string(word));
    const auto mark = word.find('!');
    const std::string symbol(word.substr(0, mark));
    if (!symbol.empty()) {
      bar_.entries.push_back({symbol, false, false, false, false, where.line, where.column});
      put(bar_.entries.back(), pending_);
      pending_ = {};
    }
    if (mark == std::string_view::npos) return {};
    word.remove_prefix(mark);
    while (!word.empty())
      if (word[0] != '!' || !takeMark(word, pending_))
        return placed(where.line, where.column, expectedMark + std::string(word));
    put(bar_.entries.back(), pending_);
    pending_ = {};
    return {};
  }
  /// Ends the bar at a bar line.
  std::string close(std::vector<ChartBar>& bars) {
    if (pending_.any() && !bar_.entries.empty()) put(bar_.entries.back(), pending_);
    if (bar_.entries.empty()) return {};
    pending_ = {};
    if (bar_.entries.size() == 1 && bar_.entries[0].symbol == "%") {
      const ChartBar::Entry& sign = bar_.entries[0];
      if (bars.empty()) return placed(sign.line, sign.column, "% repeats the bar before, and there is none");
      ChartBar again = bars.back();
      for (ChartBar::Entry& e : again.entries) e.hold = e.end = e.turnaround = e.tag = false;
      put(again.entries.back(), {sign.hold, sign.end, sign.turnaround, sign.tag});
      bar_ = again;
    }
    bars.push_back(std::move(bar_));
    bar_ = {};
    return {};
  }

 private:
  ChartBar bar_;
  Marks pending_;
};

}  // namespace

namespace {

/// ":|2": how often a sign is played is told by its colons, which ending begins by its numbers. Places are bars.
std::string addSigns(std::string_view word, std::int64_t bar, bool& inEnding, std::vector<RepeatSign>& signs) {
  using Kind = RepeatSign::Kind;
  const auto digits = std::min(word.find_first_of("0123456789"), word.size());
  const auto line = word.substr(0, digits);
  const auto before = std::min(line.find_first_not_of(':'), line.size());
  const bool colonsAlone = before == line.size();
  const auto after = colonsAlone ? line.size() / 2 : line.size() - 1 - line.find_last_not_of(':');
  const bool strong = before > 0 || after > 0 || line == "||" || line == "|]";
  if (before > 0) signs.push_back({bar, Kind::backward, static_cast<int>(colonsAlone ? 2 : before + 1), 0});
  if (inEnding && strong && before == 0) signs.push_back({bar, Kind::endingStops, 2, 0});
  inEnding = inEnding && !strong;
  if (after > 0) signs.push_back({bar, Kind::forward, 2, 0});
  if (digits == word.size()) return {};
  const auto numbers = endingNumbers(word.substr(digits));
  if (numbers == 0) return "\"" + std::string(word.substr(digits)) + "\" numbers no ending";
  signs.push_back({bar, Kind::ending, 2, numbers});
  inEnding = true;
  return {};
}

/// The tag, written out: from its mark to the end, or to fine, once more, and fine only then.
Checked<std::vector<ChartBar>> withTag(Checked<std::vector<ChartBar>> chart) {
  const auto any = [](const ChartBar& bar, bool ChartBar::Entry::*mark) {
    return std::any_of(bar.entries.begin(), bar.entries.end(), [&](const ChartBar::Entry& e) { return e.*mark; });
  };
  auto& bars = chart.value;
  std::size_t from = bars.size();  // the last mark: where repeats were played out it stands in each round
  for (std::size_t i = 0; i < bars.size(); ++i)
    if (any(bars[i], &ChartBar::Entry::tag)) from = i;
  std::size_t to = from;
  while (to < bars.size() && !any(bars[to++], &ChartBar::Entry::end)) {
  }
  const std::vector<ChartBar> phrase(bars.begin() + static_cast<std::ptrdiff_t>(from),
                                     bars.begin() + static_cast<std::ptrdiff_t>(to));
  for (std::size_t i = from; i < to; ++i)
    for (ChartBar::Entry& e : bars[i].entries) e.end = e.hold = false;
  bars.insert(bars.begin() + static_cast<std::ptrdiff_t>(to), phrase.begin(), phrase.end());
  return chart;
}

}  // namespace

Checked<std::vector<ChartBar>> parseChartText(std::string_view text) {
  Checked<std::vector<ChartBar>> result;
  TextReader reader(text);
  BarReader bar;
  std::vector<RepeatSign> signs;
  bool inEnding = false;
  while (reader.more()) {
    const auto word = reader.word();
    if (word[0] == '|' || word[0] == ':') {
      result.fault = bar.close(result.value);
      if (!result.good()) return result;
      const auto fault = addSigns(word, static_cast<std::int64_t>(result.value.size()), inEnding, signs);
      if (!fault.empty()) result.fault = placed(reader.line, reader.column, fault);
    } else {
      result.fault = bar.add(word, reader);
    }
    if (!result.good()) return result;
  }
  result.fault = bar.close(result.value);
  if (result.good() && result.value.empty()) result.fault = "1:1: no chords, e.g. | C | F G | C |";
  if (!result.good()) return result;
  if (signs.empty()) return withTag(std::move(result));
  const auto played = playedOut(signs, static_cast<std::int64_t>(result.value.size()));
  if (!played.good()) return bad<std::vector<ChartBar>>("1:1: " + played.fault);
  Checked<std::vector<ChartBar>> out;
  for (const auto& [from, to] : played.value)
    for (auto i = from; i < to; ++i) out.value.push_back(result.value[static_cast<std::size_t>(i)]);
  return withTag(std::move(out));
}

Checked<Chart> layOver(const std::vector<ChartBar>& bars, const TempoMap& time) {
  Chart chart;
  const auto places = time.bars({}, bars.size());
  for (std::size_t b = 0; b < bars.size(); ++b) {
    const auto& entries = bars[b].entries;
    const Ticks start = places[b].start;
    const std::int64_t length = (places[b].end - start).value;
    const auto count = static_cast<std::int64_t>(entries.size());
    for (std::int64_t i = 0; i < count; ++i) {
      const ChartBar::Entry& e = entries[static_cast<std::size_t>(i)];
      const Ticks from{start.value + length * i / count};
      const Ticks to{start.value + length * (i + 1) / count};
      if (e.symbol == "/") {
        if (chart.chords.empty() || chart.chords.back().to != from)
          return bad<Chart>(placed(e.line, e.column, "/ holds on the chord before it, and there is none"));
        chart.chords.back().to = to;
        continue;
      }
      const auto chord = parseSymbol(e.symbol == "NC" ? "N.C." : e.symbol);
      if (!chord) return bad<Chart>(placed(e.line, e.column, "\"" + e.symbol + "\" is no chord symbol"));
      if (chord->none()) continue;
      chart.chords.push_back({from, to, *chord, e.hold, e.end, e.turnaround});
      chart.symbols.push_back(e.symbol);
    }
  }
  return good(std::move(chart));
}

}  // namespace seguente
