// Charts as people type them: "| C | F G | C |".
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
    if (text_[at_] == '|') {
      while (at_ < text_.size() && (text_[at_] == '|' || text_[at_] == ']' || text_[at_] == ':')) step();
    } else {
      while (at_ < text_.size() && !isSpace(text_[at_]) && text_[at_] != '|') step();
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
  bool any() const { return hold || end; }
};

/// Takes "!fermata!" or "!fine!" off the front of a word. False when a word between "!" is neither.
bool takeMark(std::string_view& word, Marks& marks) {
  const auto close = word.find('!', 1);
  if (close == std::string_view::npos) return false;
  const auto name = word.substr(1, close - 1);
  if (name != "fermata" && name != "fine") return false;
  (name == "fermata" ? marks.hold : marks.end) = true;
  word.remove_prefix(close + 1);
  return true;
}

void put(ChartBar::Entry& entry, const Marks& marks) {
  entry.hold = entry.hold || marks.hold;
  entry.end = entry.end || marks.end;
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
      if (!takeMark(word, pending_))
        return placed(where.line, where.column, "expected !fermata! or !fine!, found " + std::string(word));
    const auto mark = word.find('!');
    const std::string symbol(word.substr(0, mark));
    if (!symbol.empty()) {
      bar_.entries.push_back({symbol, false, false, where.line, where.column});
      put(bar_.entries.back(), pending_);
      pending_ = {};
    }
    if (mark == std::string_view::npos) return {};
    word.remove_prefix(mark);
    while (!word.empty())
      if (word[0] != '!' || !takeMark(word, pending_))
        return placed(where.line, where.column, "expected !fermata! or !fine!, found " + std::string(word));
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
      for (ChartBar::Entry& e : again.entries) e.hold = e.end = false;
      put(again.entries.back(), {sign.hold, sign.end});
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

Checked<std::vector<ChartBar>> parseChartText(std::string_view text) {
  Checked<std::vector<ChartBar>> result;
  TextReader reader(text);
  BarReader bar;
  while (reader.more()) {
    const auto word = reader.word();
    if (word[0] == '|') {
      if (word.find(':') != std::string_view::npos)
        return bad<std::vector<ChartBar>>(
            placed(reader.line, reader.column, "repeat signs are not read: write the bars out"));
      result.fault = bar.close(result.value);
    } else {
      result.fault = bar.add(word, reader);
    }
    if (!result.good()) return result;
  }
  result.fault = bar.close(result.value);
  if (result.good() && result.value.empty()) result.fault = "1:1: no chords, e.g. | C | F G | C |";
  return result;
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
      chart.chords.push_back({from, to, *chord, e.hold, e.end});
      chart.symbols.push_back(e.symbol);
    }
  }
  return good(std::move(chart));
}

}  // namespace seguente
