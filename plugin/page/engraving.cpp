#include "plugin/page/engraving.h"

#include <algorithm>
#include <array>
#include <cmath>

#include "plugin/page/beats.h"
#include "plugin/page/engraving_rows.h"
#include "plugin/page/measure.h"
#include "plugin/page/spelling.h"
#include "plugin/page/staff_layout.h"

namespace seguente::page {

namespace {

/// Of a signature, in half spaces from the lowest line of a treble staff: common engraving. In the bass a line lower.
constexpr std::array<int, 7> sharpPlaces{8, 5, 9, 6, 3, 7, 4};
constexpr std::array<int, 7> flatPlaces{4, 7, 3, 6, 2, 5, 1};

class Engraver {
 public:
  Engraver(std::span<const Bar> bars, const EngravingOptions& options) : bars_(bars), options_(options) {}
  Sheet engrave();

 private:
  struct PlacedStaff {
    StaffKind kind{};
    StaffDrawing drawing;
    double y = 0;  // of its upper line
  };

  void put(Mark mark) { sheet_.marks.push_back(std::move(mark)); }
  double heading(double y);
  double system(const Line& line, std::size_t index, double y);
  std::vector<PlacedBar> placed(const Line& line) const;
  void lines(const PlacedStaff& staff, const Line& line, double right);
  void signature(StaffKind kind, const Key& key, double x, double y);
  void time(Meter meter, double x, double y);
  void prefix(const PlacedStaff& staff, const Line& line, std::size_t index);
  void barLines(const std::vector<PlacedBar>& bars, double top, double bottom);
  bool coloured(const Bar& bar) const;
  const Bar* before(std::size_t index) const { return index > 0 ? &bars_[index - 1] : options_.before; }

  std::span<const Bar> bars_;
  const EngravingOptions& options_;
  Sheet sheet_;
};

bool Engraver::coloured(const Bar& bar) const {
  if (options_.colour == EngravingOptions::Colour::all) return true;
  if (options_.colour == EngravingOptions::Colour::none) return false;
  return options_.playhead ? bar.ordinal == options_.playhead->ordinal : bar.current;
}

double Engraver::heading(double y) {
  const Heading& h = options_.heading;
  const bool any = !h.title.empty() || !h.idiom.empty() || h.quartersPerMinute > 0 || !h.right.empty();
  if (!any) return y;
  const double base = y + 2.4;
  double x = options_.margin + 1.6;
  if (h.quartersPerMinute > 0) {
    put(glyphMark(Glyph::headBlack, {x + 0.55, base - 0.4}, Token::ink, 0.85));
    put(lineMark({x + 1.0, base - 0.5}, {x + 1.0, base - 3.0}, grid::stem));
    // In felt beats: a dotted quarter in six eighths.
    const bool dotted = bars_.front().meter.denominator == 8 && compound(bars_.front().meter);
    if (dotted) put(glyphMark(Glyph::dot, {x + 1.6, base - 0.55}, Token::ink, 0.85));
    const double perMinute = h.quartersPerMinute / (dotted ? 1.5 : 1);
    const std::string text = "= " + std::to_string(static_cast<int>(std::lround(perMinute)));
    const double gap = dotted ? 2.2 : 1.7;
    put(textMark({x + gap, base}, text, letters::head, Style::roman, Anchor::start));
    x += gap + widthOf(text, Style::roman, letters::head) + 1.5;
  }
  if (!h.idiom.empty()) put(textMark({x, base}, h.idiom, letters::head, Style::italic, Anchor::start));
  if (!h.title.empty())
    put(textMark({options_.width / 2, base}, h.title, letters::title, Style::roman, Anchor::middle));
  if (!h.right.empty())
    put(textMark({options_.width - options_.margin, base}, h.right, letters::head, Style::italic, Anchor::end));
  return base + 1.6;
}

std::vector<PlacedBar> Engraver::placed(const Line& line) const {
  std::vector<PlacedBar> bars;
  double x = line.left + line.prefix;
  for (std::size_t b = line.from; b < line.to; ++b) {
    const bool inside = b > line.from;
    const BarNeeds needs =
        needsOf(bars_[b], inside && newSignature(bars_[b], before(b)), inside && newTime(bars_[b], before(b)));
    PlacedBar place;
    place.bar = &bars_[b];
    place.left = x;
    place.right = x + line.widths[b - line.from];
    place.first = x + std::min(needs.before, line.widths[b - line.from] * 0.5);
    bars.push_back(place);
    x = place.right;
  }
  return bars;
}

void Engraver::lines(const PlacedStaff& staff, const Line& line, double right) {
  if (staff.kind == StaffKind::percussion) {
    put(lineMark({line.left, staff.y + 2}, {right, staff.y + 2}, grid::staffLine, Token::staff));
    return;
  }
  for (int i = 0; i < 5; ++i)
    put(lineMark({line.left, staff.y + i}, {right, staff.y + i}, grid::staffLine, Token::staff));
}

void Engraver::signature(StaffKind kind, const Key& key, double x, double y) {
  if (kind == StaffKind::percussion) return;
  const int signs = signatureOf(key);
  const int lower = kind == StaffKind::lower ? 2 : 0;
  for (int i = 0; i < std::abs(signs); ++i) {
    const int place = (signs > 0 ? sharpPlaces : flatPlaces)[static_cast<std::size_t>(i)] - lower;
    put(glyphMark(signs > 0 ? Glyph::sharp : Glyph::flat,
                  {x + 0.5 + i * (signs > 0 ? 1.0 : 0.9), y + 4 - place / 2.0}));
  }
}

void Engraver::time(Meter meter, double x, double y) {
  const double half = letters::time * capitalHeight;  // about two spaces
  for (const auto& [figure, base] : {std::pair{meter.numerator, 2.0}, std::pair{meter.denominator, 4.0}})
    put(textMark({x, y + base - (2 - half) / 2}, std::to_string(figure), letters::time, Style::bold, Anchor::middle));
}

void Engraver::prefix(const PlacedStaff& staff, const Line& line, std::size_t index) {
  const Bar& first = bars_[line.from];
  const double x = line.left;
  switch (staff.kind) {
    case StaffKind::upper:
      put(glyphMark(Glyph::trebleClef, {x + 1.9, staff.y + 3}));
      break;
    case StaffKind::lower:
      put(glyphMark(Glyph::bassClef, {x + 1.85, staff.y + 1}));
      break;
    case StaffKind::percussion:
      put(glyphMark(Glyph::percussionClef, {x + 1.7, staff.y + 2}));
      break;
  }
  signature(staff.kind, first.key, x + clefWidth, staff.y);
  if (newTime(first, before(line.from))) time(first.meter, x + clefWidth + signatureWidth(first.key) + 0.9, staff.y);
  if (index == 0) {
    const std::string& name = staff.kind == StaffKind::upper   ? options_.upperName
                              : staff.kind == StaffKind::lower ? options_.lowerName
                                                               : std::string{};
    if (!name.empty()) put(textMark({x - 2.2, staff.y + 2.5}, name, letters::numeral, Style::italic, Anchor::end));
  }
}

void Engraver::barLines(const std::vector<PlacedBar>& bars, double top, double bottom) {
  for (const PlacedBar& place : bars) {
    const bool last = options_.final && place.bar == &bars_.back();
    if (!last) {
      put(lineMark({place.right, top}, {place.right, bottom}, grid::barLine));
      continue;
    }
    put(lineMark({place.right - 0.75, top}, {place.right - 0.75, bottom}, grid::barLine));
    put(lineMark({place.right - 0.2, top}, {place.right - 0.2, bottom}, 0.5));
  }
}

double Engraver::system(const Line& line, std::size_t index, double y) {
  const auto bars = placed(line);
  const double right = bars.back().right;
  const std::size_t firstMark = sheet_.marks.size();
  std::vector<PlacedStaff> staves;
  for (std::size_t s = 0; s < staffKinds; ++s) {
    const auto kind = static_cast<StaffKind>(s);
    const bool used = kind != StaffKind::percussion || std::any_of(bars.begin(), bars.end(), [&](const PlacedBar& b) {
                        return !b.bar->staff(kind).voices.empty();
                      });
    if (!used) continue;
    PlacedStaff staff;
    staff.kind = kind;
    if (kind == StaffKind::upper) staff.drawing.top = std::min(-1.4, -options_.over);  // its clef
    OpenTies ties;
    for (const PlacedBar& place : bars) {
      StaffTask task{place.bar,
                     &place.bar->staff(kind),
                     shapeOf(kind),
                     coloured(*place.bar),
                     place.left,
                     place.right,
                     [&](Ticks at) { return place.xOf(at); }};
      drawStaff(task, ties, staff.drawing);
    }
    for (const auto& [key, tie] : ties) {
      const double rise = 0.45 * tie.direction;
      // On the screen empty bars follow the one that it leads out of.
      double end = right;
      for (const PlacedBar& place : bars)
        if (place.left <= tie.from.x && tie.from.x < place.right) end = place.right;
      staff.drawing.marks.push_back(
          outlineMark(tieOf(tie.from, {std::max(end - 0.3, tie.from.x + 1), tie.from.y}, rise)));
    }
    staves.push_back(std::move(staff));
  }
  // Rows from the top: form, symbols, upper staff, gap, lower staff, percussion, count.
  const bool anyForm =
      options_.even || std::any_of(bars.begin(), bars.end(), [](const PlacedBar& b) { return !b.bar->form.empty(); });
  const double formBase = y + (anyForm ? 1.5 : 0);
  const double symbolBase = formBase + (anyForm ? 2.3 : 1.7);
  const bool head = options_.playhead && std::any_of(bars.begin(), bars.end(), [&](const PlacedBar& b) {
                      return b.bar->ordinal == options_.playhead->ordinal;
                    });
  double at = symbolBase + std::max(head ? 2.45 : 2.0, 0.7 - staves.front().drawing.top);
  for (std::size_t s = 0; s < staves.size(); ++s) {
    if (s > 0) {
      const double least = staves[s].kind == StaffKind::percussion ? 3 : std::max(5.0, options_.between);
      const double reach = (staves[s - 1].drawing.bottom - 4) - staves[s].drawing.top + 0.8;
      at = staves[s - 1].y + 4 + std::max(least, reach);
    }
    staves[s].y = at;
  }
  const double top = staves.front().y;
  double bottom = staves.back().y + (staves.back().kind == StaffKind::percussion ? 3 : 4);
  const double countBase =
      std::max(bottom + std::max(2.7, options_.under), staves.back().y + staves.back().drawing.bottom + 1.7);
  // On the screen the staves wait for the bars to come.
  const double end = options_.even ? std::max(right, options_.width - options_.margin) : right;
  for (const PlacedStaff& staff : staves) lines(staff, line, end);
  put(lineMark({line.left, top}, {line.left, bottom}, grid::barLine));
  const PlacedStaff& lower = staves[1];
  put(moved(outlineMark(braceOf(lower.y + 4 - top)), line.left - 0.35, (top + lower.y + 4) / 2));
  barLines(bars, top, bottom);
  for (PlacedStaff& staff : staves) {
    prefix(staff, line, index);
    for (std::size_t i = 1; i < bars.size(); ++i) {
      const std::size_t b = line.from + i;
      double x = bars[i].left + 0.6;
      if (newSignature(bars_[b], before(b))) {
        signature(staff.kind, bars_[b].key, x, staff.y);
        x += signatureWidth(bars_[b].key) + 0.2;
      }
      if (newTime(bars_[b], before(b))) time(bars_[b].meter, x + 0.9, staff.y);
    }
    for (Mark& mark : staff.drawing.marks) put(moved(std::move(mark), 0, staff.y));
    for (HeadPlace place : staff.drawing.heads) {
      place.middle.y += staff.y;
      place.staffTop = staff.y;
      sheet_.heads.push_back(place);
    }
  }
  drawForm(bars, formBase, sheet_.marks);
  drawSymbols(bars, symbolBase, sheet_.marks);
  drawCount(bars, countBase, options_, sheet_.marks);
  if (options_.drawHead) drawPlayhead(bars, top, staves[1].y + 4, firstMark, options_, sheet_.marks);
  for (std::size_t i = 0; i < bars.size(); ++i) {
    const Bar& bar = *bars[i].bar;
    sheet_.bars.push_back({bar.ordinal, index, {bars[i].left, top, bars[i].right, bottom}, bars[i].first});
    const std::size_t b = line.from + i;
    if (bar.swing != 1000 && (before(b) == nullptr || before(b)->swing == 1000))
      put(textMark({bars[i].first - grid::headWidth / 2, (anyForm ? formBase : symbolBase) - 2.1}, "swing",
                   letters::head, Style::bold, Anchor::start));
  }
  return countBase + 0.9;
}

Sheet Engraver::engrave() {
  sheet_.width = options_.width;
  if (bars_.empty()) return std::move(sheet_);
  double indent = 0;
  for (const std::string& name : {options_.upperName, options_.lowerName})
    if (!name.empty()) indent = std::max(indent, widthOf(name, Style::italic, letters::numeral) + 0.8);
  double y = heading(options_.margin);
  const auto all = linesOf(bars_, options_, indent);
  for (std::size_t i = 0; i < all.size(); ++i) {
    const bool swings = std::any_of(bars_.begin() + static_cast<std::ptrdiff_t>(all[i].from),
                                    bars_.begin() + static_cast<std::ptrdiff_t>(all[i].to), [&](const Bar& bar) {
                                      const auto b = static_cast<std::size_t>(&bar - bars_.data());
                                      return bar.swing != 1000 && (before(b) == nullptr || before(b)->swing == 1000);
                                    });
    y = system(all[i], i, y + (swings ? 2 : 0)) + 1.6;
  }
  if (!options_.heading.footnote.empty()) {
    put(textMark({options_.width - options_.margin, y + 1}, options_.heading.footnote, letters::numeral, Style::italic,
                 Anchor::end, Token::soft));
    y += 2;
  }
  sheet_.height = y + options_.margin - 1;
  return std::move(sheet_);
}

}  // namespace

Sheet engrave(std::span<const Bar> bars, const EngravingOptions& options) { return Engraver(bars, options).engrave(); }

}  // namespace seguente::page
