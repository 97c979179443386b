#include "plugin/page/quantiser.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <cstdlib>

#include "plugin/page/beats.h"

namespace seguente::page {

namespace {

/// One way of dividing a beat, and what it costs to choose it: the plainer is taken when both explain the playing.
struct Division {
  int parts;
  double penalty;
};
constexpr std::array<Division, 4> simpleDivisions{{{1, 0}, {2, 1}, {4, 3}, {3, 4}}};
constexpr std::array<Division, 3> compoundDivisions{{{1, 0}, {3, 1}, {6, 4}}};

// By trial on the reference tunes. A hand's own spread in time is 20 to 30 ms (REFERENCES: touch).
constexpr double spread = 28;       // ms
constexpr double together = 60;     // ms: struck within this and still down: one chord
constexpr double graceAtMost = 90;  // ms from a grace note to its goal
constexpr double merged = 40;       // cost of two strokes on one place
constexpr double habit = 2;         // how much the piece's own ways of dividing weigh

double milliseconds(Ticks t, const Pulse& pulse) {
  return static_cast<double>(t.value) / static_cast<double>(quarter.value) * pulse.millisecondsPerQuarter;
}

/// Strokes: notes that are struck together, with the graces before them left out.
struct Stroke {
  std::vector<std::size_t> notes;
  Ticks on{};
};

Ticks soundsUntil(const Played& note) { return note.off; }

bool isGrace(const std::vector<Played>& notes, std::size_t i, const Pulse& pulse) {
  if (i + 1 >= notes.size() || notes[i].down) return false;
  const Played& a = notes[i];
  const Played& b = notes[i + 1];
  const Ticks way = b.on - a.on;
  const Ticks sounded = a.off - a.on;
  const double ms = milliseconds(way, pulse);
  const bool quick = ms < graceAtMost && way.value * 5 < quarter.value && ms > 15;
  const bool leaves = milliseconds(a.off - b.on, pulse) < 40 && std::abs(a.key.value - b.key.value) <= 4;
  const bool goalStays = b.down || (b.off - b.on).value > sounded.value * 2;
  return quick && leaves && goalStays && a.key != b.key;
}

std::vector<Stroke> strokesOf(std::vector<Played>& notes, std::size_t first, Ticks from, Ticks to, const Pulse& pulse) {
  std::vector<Stroke> strokes;
  for (std::size_t i = first; i < notes.size() && notes[i].on < to; ++i) {
    if (notes[i].on < from || notes[i].placed) continue;
    notes[i].grace = isGrace(notes, i, pulse);
    if (notes[i].grace) continue;
    if (!strokes.empty()) {
      const Played& before = notes[strokes.back().notes.back()];
      const Played& opening = notes[strokes.back().notes.front()];
      const bool close = milliseconds(notes[i].on - before.on, pulse) < together;
      if (close && (opening.down || soundsUntil(opening) > notes[i].on) && opening.key != notes[i].key) {
        strokes.back().notes.push_back(i);
        continue;
      }
    }
    strokes.push_back({{i}, notes[i].on});
  }
  return strokes;
}

/// Where part k of n of a beat lies when it is played: swung pairs are long and short.
double heardAt(int k, int n, const Pulse& pulse, double beatInPairs) {
  const double straight = static_cast<double>(k) / n;
  if (pulse.swing == 1000 || n == 3) return straight;
  const double place = straight * beatInPairs;
  const double pair = std::floor(place);
  const double within = place - pair;
  const double longer = pulse.swing / (1000.0 + pulse.swing);
  const double swung = within < 0.5 ? within * 2 * longer : longer + (within - 0.5) * 2 * (1 - longer);
  return (pair + swung) / beatInPairs;
}

struct Fit {
  double cost = 1e9;
  int parts = 1;
  std::vector<int> places;
};

Fit fit(const std::vector<Stroke>& strokes, Ticks from, Ticks to, const Pulse& pulse, Division division) {
  Fit f{division.penalty, division.parts, {}};
  const double beat = milliseconds(to - from, pulse);
  const double pairs = static_cast<double>((to - from).value) / static_cast<double>(pulse.swingPair.value);
  bool offGrid = false;
  for (const Stroke& stroke : strokes) {
    const double x = milliseconds(stroke.on - from, pulse);
    int best = 0;
    double off = 1e9;
    for (int k = 0; k <= division.parts; ++k) {
      double away = std::abs(heardAt(k, division.parts, pulse, pairs) * beat - x);
      // In a swung piece the tune may also be played straight.
      if (pulse.swing != 1000) away = std::min(away, std::abs(beat * k / division.parts - x));
      if (away < off) {
        off = away;
        best = k;
      }
    }
    f.cost += (off / spread) * (off / spread);
    if (!f.places.empty() && f.places.back() == best) f.cost += merged;
    offGrid = offGrid || (best > 0 && best < division.parts);
    f.places.push_back(best);
  }
  if (division.parts == 3 && to - from == quarter && pulse.swing != 1000 && strokes.size() < 3) f.cost += merged;
  return f;
}

}  // namespace

void Quantiser::placeBeat(std::vector<Played>& notes, std::size_t first, Ticks from, Ticks to, const Pulse& pulse,
                          bool finished) {
  const auto strokes = strokesOf(notes, first, from, to, pulse);
  Fit best;
  const auto consider = [&](const auto& divisions) {
    for (const Division division : divisions) {
      // A whole beat of a half (n/2) has twice as many parts.
      const int scale = !compound(pulse.meter) && to - from == quarter * 2 ? 2 : 1;
      const int parts = division.parts * scale;
      // A piece that divides its beats into four will do so again: the chance of each division so far, as a penalty.
      const double seen = used_[std::min<std::size_t>(static_cast<std::size_t>(parts), used_.size() - 1)];
      double all = 0;
      for (const double n : used_) all += n;
      const double chance = (seen + 1) / (all + 4);
      const double again = last_ == parts && parts > 1 ? 1 : 0;
      Fit f = fit(strokes, from, to, pulse, {parts, division.penalty - habit * std::log(chance) - again});
      if (f.cost < best.cost) best = std::move(f);
    }
  };
  if (compound(pulse.meter))
    consider(compoundDivisions);
  else
    consider(simpleDivisions);
  for (std::size_t s = 0; s < strokes.size(); ++s)
    for (const std::size_t i : strokes[s].notes) {
      notes[i].at = from + Ticks{(to - from).value * best.places[s] / best.parts};
      notes[i].placed = finished;
    }
  // A grace stands where its goal stands; its goal may lie in the next beat.
  for (std::size_t i = notes.size(); i-- > first;)
    if (notes[i].grace && notes[i].on >= from && notes[i].on < to) {
      const bool goal = i + 1 < notes.size();
      notes[i].at = goal && notes[i + 1].on < to ? notes[i + 1].at : to;
      notes[i].placed = finished;
    }
  if (!finished || strokes.empty()) return;
  last_ = best.parts;
  for (double& n : used_) n *= 0.97;
  used_[std::min<std::size_t>(static_cast<std::size_t>(best.parts), used_.size() - 1)] += 1;
}

Ticks writtenEnd(Ticks at, Ticks on, Ticks off, const NextOnset* next, Ticks barStart, const Pulse& pulse,
                 Ticks length) {
  const Ticks grid{quarter.value / 4};
  const Ticks half{quarter.value / 2};
  const auto nearest = [](Ticks t, Ticks unit) {
    return Ticks{floorDivide(t.value + unit.value / 2, unit.value) * unit.value};
  };
  if (next != nullptr) {
    const Ticks silence = next->on - off;
    const Ticks way = next->on - on;
    if (silence.value * 4 < quarter.value * 3 && silence.value * 100 < way.value * 45) {
      // Does the last stretch of it need a tie that the ear does not ask for?
      const Ticks a = at - barStart, b = next->at - barStart;
      const bool inside = a >= Ticks{} && b <= length;
      if (!inside || b <= a || noteValue(a, b, pulse.meter, length)) return next->at;
      const Ticks cut = cutOf(a, b, pulse.meter, length);
      const bool plain = cut > a && noteValue(a, cut, pulse.meter, length).has_value();
      const Ticks last = b - cut;
      if (plain && (off - on).value < (cut - a).value + last.value * 35 / 100) return barStart + cut;
      return next->at;
    }
  }
  // A rest follows: the end goes to an eighth when the note is long, else to a sixteenth; keys are let go early, so
  // upwards rather than down.
  const Ticks sounded =
      pulse.swing == 1000 ? off - on : barStart + straightened(off - barStart, pulse.swing, pulse.swingPair) - at;
  const auto onThird = [&](Ticks t) { return (t - barStart).value % grid.value != 0; };
  const bool thirds =
      !compound(pulse.meter) && sounded < quarter && (onThird(at) || (next != nullptr && onThird(next->at)));
  const Ticks unit = thirds ? third : sounded.value * 4 > quarter.value * 3 ? half : grid;
  Ticks end = at + nearest(sounded + Ticks{unit.value / 4}, unit);
  if (compound(pulse.meter) && unit == half) end = at + nearest(sounded + Ticks{half.value / 4}, half);
  end = std::max(end, at + (thirds ? third : grid));
  return next != nullptr && next->at > at ? std::min(end, next->at) : end;
}

Ticks straightened(Ticks place, std::int32_t swing, Ticks pair) {
  if (swing == 1000 || swing <= 0 || pair.value <= 0) return place;
  const auto start = floorDivide(place.value, pair.value) * pair.value;
  const auto within = place.value - start;
  const auto longer = pair.value * swing / (1000 + swing);
  const auto half = pair.value / 2;
  // The engine's own rounding (dsp/player_steps.cpp) is turned round exactly at the half; elsewhere within a tick.
  if (within < longer) return {start + within * half / longer};
  return {start + half + (within - longer) * (pair.value - half) / (pair.value - longer)};
}

}  // namespace seguente::page
