#include "dsp/pattern_edit.h"

#include <algorithm>
#include <array>
#include <span>
#include <utility>

#include "dsp/idiom_file.h"
#include "dsp/idiom_keys.h"
#include "dsp/idiom_source.h"
#include "dsp/idiom_steps.h"

namespace seguente {

namespace {

constexpr std::size_t statesKept = 200;

/// From a byte until before another.
struct Span {
  std::size_t from = 0, to = 0;
};

/// Columns are counted in letters: UTF-8's further bytes are none.
std::size_t offsetOf(std::string_view text, Place place) {
  std::size_t at = 0;
  for (int line = 1; line < place.line && at < text.size(); ++at) line += text[at] == '\n';
  for (int column = 1; column < place.column && at < text.size(); ++at)
    column += at + 1 < text.size() && (static_cast<unsigned char>(text[at + 1]) & 0xC0) != 0x80;
  return at;
}

bool blank(char c) { return c == ' ' || c == '\t'; }

std::size_t behindBlanks(std::string_view text, std::size_t at) {
  while (at < text.size() && blank(text[at])) ++at;
  return at;
}

/// Behind a value that is a text in quotation marks, or a word.
std::size_t behindValue(std::string_view text, std::size_t at) {
  if (at >= text.size()) return at;
  const char quote = text[at];
  if (quote != '"' && quote != '\'') {
    while (at < text.size() && !blank(text[at]) && text.substr(at, 1).find_first_of(",}]#\r\n") != 0) ++at;
    return at;
  }
  for (++at; at < text.size() && text[at] != quote; ++at)
    if (text[at] == '\\' && quote == '"') ++at;
  return std::min(at + 1, text.size());
}

/// The braces of a row, with both.
std::optional<Span> bracesAt(std::string_view text, std::size_t at) {
  if (at >= text.size() || text[at] != '{') return std::nullopt;
  const auto from = at;
  while (at < text.size() && text[at] != '}') at = text[at] == '"' || text[at] == '\'' ? behindValue(text, at) : at + 1;
  if (at >= text.size()) return std::nullopt;
  return Span{from, at + 1};
}

/// What stands behind a key inside a row's braces.
std::optional<Span> valueIn(std::string_view text, Span braces, std::string_view key) {
  for (auto at = braces.from + 1; at < braces.to;) {
    at = behindBlanks(text, at);
    const auto name = at;
    const auto end = text.find('=', at);
    if (end == std::string_view::npos || end >= braces.to) return std::nullopt;
    auto last = end;
    while (last > name && blank(text[last - 1])) --last;
    auto found = text.substr(name, last - name);
    if (found.size() > 1 && found.front() == '"') found = found.substr(1, found.size() - 2);
    const auto value = behindBlanks(text, end + 1);
    const auto behind = behindValue(text, value);
    if (found == key) return Span{value, behind};
    at = behindBlanks(text, behind);
    if (at < text.size() && text[at] == ',') ++at;
  }
  return std::nullopt;
}

struct Source {
  SourceValue root;
  const SourceValue* rows(FigureName name) const {
    constexpr std::array<std::string_view, densities> names{"lean", "medium", "full"};
    const auto* density = root.member(names[static_cast<std::size_t>(name.density)]);
    const auto index = static_cast<std::size_t>(name.figure);
    if (density == nullptr || index + 1 >= idiomKeys::density.size()) return nullptr;  // the last are short forms
    const auto* figure = density->value.member(idiomKeys::density[index]);
    if (figure == nullptr) return nullptr;
    if (figure->value.kind == SourceKind::list) return &figure->value;
    const auto* steps = figure->value.member("steps");
    return steps != nullptr && steps->value.kind == SourceKind::list ? &steps->value : nullptr;
  }
};

std::optional<Source> sourceOf(std::string_view text) {
  std::vector<Fault> faults;
  auto root = parseSource(text, {}, faults);
  if (!root) return std::nullopt;
  return Source{std::move(*root)};
}

std::optional<Span> rowSpan(std::string_view text, FigureName name, std::size_t row) {
  const auto source = sourceOf(text);
  const auto* rows = source ? source->rows(name) : nullptr;
  if (rows == nullptr || row >= rows->list.size()) return std::nullopt;
  return bracesAt(text, offsetOf(text, rows->list[row].place));
}

std::optional<Ticks> beatsOf(const SourceValue& row, std::string_view key, Ticks beat) {
  const auto* m = row.member(key);
  if (m == nullptr) return std::nullopt;
  if (m->value.kind == SourceKind::integer) return ticksOf(Fraction{m->value.integer, 1}, beat);
  const auto fraction = m->value.kind == SourceKind::text ? parseFraction(m->value.text) : std::nullopt;
  return fraction ? ticksOf(*fraction, beat) : std::nullopt;
}

std::string textIn(const SourceValue& row, std::string_view key) {
  const auto* m = row.member(key);
  if (m == nullptr) return {};
  return m->value.kind == SourceKind::integer ? std::to_string(m->value.integer) : m->value.text;
}

void put(std::string& text, Span& braces, std::string_view key, const std::string& value) {
  if (const auto old = valueIn(text, braces, key)) {
    text.replace(old->from, old->to - old->from, value);
    braces.to = braces.to - (old->to - old->from) + value.size();
    return;
  }
  auto at = braces.to - 1;
  while (at > braces.from + 1 && blank(text[at - 1])) --at;
  const auto more = ", " + std::string(key) + " = " + value;
  text.insert(at, more);
  braces.to += more.size();
}

}  // namespace

PatternEdit::PatternEdit(std::string text) {
  idiom_ = compileIdiom(text, {}).idiom;
  history_.push_back(std::move(text));
}

Density PatternEdit::written(Density asked) const {
  const auto has = [&](int d) { return idiom_->at(static_cast<Density>(d)).written; };
  for (int d = static_cast<int>(asked); d >= 0; --d)
    if (has(d)) return static_cast<Density>(d);
  for (int d = static_cast<int>(asked); d < static_cast<int>(densities); ++d)
    if (has(d)) return static_cast<Density>(d);
  return asked;
}

std::vector<WrittenStep> PatternEdit::steps(FigureName figure) const {
  std::vector<WrittenStep> all;
  const auto source = good() ? sourceOf(text()) : std::nullopt;
  const auto* rows = source ? source->rows(figure) : nullptr;
  if (rows == nullptr) return all;
  const auto beat = idiom_->meter.beat();
  for (const auto& row : rows->list) {
    WrittenStep step;
    step.at = beatsOf(row, "beat", beat).value_or(beat) - beat;
    step.length = beatsOf(row, "length", beat).value_or(Ticks{});
    step.part = textIn(row, "part");
    step.play = textIn(row, "play");
    if (const auto* m = row.member("stress")) step.stress = static_cast<int>(m->value.integer);
    all.push_back(std::move(step));
  }
  return all;
}

Ticks PatternEdit::lengthOf(FigureName name) const {
  const auto& figures = idiom_->at(name.density);
  for (const auto ref : {figures.statement, figures.answer, figures.lift, figures.vamp})
    if (ref.there() && idiom_->figure(ref).kind == name.figure) return idiom_->figure(ref).length;
  return idiom_->meter.bar();
}

bool PatternEdit::offer(std::optional<std::string> text) {
  fault_.clear();
  if (!text) {
    fault_ = "this row cannot be found in the file";
    return false;
  }
  if (*text == this->text()) return true;
  auto result = compileIdiom(*text, {});
  if (!result.idiom) {
    const auto& fault = result.faults.front();
    fault_ = "found " + fault.found + ", expected " + fault.expected;
    return false;
  }
  history_.resize(now_ + 1);
  if (history_.size() == statesKept) history_.erase(history_.begin());
  history_.push_back(std::move(*text));
  now_ = history_.size() - 1;
  idiom_ = std::move(result.idiom);
  return true;
}

bool PatternEdit::change(FigureName figure, std::size_t row, const WrittenStep& to) {
  const auto all = steps(figure);
  auto braces = rowSpan(text(), figure, row);
  if (!braces || row >= all.size()) return offer(std::nullopt);
  std::string fresh = text();
  const auto beat = idiom_->meter.beat();
  const auto& from = all[row];
  if (to.at != from.at) put(fresh, *braces, "beat", beatsText(to.at + beat, beat));
  if (to.length != from.length) put(fresh, *braces, "length", beatsText(to.length, beat));
  if (to.part != from.part) put(fresh, *braces, "part", inQuotes(to.part));
  if (to.play != from.play) put(fresh, *braces, "play", inQuotes(to.play));
  if (to.stress != from.stress) put(fresh, *braces, "stress", std::to_string(to.stress));
  return offer(std::move(fresh));
}

bool PatternEdit::add(FigureName figure, std::size_t behind, const WrittenStep& step) {
  const auto braces = rowSpan(text(), figure, behind);
  if (!braces) return offer(std::nullopt);
  std::string fresh = text();
  const auto beat = idiom_->meter.beat();
  std::string row = "{ beat = " + beatsText(step.at + beat, beat) + ", length = " + beatsText(step.length, beat) +
                    ", part = " + inQuotes(step.part) + ", play = " + inQuotes(step.play);
  if (step.stress != 0) row += ", stress = " + std::to_string(step.stress);
  row += " },";
  auto at = behindBlanks(fresh, braces->to);
  if (at < fresh.size() && fresh[at] == ',') {
    ++at;
  } else {
    fresh.insert(braces->to, ",");
    at = braces->to + 1;
  }
  const auto rest = behindBlanks(fresh, at);
  const auto lineStart = braces->from == 0 ? 0 : fresh.rfind('\n', braces->from - 1) + 1;
  const bool alone = behindBlanks(fresh, lineStart) == braces->from &&
                     (rest == fresh.size() || fresh.substr(rest, 1).find_first_of("#\r\n") == 0);
  if (!alone) {
    fresh.insert(at, " " + row);
    return offer(std::move(fresh));
  }
  const auto end = std::min(fresh.find('\n', at), fresh.size());
  fresh.insert(end, "\n" + fresh.substr(lineStart, braces->from - lineStart) + row);
  return offer(std::move(fresh));
}

/// The line goes with its row; a remark on it stays.
bool PatternEdit::remove(FigureName figure, std::size_t row) {
  const auto braces = rowSpan(text(), figure, row);
  if (!braces) return offer(std::nullopt);
  std::string fresh = text();
  auto from = braces->from, to = behindBlanks(fresh, braces->to);
  to = to < fresh.size() && fresh[to] == ',' ? to + 1 : braces->to;
  const auto lineStart = from == 0 ? 0 : fresh.rfind('\n', from - 1) + 1;
  const auto rest = behindBlanks(fresh, to);
  if (behindBlanks(fresh, lineStart) == from && rest < fresh.size() && fresh[rest] == '\n')
    from = lineStart, to = rest + 1;
  else if (rest < fresh.size() && fresh[rest] != '#')
    to = rest;
  fresh.erase(from, to - from);
  return offer(std::move(fresh));
}

void PatternEdit::go(std::size_t state) {
  now_ = state;
  idiom_ = compileIdiom(text(), {}).idiom;
  fault_.clear();
}

bool PatternEdit::undo() {
  if (!canUndo()) return false;
  go(now_ - 1);
  return true;
}

bool PatternEdit::redo() {
  if (!canRedo()) return false;
  go(now_ + 1);
  return true;
}

std::string nextPlay(std::string_view play, PartKind kind, int way) {
  static constexpr std::array<std::string_view, 11> bass{"1", "3", "5", "6", "b7", "8", "10", "12", "1+8", "R", "R~"};
  static constexpr std::array<std::string_view, 14> chords{"1",  "3",   "5",   "6",   "b7",    "8",     "10",
                                                           "12", "1+3", "1+5", "3+5", "1+3+5", "3+5+8", "C"};
  static constexpr std::array<std::string_view, 7> held{"lowest", "2nd", "3rd", "4th", "top", "upper", "all"};
  static constexpr std::array<std::string_view, 6> drums{"bass drum",     "side stick",  "snare drum",
                                                         "closed hi-hat", "open hi-hat", "ride cymbal"};
  static constexpr std::array<std::string_view, 1> line{"line"};
  std::span<const std::string_view> all = chords;
  if (kind == PartKind::bass) all = bass;
  if (kind == PartKind::percussion) all = drums;
  if (play == "line") all = line;
  if (std::find(held.begin(), held.end(), play) != held.end()) all = held;
  const auto found = std::find(all.begin(), all.end(), play);
  const auto last = static_cast<std::ptrdiff_t>(all.size()) - 1;
  const auto at = found == all.end() ? (way > 0 ? 0 : last) : found - all.begin() + way;
  return std::string(all[static_cast<std::size_t>(std::clamp<std::ptrdiff_t>(at, 0, last))]);
}

std::optional<std::string> renamedPattern(std::string_view text, std::string_view id, std::string_view title) {
  std::string fresh(text);
  for (const auto& [key, value] : {std::pair{"title", title}, std::pair{"id", id}}) {
    const auto source = sourceOf(fresh);
    const auto* m = source ? source->root.member(key) : nullptr;
    if (m == nullptr) return std::nullopt;
    const auto from = offsetOf(fresh, m->value.place);
    fresh.replace(from, behindValue(fresh, from) - from, inQuotes(value));
  }
  return fresh;
}

}  // namespace seguente
