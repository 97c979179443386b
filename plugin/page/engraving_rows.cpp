#include "plugin/page/engraving_rows.h"

#include <algorithm>

#include "plugin/page/marks.h"
#include "plugin/page/measure.h"
#include "plugin/page/staff_layout.h"

namespace seguente::page {

namespace {

std::string wordOf(FigureKind kind) {
  switch (kind) {
    case FigureKind::statement:
      return "statement";
    case FigureKind::answer:
      return "answer";
    case FigureKind::lift:
      return "lift";
    case FigureKind::vamp:
      return "vamp";
    case FigureKind::hold:
      return "hold";
    case FigureKind::cadence:
    case FigureKind::end:
    case FigureKind::fullCadence:
    case FigureKind::halfCadence:
      return "cadence";
    case FigureKind::turnaround:
      return "turnaround";
    case FigureKind::shortForm:
      break;
  }
  return "";
}

}  // namespace

void drawSymbols(std::span<const PlacedBar> bars, double y, std::vector<Mark>& marks) {
  struct Placed {
    const ChordMark* mark;
    double x;
    double bound;  // of this bar
  };
  std::vector<Placed> all;
  for (const PlacedBar& place : bars)
    for (const ChordMark& mark : place.bar->chords)
      all.push_back({&mark, place.xOf(mark.at) - grid::headWidth / 2, place.right + 1});
  double used = -1e9;
  for (std::size_t i = 0; i < all.size(); ++i) {
    const Placed& p = all[i];
    const double x = std::max(p.x, used);
    const double next = i + 1 < all.size() ? all[i + 1].x : p.bound;
    const double wide = widthOf(p.mark->symbol, Style::bold, letters::symbol);
    marks.push_back(textMark({x, y}, p.mark->symbol, letters::symbol, Style::bold, Anchor::start));
    used = x + wide + 0.4;
    if (p.mark->numeral.empty()) continue;
    const double numeral = widthOf(p.mark->numeral, Style::italic, letters::numeral);
    const double at = x + wide + 0.7;
    if (at + numeral + 0.4 > next) continue;
    marks.push_back(textMark({at, y}, p.mark->numeral, letters::numeral, Style::italic, Anchor::start, Token::soft));
    used = at + numeral + 0.4;
  }
}

void drawForm(std::span<const PlacedBar> bars, double y, std::vector<Mark>& marks) {
  struct Part {
    double from;
    std::string word;
    double to;
  };
  std::vector<Part> parts;
  for (const PlacedBar& place : bars)
    for (const FormMark& mark : place.bar->form) {
      const std::string word = wordOf(mark.kind);
      const double x =
          mark.at == Ticks{} ? place.first - grid::headWidth / 2 : place.xOf(mark.at) - grid::headWidth / 2;
      if (word.empty()) continue;
      if (!parts.empty() && parts.back().word == word) continue;
      if (!parts.empty()) parts.back().to = mark.at == Ticks{} ? place.left - 0.7 : x - 0.7;
      parts.push_back({x, word, 0});
    }
  for (const PlacedBar& place : bars)
    if (!parts.empty() && !place.bar->staff(StaffKind::lower).voices.empty()) parts.back().to = place.right - 0.7;
  for (const Part& part : parts) {
    const double wide = widthOf(part.word, Style::italic, letters::form);
    if (part.from + wide > part.to + 0.7) continue;  // no room for a word that lasts so short
    marks.push_back(textMark({part.from, y}, part.word, letters::form, Style::italic, Anchor::start, Token::soft));
    const double from = part.from + wide + 0.6;
    if (from + 0.8 > part.to) continue;
    marks.push_back(lineMark({from, y - 0.45}, {part.to, y - 0.45}, 0.1, Token::rule));
    marks.push_back(lineMark({part.to, y - 0.5}, {part.to, y + 0.3}, 0.1, Token::rule));
  }
}

void drawCount(std::span<const PlacedBar> bars, double y, const EngravingOptions& options, std::vector<Mark>& marks) {
  for (const PlacedBar& place : bars) {
    const Bar& bar = *place.bar;
    const Ticks beat = bar.meter.beat();
    const auto missing = (bar.before.value + beat.value - 1) / beat.value;
    // An incomplete bar counts on from what it lacks; a pickup of less than a beat is counted as none.
    const Ticks offset{missing * beat.value - bar.before.value};
    const bool head = options.playhead && options.playhead->ordinal == bar.ordinal;
    for (std::int64_t b = 0; offset + beat * b < bar.length; ++b) {
      const Ticks at = offset + beat * b;
      const double x = place.xOf(at);
      const bool now = head && options.playhead->at >= at && options.playhead->at < at + beat;
      const std::string figure = std::to_string(missing + b + 1);
      marks.push_back(textMark({x, y}, figure, letters::count * (now ? 1.15 : 1), now ? Style::bold : Style::roman,
                               Anchor::middle, now ? Token::ink : Token::soft));
      if (now) marks.push_back(lineMark({x - 0.9, y + 0.55}, {x + 0.9, y + 0.55}, 0.25));
    }
  }
}

void drawPlayhead(std::span<const PlacedBar> bars, double top, double bottom, std::size_t under,
                  const EngravingOptions& options, std::vector<Mark>& marks) {
  if (!options.playhead) return;
  for (const PlacedBar& place : bars) {
    if (place.bar->ordinal != options.playhead->ordinal) continue;
    const double x = place.xOf(options.playhead->at);
    Mark band;
    band.kind = Mark::Kind::box;
    band.token = Token::band;
    band.a = {x - 1.35, top - 1};
    band.b = {x + 1.35, bottom + 1};
    marks.insert(marks.begin() + static_cast<std::ptrdiff_t>(under), band);
    Outline wedge;
    wedge.move({x - 0.6, top - 1.9});
    wedge.line({x + 0.6, top - 1.9});
    wedge.line({x, top - 1.05});
    wedge.close();
    marks.push_back(outlineMark(std::move(wedge)));
  }
}

}  // namespace seguente::page
