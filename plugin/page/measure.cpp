#include "plugin/page/measure.h"

#include <algorithm>
#include <cmath>
#include <map>

#include "plugin/page/spelling.h"
#include "plugin/page/staff_layout.h"

namespace seguente::page {

namespace {

constexpr double air = 0.35;      // between what stands side by side
constexpr double leastPad = 1.7;  // from a bar line to its first head's middle
constexpr double widest = 90;     // a bar that asks for more is crowded

struct Reach {
  double left = 0, right = 0;
};

/// What each moment of the bar reaches, all staves together.
std::map<std::int64_t, Reach> momentsOf(const Bar& bar) {
  std::map<std::int64_t, Reach> moments;
  for (std::size_t s = 0; s < staffKinds; ++s) {
    const auto columns = columnsOf(bar.staves[s], shapeOf(static_cast<StaffKind>(s)));
    for (const Column& column : columns) {
      if (column.event->wholeBar) continue;
      Reach& reach = moments[column.event->at.value];
      reach.left = std::max(reach.left, column.event->rest() ? 0.6 : column.left);
      reach.right = std::max(reach.right, column.event->rest() ? 0.7 : column.right);
    }
  }
  return moments;
}

double textNeeds(const Bar& bar, double length) {
  double most = 0;
  for (std::size_t i = 0; i < bar.chords.size(); ++i) {
    const ChordMark& mark = bar.chords[i];
    const double wide = widthOf(mark.symbol, Style::bold, letters::symbol) + 0.8;
    const Ticks end = i + 1 < bar.chords.size() ? bar.chords[i + 1].at : bar.length;
    const auto part = static_cast<double>((end - mark.at).value) / length;
    if (part > 0) most = std::max(most, wide / part);
  }
  return most;
}

}  // namespace

double signatureWidth(const Key& key) {
  const int signs = std::abs(signatureOf(key));
  return signs == 0 ? 0 : signs * (signatureOf(key) > 0 ? 1.0 : 0.9) + 0.5;
}

bool newSignature(const Bar& bar, const Bar* before) {
  return before != nullptr && signatureOf(bar.key) != signatureOf(before->key);
}
bool newTime(const Bar& bar, const Bar* before) { return before == nullptr || !(bar.meter == before->meter); }

BarNeeds needsOf(const Bar& bar, bool signature, bool time) {
  BarNeeds needs;
  const auto length = static_cast<double>(bar.length.value);
  const auto moments = momentsOf(bar);
  needs.before = leastPad;
  if (!moments.empty()) needs.before = std::max(needs.before, moments.begin()->second.left + 0.7);
  if (signature) needs.before += signatureWidth(bar.key) + 1.2;
  if (time) needs.before += timeWidth;
  for (auto m = moments.begin(); m != moments.end(); ++m) {
    const auto next = std::next(m);
    const auto to = next == moments.end() ? bar.length.value : next->first;
    const double room = m->second.right + air + (next == moments.end() ? 0.5 : next->second.left);
    const double part = static_cast<double>(to - m->first) / length;
    if (part > 0) needs.after = std::max(needs.after, room / part);
  }
  const double beats = length / static_cast<double>(bar.meter.beat().value);
  needs.after = std::max({needs.after, beats * 1.5, textNeeds(bar, length)});
  needs.after = std::min(needs.after, widest);
  return needs;
}

std::vector<Line> linesOf(std::span<const Bar> bars, const EngravingOptions& options, double indent) {
  std::vector<Line> lines;
  std::size_t at = 0;
  while (at < bars.size() && (options.systems == 0 || lines.size() < options.systems)) {
    Line line;
    line.from = at;
    line.left = options.margin + 1.6 + (lines.empty() ? indent : 0);
    const Bar* before = at > 0 ? &bars[at - 1] : options.before;
    line.prefix = clefWidth + signatureWidth(bars[at].key) + (newTime(bars[at], before) ? timeWidth : 0);
    const double room = options.width - options.margin - line.left - line.prefix;
    double sum = 0;
    std::size_t full = 0;  // a pickup counts for none
    std::vector<double> needs;
    for (std::size_t b = at; b < bars.size(); ++b) {
      const Bar* last = b > at ? &bars[b - 1] : nullptr;
      const double need = needsOf(bars[b], newSignature(bars[b], last), b > at && newTime(bars[b], last)).full();
      const bool pickup = bars[b].before > Ticks{};
      if (b > at && ((!options.even && sum + need > room) || (!pickup && full >= options.barsASystem))) break;
      sum += need;
      full += pickup ? 0 : 1;
      needs.push_back(need);
    }
    line.to = at + needs.size();
    // Alike where that leaves each its room; an incomplete bar is smaller by what it lacks.
    std::vector<double> weight;
    for (std::size_t b = line.from; b < line.to; ++b)
      weight.push_back(std::max(0.3, static_cast<double>(bars[b].length.value) /
                                         static_cast<double>((bars[b].length + bars[b].before).value)));
    double width = room;
    const bool last = line.to == bars.size() && !lines.empty();
    if (options.even || last) {
      double places = 0;
      for (const double w : weight) places += w;
      const double whole = static_cast<double>(std::max<std::size_t>(options.barsASystem, 1));
      if (places < whole) width = std::max(sum, room * places / whole);
      // A last line that nearly fills its place does fill it.
      if (!options.even && width > room * 0.7) width = room;
      width = std::min(width, room);
    }
    std::vector<bool> fixed(needs.size(), false);
    line.widths.assign(needs.size(), 0);
    for (bool again = true; again;) {
      again = false;
      double left = width, shares = 0;
      for (std::size_t i = 0; i < needs.size(); ++i) {
        if (fixed[i])
          left -= needs[i];
        else
          shares += weight[i];
      }
      for (std::size_t i = 0; i < needs.size(); ++i) {
        line.widths[i] = fixed[i] ? needs[i] : left * weight[i] / shares;
        if (!fixed[i] && line.widths[i] < needs[i] && sum <= width) {
          fixed[i] = true;
          again = true;
        }
      }
    }
    at = line.to;
    lines.push_back(std::move(line));
  }
  return lines;
}

}  // namespace seguente::page
