// What stands in one column: stem direction, seconds, accidentals, how far it reaches.
#include <algorithm>
#include <cmath>

#include "plugin/page/staff_layout.h"

namespace seguente::page {

namespace {

Glyph signOf(int alteration) {
  switch (alteration) {
    case 2:
      return Glyph::doubleSharp;
    case 1:
      return Glyph::sharp;
    case -1:
      return Glyph::flat;
    case -2:
      return Glyph::doubleFlat;
    default:
      return Glyph::natural;
  }
}

double headWidthOf(const Event& event) { return event.value.power == 0 ? 1.68 : grid::headWidth; }

/// Away from the side that reaches further from the middle line; on it, down.
bool upBy(double highest, double lowest) { return lowest - 2 > 2 - highest; }

/// Of a second one head stands on the other side of the stem: the upper one of an up stem, the lower of a down stem.
void seconds(Column& column) {
  auto& heads = column.heads;
  const double over = headWidthOf(*column.event) - grid::stem;
  const auto n = heads.size();
  for (std::size_t k = 1; k < n; ++k) {
    Column::Head& head = column.up ? heads[k] : heads[n - 1 - k];
    const Column::Head& before = column.up ? heads[k - 1] : heads[n - k];
    const bool close = std::abs(head.y - before.y) < 0.75;
    if (!close || before.displaced) continue;
    head.displaced = true;
    head.dx = column.up ? over : -over;
  }
}

void reach(Column& column) {
  const double half = headWidthOf(*column.event) / 2;
  column.left = column.right = half;
  for (const Column::Head& head : column.heads) {
    column.left = std::max(column.left, half - head.dx - column.shift);
    column.right = std::max(column.right, half + head.dx + column.shift);
  }
  if (column.event->value.dots > 0) column.right += 0.75;
  const bool flag = column.event->value.flags() > 0 && column.event->beam < 0;
  if (flag && column.up && !column.event->rest()) column.right += 0.85;
}

/// Voices that meet: the upper to the left, the lower to the right; one head for a unison of one kind.
void part(Column& above, Column& below) {
  if (above.heads.empty() || below.heads.empty()) return;
  const double low = above.heads.front().y;  // lowest head of the upper voice
  const double high = below.heads.back().y;  // highest of the lower voice
  if (high - low > 0.75) return;
  const Value a = above.event->value, b = below.event->value;
  const bool unison =
      std::abs(high - low) < 0.25 && a.open() == b.open() && a.dots == b.dots && a.power > 0 && b.power > 0;
  if (unison) return;
  double aside = headWidthOf(*above.event) - (std::abs(high - low) < 0.75 && high > low ? grid::stem : 0) + 0.1;
  if (a.dots > 0) aside += 0.6;
  below.shift = aside;
}

/// Accidentals go into columns to the left, the outermost notes first; two share a column when three spaces part them
/// (a flat needs less below).
void signs(std::vector<Column*>& moment) {
  struct Wanted {
    Column* column;
    const Note* note;
    double y;
  };
  std::vector<Wanted> wanted;
  double left = 0;
  for (Column* column : moment) {
    for (const Column::Head& head : column->heads)
      if (head.note->sign) wanted.push_back({column, head.note, head.y});
    left = std::max(left, column->left);
  }
  if (wanted.empty()) return;
  std::sort(wanted.begin(), wanted.end(), [](const Wanted& a, const Wanted& b) { return a.y < b.y; });
  std::vector<Wanted> order;
  for (std::size_t i = 0, k = wanted.size(); i < k;) {
    order.push_back(wanted[i++]);
    if (i < k) order.push_back(wanted[--k]);
  }
  std::vector<std::vector<Box>> columns;
  std::vector<double> widths;
  struct Chosen {
    Wanted what;
    std::size_t column;
  };
  std::vector<Chosen> chosen;
  for (const Wanted& w : order) {
    const Box shape = boxOf(signOf(w.note->alteration));
    const Box here{0, shape.top + w.y, 1, shape.bottom + w.y};
    std::size_t c = 0;
    while (c < columns.size() &&
           std::any_of(columns[c].begin(), columns[c].end(), [&](const Box& other) { return other.overlaps(here); }))
      ++c;
    if (c == columns.size()) {
      columns.emplace_back();
      widths.push_back(0);
    }
    columns[c].push_back(here);
    widths[c] = std::max(widths[c], shape.right - shape.left);
    chosen.push_back({w, c});
  }
  double most = left;
  for (const Chosen& ch : chosen) {
    double right = left + grid::accidentalGap;
    for (std::size_t c = 0; c < ch.column; ++c) right += widths[c] + 0.15;
    const Glyph glyph = signOf(ch.what.note->alteration);
    const Box shape = boxOf(glyph);
    ch.what.column->signs.push_back({glyph, -right - shape.right, ch.what.y});
    most = std::max(most, right + shape.right - shape.left);
  }
  for (Column* column : moment) column->left = std::max(column->left, most);
}

}  // namespace

StaffShape shapeOf(StaffKind kind) {
  switch (kind) {
    case StaffKind::upper:
      return {Glyph::trebleClef, 2, false};
    case StaffKind::lower:
      return {Glyph::bassClef, -10, false};
    case StaffKind::percussion:
      break;
  }
  return {Glyph::percussionClef, -4, true};
}

int percussionStep(NoteNumber key) {
  // General MIDI percussion: drums with a skin up to 41 lie low, snares and sticks on the line, cymbals and small ones
  // over.
  if (key.value <= 36) return -1;
  return key.value <= 41 ? 0 : 1;
}

double graceWidth(const Event& event) {
  double width = 0;
  for (const Note& note : event.graces) width += note.sign ? 1.5 : 0.95;
  return event.graces.empty() ? 0 : width + 0.35;
}

std::vector<Column> columnsOf(const Staff& staff, const StaffShape& shape) {
  std::vector<Column> columns;
  const bool two = staff.voices.size() > 1;
  for (std::size_t v = 0; v < staff.voices.size(); ++v) {
    const auto& events = staff.voices[v].events;
    const std::size_t first = columns.size();
    for (const Event& event : events) {
      Column column;
      column.event = &event;
      column.voice = v;
      for (const Note& note : event.notes)
        column.heads.push_back({&note, 0, shape.yOf(shape.oneLine ? percussionStep(note.key) : note.step), false});
      std::stable_sort(column.heads.begin(), column.heads.end(),
                       [](const Column::Head& a, const Column::Head& b) { return a.y > b.y; });
      columns.push_back(std::move(column));
    }
    for (std::size_t i = first; i < columns.size(); ++i) {
      Column& column = columns[i];
      double highest = 1e9, lowest = -1e9;
      for (std::size_t k = first; k < columns.size(); ++k) {
        const bool group = column.event->beam >= 0 && columns[k].event->beam == column.event->beam;
        if (k != i && !group) continue;
        for (const Column::Head& head : columns[k].heads) {
          highest = std::min(highest, head.y);
          lowest = std::max(lowest, head.y);
        }
      }
      column.up = two ? v == 0 : shape.oneLine || upBy(highest, lowest);
    }
  }
  std::map<std::int64_t, std::vector<Column*>> moments;
  for (Column& column : columns) {
    if (!column.event->rest()) seconds(column);
    moments[column.event->at.value].push_back(&column);
  }
  for (auto& [at, moment] : moments) {
    if (moment.size() == 2) part(*moment[0], *moment[1]);
    for (Column* column : moment) reach(*column);
    signs(moment);
  }
  for (Column& column : columns) column.left += graceWidth(*column.event);
  return columns;
}

}  // namespace seguente::page
