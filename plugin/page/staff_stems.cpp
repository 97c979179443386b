#include "plugin/page/staff_stems.h"

#include <algorithm>
#include <cmath>

namespace seguente::page {

namespace {

double nearHead(const Column& column) { return column.up ? column.heads.back().y : column.heads.front().y; }
double farHead(const Column& column) { return column.up ? column.heads.front().y : column.heads.back().y; }

/// Two or three flags ask for a longer stem.
double lengthFor(int flags) { return grid::stemLength + (flags > 2 ? 0.75 * (flags - 2) : 0); }

void beamGroup(std::vector<Stem>& stems, const std::vector<std::size_t>& group, const std::vector<Column>& columns) {
  const Stem& a = stems[group.front()];
  const Stem& b = stems[group.back()];
  const bool up = a.up;
  double between = up ? 1e9 : -1e9;
  int most = 1;
  for (const std::size_t i : group) {
    const Column& column = columns[stems[i].column];
    most = std::max(most, column.event->value.flags());
    if (i == group.front() || i == group.back()) continue;
    between = up ? std::min(between, nearHead(column)) : std::max(between, nearHead(column));
  }
  const double width = std::max(0.5, b.x - a.x);
  const double slant = slantOf(nearHead(columns[a.column]), nearHead(columns[b.column]), between, up, width);
  const double least = 2.75 + grid::beamStep * (most - 1) * 0.75;  // of the shortest stem
  double start = up ? 1e9 : -1e9;
  for (const std::size_t i : group) {
    const double along = slant * (stems[i].x - a.x) / width;
    const double head = nearHead(columns[stems[i].column]);
    const double at = up ? std::min(head - least, 2.0) : std::max(head + least, 2.0);  // at least to the middle line
    start = up ? std::min(start, at - along) : std::max(start, at - along);
  }
  // The end whose head is nearest has a whole stem where the slant allows it.
  const double wish = up ? std::min(nearHead(columns[a.column]), nearHead(columns[b.column]) - slant) - 3.25
                         : std::max(nearHead(columns[a.column]), nearHead(columns[b.column]) - slant) + 3.25;
  start = up ? std::min(start, wish) : std::max(start, wish);
  for (const std::size_t i : group) stems[i].tip = start + slant * (stems[i].x - a.x) / width;
}

Mark beamMark(double x1, double y1, double x2, double y2, bool up) {
  const double thick = up ? grid::beam : -grid::beam;
  Outline outline;
  outline.move({x1, y1});
  outline.line({x2, y2});
  outline.line({x2, y2 + thick});
  outline.line({x1, y1 + thick});
  outline.close();
  return outlineMark(std::move(outline));
}

/// Further beams run where neighbours have them; a note that has one alone gets a stub towards its own part of the
/// beat.
void drawBeam(const std::vector<const Stem*>& group, const std::vector<Column>& columns,
              const std::function<void(Mark)>& put) {
  const bool up = group.front()->up;
  const double half = grid::stem / 2;
  const Stem& first = *group.front();
  const Stem& last = *group.back();
  const double slope = (last.tip - first.tip) / std::max(0.1, last.x - first.x);
  const auto yAt = [&](double x, int level) {
    return first.tip + slope * (x - first.x) + (up ? 1 : -1) * grid::beamStep * (level - 1);
  };
  const auto flags = [&](std::size_t i) { return columns[group[i]->column].event->value.flags(); };
  for (int level = 1; level <= 3; ++level)
    for (std::size_t i = 0; i < group.size();) {
      std::size_t end = i;
      while (end < group.size() && flags(end) >= level) ++end;
      if (end == i) {
        ++i;
        continue;
      }
      double x1 = group[i]->x - half, x2 = group[end - 1]->x + half;
      if (end - i == 1) {
        const Event& event = *columns[group[i]->column].event;
        const bool back = i + 1 == group.size() || (i > 0 && event.at.value % (event.length.value * 2) != 0);
        if (back)
          x1 = x2 - 1.15;
        else
          x2 = x1 + 1.15;
      }
      put(beamMark(x1, yAt(x1, level), x2, yAt(x2, level), up));
      i = end;
    }
}

}  // namespace

double slantOf(double first, double last, double nearestBetween, bool up, double width) {
  const double way = last - first;
  if (std::abs(way) < 0.25) return 0;
  const double nearer = up ? std::min(first, last) : std::max(first, last);
  if (up ? nearestBetween <= nearer : nearestBetween >= nearer) return 0;
  const double most = std::min(1.0, width * 0.2);
  return std::clamp(way * 0.5, -most, most);
}

std::vector<Stem> stemsOf(const std::vector<Column>& columns, const std::vector<double>& xs, bool twoVoices) {
  std::vector<Stem> stems;
  for (std::size_t i = 0; i < columns.size(); ++i) {
    const Column& column = columns[i];
    if (column.event->rest() || !column.event->value.stem()) continue;
    const double aside = grid::headWidth / 2 - grid::stem / 2 + 0.01;
    Stem stem{i, xs[i] + (column.up ? aside : -aside), farHead(column), 0, column.up};
    const double length = lengthFor(column.event->value.flags());
    const double end = nearHead(column) + (column.up ? -length : length);
    stem.tip = column.up ? std::min(end, 2.0) : std::max(end, 2.0);
    // A voice whose stems point out of the staff may have them shorter.
    if (twoVoices && nearHead(column) < 0 && column.up) stem.tip = nearHead(column) - 3;
    if (twoVoices && nearHead(column) > 4 && !column.up) stem.tip = nearHead(column) + 3;
    stems.push_back(stem);
  }
  for (std::size_t i = 0; i < stems.size();) {
    const Column& column = columns[stems[i].column];
    std::vector<std::size_t> group;
    for (std::size_t k = i; k < stems.size(); ++k) {
      const Column& other = columns[stems[k].column];
      if (column.event->beam < 0 || other.voice != column.voice || other.event->beam != column.event->beam) break;
      group.push_back(k);
    }
    if (group.size() > 1) beamGroup(stems, group, columns);
    i += std::max<std::size_t>(1, group.size());
  }
  return stems;
}

void drawStems(const std::vector<Stem>& stems, const std::vector<Column>& columns,
               const std::function<void(Mark)>& put) {
  for (std::size_t i = 0; i < stems.size();) {
    std::vector<const Stem*> group;
    const Column& column = columns[stems[i].column];
    std::size_t end = i;
    while (end < stems.size() &&
           (end == i || (column.event->beam >= 0 && columns[stems[end].column].voice == column.voice &&
                         columns[stems[end].column].event->beam == column.event->beam)))
      group.push_back(&stems[end++]);
    for (const Stem* stem : group) {
      const Column& at = columns[stem->column];
      const bool coming = at.heads.front().note->coming;
      const double foot = stem->foot + (stem->up ? -0.14 : 0.14);
      put(lineMark({stem->x, foot}, {stem->x, stem->tip}, grid::stem, coming ? Token::coming : Token::ink));
    }
    if (group.size() > 1) {
      drawBeam(group, columns, put);
    } else {
      const Stem& stem = *group.front();
      for (int f = 0; f < column.event->value.flags(); ++f)
        put(glyphMark(stem.up ? Glyph::flagUp : Glyph::flagDown,
                      {stem.x - grid::stem / 2, stem.tip + (stem.up ? 1 : -1) * grid::beamStep * f},
                      column.heads.front().note->coming ? Token::coming : Token::ink));
    }
    i = end;
  }
}

}  // namespace seguente::page
