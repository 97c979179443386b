// Draws one staff of one bar: heads, signs, ledger lines, dots, rests, graces, ties. Stems and beams: staff_stems.cpp.
#include "plugin/page/staff_layout.h"

#include <algorithm>
#include <cmath>
#include <utility>

#include "plugin/page/staff_stems.h"

namespace seguente::page {

namespace {

constexpr double graceScale = 0.62;

Glyph headOf(const Value& value, bool hatched) {
  if (value.power == 0) return hatched ? Glyph::headWholeHatched : Glyph::headWhole;
  if (value.power == 1) return hatched ? Glyph::headHalfHatched : Glyph::headHalf;
  return hatched ? Glyph::headBlackHatched : Glyph::headBlack;
}

Glyph restOf(const Value& value) {
  switch (value.power) {
    case 0:
      return Glyph::restWhole;
    case 1:
      return Glyph::restHalf;
    case 2:
      return Glyph::restQuarter;
    case 3:
      return Glyph::restEighth;
    case 4:
      return Glyph::restSixteenth;
    default:
      return Glyph::restThirtySecond;
  }
}

class StaffDrawer {
 public:
  StaffDrawer(const StaffTask& task, OpenTies& ties, StaffDrawing& drawing)
      : task_(task), ties_(ties), drawing_(drawing), columns_(columnsOf(*task.staff, task.shape)) {}
  void draw();

 private:
  struct Ink {
    Token head = Token::ink;
    Token rest = Token::ink;  // of everything but the head
    bool hatched = false;
  };
  Ink inkOf(const Note& note) const;
  void put(Mark mark);
  void heads(const Column& column, double x);
  void ledgers(const Column& column, double x);
  void dots(const Column& column, double x);
  void rest(const Column& column);
  void graces(const Column& column, double x);
  void tie(const Column& column, double x);
  void drawTie(Point from, Point to, double direction);
  void tuplets();
  bool restedElsewhere(const Column& column) const;

  const StaffTask& task_;
  OpenTies& ties_;
  StaffDrawing& drawing_;
  std::vector<Column> columns_;
  std::vector<Stem> stems_;
};

void StaffDrawer::put(Mark mark) {
  const Box box = boxOf(mark);
  drawing_.top = std::min(drawing_.top, box.top);
  drawing_.bottom = std::max(drawing_.bottom, box.bottom);
  drawing_.marks.push_back(std::move(mark));
}

StaffDrawer::Ink StaffDrawer::inkOf(const Note& note) const {
  if (note.coming) return {Token::coming, Token::coming, false};
  if (!task_.coloured) return {};
  if (note.source == Source::melody) return {Token::melody, Token::ink, false};
  if (note.source == Source::held) return {};
  return {Token::accompaniment, Token::ink, true};
}

void StaffDrawer::heads(const Column& column, double x) {
  for (const Column::Head& head : column.heads) {
    const Ink ink = inkOf(*head.note);
    Glyph glyph = headOf(column.event->value, ink.hatched);
    if (task_.shape.oneLine && percussionStep(head.note->key) > 0) glyph = Glyph::headCross;
    put(glyphMark(glyph, {x + head.dx, head.y}, ink.head));
    HeadPlace place;
    place.ordinal = task_.bar->ordinal;
    place.noteId = head.note->noteId;
    place.source = head.note->source;
    place.key = head.note->key;
    place.at = column.event->at;
    place.middle = {x + head.dx, head.y};
    place.displaced = head.displaced || column.shift != 0;
    drawing_.heads.push_back(place);
  }
  for (const Column::Sign& sign : column.signs)
    put(glyphMark(sign.glyph, {x - column.shift + sign.dx, sign.y},
                  column.heads.front().note->coming ? Token::coming : Token::ink));
}

void StaffDrawer::ledgers(const Column& column, double x) {
  if (task_.shape.oneLine) return;
  const double half = (column.event->value.power == 0 ? 1.68 : grid::headWidth) / 2 + grid::ledger;
  // Each line is as wide as the heads that lie on it or beyond it.
  for (const int side : {-1, 1})
    for (double y = side < 0 ? -1 : 5; side < 0 ? y > -12 : y < 16; y += side) {
      double left = 1e9, right = -1e9;
      for (const Column::Head& head : column.heads)
        if (side < 0 ? head.y <= y + 0.01 : head.y >= y - 0.01) {
          left = std::min(left, head.dx - half);
          right = std::max(right, head.dx + half);
        }
      if (left > right) break;
      put(lineMark({x + left, y}, {x + right, y}, grid::ledgerLine));
    }
}

/// In the space: of a note on a line the space above, and never two dots in one space.
void StaffDrawer::dots(const Column& column, double x) {
  if (column.event->value.dots == 0) return;
  double right = 0;
  for (const Column::Head& head : column.heads) right = std::max(right, head.dx);
  const double at = x + right + (column.event->value.power == 0 ? 1.68 : grid::headWidth) / 2 + 0.42;
  std::vector<double> taken;
  const bool downwards = task_.staff->voices.size() > 1 && column.voice == 1;
  for (auto head = column.heads.rbegin(); head != column.heads.rend(); ++head) {  // from the top
    const bool onLine = std::abs(head->y - std::round(head->y)) < 0.25;
    double y = onLine ? head->y + (downwards ? 0.5 : -0.5) : head->y;
    const auto clash = [&](double v) {
      return std::any_of(taken.begin(), taken.end(), [&](double t) { return std::abs(t - v) < 0.5; });
    };
    if (clash(y)) y = onLine ? head->y + 0.5 : y + 1;
    if (clash(y)) continue;
    taken.push_back(y);
    put(glyphMark(Glyph::dot, {at, y}, inkOf(*head->note).rest));
  }
}

/// Both voices silent together: one rest, in the middle.
bool StaffDrawer::restedElsewhere(const Column& column) const {
  return std::any_of(columns_.begin(), columns_.end(), [&](const Column& other) {
    return other.voice != column.voice && other.event->rest() && other.event->at == column.event->at &&
           other.event->length == column.event->length;
  });
}

void StaffDrawer::rest(const Column& column) {
  const Event& event = *column.event;
  if (!event.shown) return;
  const bool two = task_.staff->voices.size() > 1;
  double y = 2;
  const bool together = two && restedElsewhere(column);
  if (together && column.voice > 0) return;
  if (two && !together) {
    // Out of the other voice's way: past its heads at this moment, on whole spaces.
    y = column.voice == 0 ? 0 : 4;
    for (const Column& other : columns_) {
      if (other.voice == column.voice) continue;
      const bool meets = other.event->at < event.at + event.length && event.at < other.event->at + other.event->length;
      if (!meets || other.heads.empty()) continue;
      const double far =
          column.voice == 0 ? std::floor(other.heads.back().y - 2.2) : std::ceil(other.heads.front().y + 2.2);
      y = column.voice == 0 ? std::min(y, far) : std::max(y, far);
    }
  }
  const Glyph glyph = restOf(event.value);
  double x = task_.xOf(event.at);
  if (event.wholeBar) x = (task_.left + task_.right) / 2;
  if (glyph == Glyph::restWhole) y -= 1;
  const double mid = boxOf(glyph).left + (boxOf(glyph).right - boxOf(glyph).left) / 2;
  put(glyphMark(glyph, {event.wholeBar ? x : x - mid, y}));
  if (event.value.dots > 0) put(glyphMark(Glyph::dot, {x + 1.05, y - 0.5}));
}

void StaffDrawer::graces(const Column& column, double x) {
  const auto& notes = column.event->graces;
  if (notes.empty()) return;
  double at = x - column.left + 0.45;
  for (const Note& note : notes) {
    const double y = task_.shape.yOf(note.step);
    if (note.sign) {
      const Glyph sign = note.alteration > 0 ? Glyph::sharp : note.alteration < 0 ? Glyph::flat : Glyph::natural;
      put(glyphMark(sign, {at - 0.05, y}, Token::ink, graceScale));
      at += 0.78;
    }
    const Ink ink = inkOf(note);
    put(glyphMark(headOf({3, 0}, ink.hatched), {at, y}, ink.head, graceScale));
    for (double line = -1; line >= y - 0.01; line -= 1)
      put(lineMark({at - 0.6, line}, {at + 0.6, line}, grid::ledgerLine));
    for (double line = 5; line <= y + 0.01; line += 1)
      put(lineMark({at - 0.6, line}, {at + 0.6, line}, grid::ledgerLine));
    HeadPlace place;
    place.ordinal = task_.bar->ordinal;
    place.noteId = note.noteId;
    place.source = note.source;
    place.key = note.key;
    place.at = column.event->at;
    place.middle = {at, y};
    place.grace = true;
    drawing_.heads.push_back(place);
    const double stemX = at + 0.33, tip = y - 2.3;
    put(lineMark({stemX, y - 0.1}, {stemX, tip}, 0.1));
    put(glyphMark(Glyph::flagUp, {stemX, tip}, Token::ink, graceScale * 0.8));
    // A stroke through stem and flag: as short as can be.
    if (notes.size() == 1) put(lineMark({stemX - 0.5, tip + 1.3}, {stemX + 0.7, tip + 0.4}, 0.1));
    at += 0.95;
  }
}

void StaffDrawer::drawTie(Point from, Point to, double direction) {
  const double width = to.x - from.x;
  const double rise = std::clamp(0.30 + width * 0.035, 0.35, 0.85);
  put(outlineMark(tieOf(from, to, rise * direction)));
}

void StaffDrawer::tie(const Column& column, double x) {
  const bool two = task_.staff->voices.size() > 1;
  const auto n = column.heads.size();
  const bool inChord = n > 1;
  for (std::size_t i = 0; i < n; ++i) {
    const Column::Head& head = column.heads[i];
    const Note& note = *head.note;
    const int key = note.key.value + 128 * static_cast<int>(column.voice);
    const double aside = inChord ? grid::headWidth / 2 + 0.12 : 0.32;
    const double below = inChord ? 0.18 : 0.62;
    if (note.tiedIn) {
      auto open = ties_.find(key);
      for (int other = 0; open == ties_.end() && other < 2; ++other) open = ties_.find(note.key.value + 128 * other);
      double direction = column.up ? 1 : -1;
      Point from{task_.left + 0.4, head.y};
      if (open != ties_.end()) {
        from = open->second.from;
        direction = open->second.direction;
        ties_.erase(open);
      } else {
        from.y = head.y + direction * below;
      }
      drawTie(from, {x + head.dx - aside, from.y}, direction);
    }
    if (note.tiedOut) {
      double direction = column.up ? 1 : -1;
      if (two)
        direction = column.voice == 0 ? -1 : 1;
      else if (inChord)
        direction = i * 2 >= n ? -1 : 1;  // the upper half bows up
      double start = x + head.dx + aside;
      if (inChord && column.event->value.dots > 0) start += 0.6;
      ties_[key] = {{start, head.y + direction * below}, direction};
    }
  }
}

/// The figure 3 over (or under) a triplet, with a bracket where no beam holds it together.
void StaffDrawer::tuplets() {
  for (std::size_t i = 0; i < columns_.size();) {
    const auto number = columns_[i].event->tuplet;
    std::size_t end = i + 1;
    while (end < columns_.size() && columns_[end].voice == columns_[i].voice && columns_[end].event->tuplet == number)
      ++end;
    if (number >= 0) {
      const bool above = task_.staff->voices.size() > 1 ? columns_[i].voice == 0 : columns_[i].up;
      double y = above ? 0 : 4;
      bool beamed = true;
      for (std::size_t k = i; k < end; ++k) {
        beamed = beamed && columns_[k].event->beam >= 0 && columns_[k].event->beam == columns_[i].event->beam;
        for (const Column::Head& head : columns_[k].heads)
          y = above ? std::min(y, head.y - 0.6) : std::max(y, head.y + 0.6);
        for (const Stem& stem : stems_)
          if (stem.column == k) y = above ? std::min(y, stem.tip) : std::max(y, stem.tip);
      }
      y += above ? -0.75 : 0.75;
      const double left = task_.xOf(columns_[i].event->at) - 0.6, right = task_.xOf(columns_[end - 1].event->at) + 0.6;
      const double middle = (left + right) / 2;
      const bool shown = std::any_of(columns_.begin() + static_cast<std::ptrdiff_t>(i),
                                     columns_.begin() + static_cast<std::ptrdiff_t>(end),
                                     [](const Column& c) { return c.event->shown; });
      if (shown) put(textMark({middle, y + 0.5}, "3", 1.8, Style::italic, Anchor::middle));
      if (shown && !beamed) {
        const double hook = above ? 0.5 : -0.5;
        put(lineMark({left, y}, {middle - 0.8, y}, 0.12));
        put(lineMark({middle + 0.8, y}, {right, y}, 0.12));
        put(lineMark({left, y}, {left, y + hook}, 0.12));
        put(lineMark({right, y}, {right, y + hook}, 0.12));
      }
    }
    i = end;
  }
}

void StaffDrawer::draw() {
  std::vector<double> xs;
  for (const Column& column : columns_) xs.push_back(task_.xOf(column.event->at) + column.shift);
  stems_ = stemsOf(columns_, xs, task_.staff->voices.size() > 1);
  for (std::size_t i = 0; i < columns_.size(); ++i)
    if (!columns_[i].event->rest()) ledgers(columns_[i], xs[i]);
  drawStems(stems_, columns_, [&](Mark mark) { put(std::move(mark)); });
  for (std::size_t i = 0; i < columns_.size(); ++i) {
    if (columns_[i].event->rest()) {
      rest(columns_[i]);
      continue;
    }
    graces(columns_[i], xs[i]);
    heads(columns_[i], xs[i]);
    dots(columns_[i], xs[i]);
    tie(columns_[i], xs[i]);
  }
  tuplets();
}

}  // namespace

void drawStaff(const StaffTask& task, OpenTies& ties, StaffDrawing& drawing) {
  StaffDrawer(task, ties, drawing).draw();
}

}  // namespace seguente::page
