#include "tests/performances/left_hand.h"

#include <algorithm>
#include <cmath>

namespace seguente::test {

namespace {

std::vector<int> tonesOf(const Chord& chord, Random& random) {
  std::vector<int> tones;
  for (std::size_t i = 0; i < chord.count; ++i) tones.push_back(chord.tones[i] % 12);
  // Beginners leave the fifth of a seventh out (B-F-G for G7), DESIGN.md.
  if (tones.size() == 4 && tones[2] == 7 && tones[3] >= 10 && random.oneIn(2)) tones.erase(tones.begin() + 2);
  return tones;
}

double farFrom(const std::vector<int>& shape, const std::vector<int>& last) {
  double sum = 0;
  for (const int a : shape) {
    int best = 24;
    for (const int b : last) best = std::min(best, std::abs(a - b));
    sum += best;
  }
  return sum;
}

}  // namespace

std::vector<int> shapeFor(const Chord& chord, const Style& style, int ceiling, double centre,
                          const std::vector<int>& last, Random& random) {
  const auto tones = tonesOf(chord, random);
  const int root = chord.root.value;
  const int fourth = chord.count > 3 ? chord.tones[3] % 12 : 0;
  const int fifth = chord.count > 2 ? chord.tones[2] % 12 : 7;
  const bool twin = fourth == 9 || (fourth == 10 && tones[1] == 3);
  std::vector<int> best;
  double bestCost = 1e9;
  for (int low = style.leftLowest - 12; low < ceiling; ++low) {
    if (low < 24) continue;
    std::vector<int> shape;
    if (style.figure == LeftFigure::open) {
      if ((low - root + 120) % 12 != 0) continue;
      shape = {low, low + fifth, low + 12 + tones[1]};
      if (fourth >= 10 && fifth == 7) shape[1] = low + fourth;  // a seventh goes without its fifth
      if (fourth >= 10 && fifth != 7) shape.push_back(low + fourth);
      if (fourth == 9) shape.push_back(low + 9);
    } else {
      for (const int tone : tones) shape.push_back(low + (root + tone - low + 120) % 12);
    }
    std::sort(shape.begin(), shape.end());
    if (shape.front() != low || shape.back() >= ceiling) continue;
    // C6 and Am7 are the same keys: whoever means one of them says so by its bass.
    if (twin && (low - root + 120) % 12 != 0) continue;
    const bool rootPosition = (low - root + 120) % 12 == 0;
    double middle = 0;
    for (const int k : shape) middle += k / static_cast<double>(shape.size());
    double cost = std::abs(middle - centre) * (style.nearest ? 0.5 : 1);
    if (low < style.leftLowest) cost += 10;
    if (style.hugging)
      cost = (ceiling - shape.back()) * 0.7 + (last.empty() ? 0 : farFrom(shape, last) * 0.3);
    else if (style.nearest && !last.empty())
      cost += farFrom(shape, last);
    if (!style.nearest && !rootPosition) cost += 9;
    cost += unit(random) * 0.5;
    if (cost < bestCost) {
      bestCost = cost;
      best = shape;
    }
  }
  return best;
}

namespace {

std::vector<Stroke> brokenOver(const TuneChord& c, const std::vector<int>& shape, const std::vector<int>& order,
                               double each) {
  std::vector<Stroke> out;
  std::size_t i = 0;
  for (double at = 0; at < c.length - 0.01; at += each, ++i)
    out.push_back({c.at + at, each, {shape[static_cast<std::size_t>(order[i % order.size()]) % shape.size()]}});
  return out;
}

std::vector<Stroke> strideOver(const TuneChord& c, const std::vector<int>& shape, double beat, Random& random) {
  std::vector<Stroke> out;
  int bass = shape.front() - static_cast<int>(random.between(5, 12));
  while (bass % 12 != c.chord.root.value) --bass;
  std::size_t i = 0;
  for (double at = 0; at < c.length - 0.01; at += beat, ++i) {
    if (i % 2 == 0 && (i % 4 == 0 || random.oneIn(2)))
      out.push_back({c.at + at, beat, {i % 4 == 0 ? bass : bass + (random.oneIn(2) ? 7 : -5)}});
    else
      out.push_back({c.at + at, beat * 0.8, shape});
  }
  return out;
}

std::vector<Stroke> lineOver(const TuneChord& c, int from, double beat, Random& random) {
  std::vector<Stroke> out;
  int key = from;
  for (double at = 0; at < c.length - 0.01; at += beat) {
    out.push_back({c.at + at, beat, {key}});
    const auto steps = static_cast<int>(random.between(-2, 2));
    key += random.oneIn(4) ? 2 * steps : steps;
  }
  return out;
}

/// A tune of the left hand's own: steps and some leaps, in the chord on beats.
std::vector<Stroke> counterOver(const TuneChord& c, const std::vector<int>& shape, double beat, Random& random) {
  std::vector<Stroke> out;
  int key = shape[static_cast<std::size_t>(random.between(0, static_cast<std::int64_t>(shape.size()) - 1))];
  int direction = random.oneIn(2) ? 1 : -1;
  for (double at = 0; at < c.length - 0.01;) {
    const auto draw = random.between(0, 9);
    const double each = std::min(c.length - at, draw < 5   ? beat / 2
                                                : draw < 7 ? beat / 4
                                                : draw < 9 ? beat
                                                           : 1.5 * beat);
    if (!random.oneIn(12)) out.push_back({c.at + at, each, {key}});
    at += each;
    if (random.oneIn(4)) direction = -direction;
    key += direction * static_cast<int>(random.oneIn(5) ? random.between(3, 8) : random.between(1, 2));
    if (key < shape.front() - 7) direction = 1, key = shape.front();
    if (key > shape.back() + 7) direction = -1, key = shape.back();
  }
  return out;
}

}  // namespace

std::vector<Stroke> strokesOf(LeftFigure figure, const TuneChord& c, std::vector<int> shape, double bar, double beat,
                              const Style& style, Random& random) {
  std::vector<Stroke> out;
  int bass = shape.front();
  while (bass % 12 != c.chord.root.value) --bass;
  switch (figure) {
    case LeftFigure::held:
    case LeftFigure::open:
      if (unit(random) < style.bassAlone) {
        out.push_back(
            {c.at, c.length, random.oneIn(2) ? std::vector<int>{bass} : std::vector<int>{shape.front(), shape.back()}});
        return out;
      }
      for (double at = 0; at < c.length - 0.01;) {
        const double rest = c.length - at;
        const double length = rest > bar + 0.01 ? bar : rest >= 2 && unit(random) < style.restrike ? rest / 2 : rest;
        out.push_back({c.at + at, length, shape, 0, true});
        at += length;
      }
      return out;
    case LeftFigure::twoNotes:
      return {{c.at, c.length, {shape.front(), random.oneIn(2) ? shape.back() : shape[1 % shape.size()]}}};
    case LeftFigure::singleBass:
      out.push_back({c.at, c.length > bar / 2 + 0.1 ? c.length / 2 : c.length, {bass}});
      if (c.length > bar / 2 + 0.1)
        out.push_back({c.at + c.length / 2, c.length / 2, {random.oneIn(2) ? bass : bass + 7}});
      return out;
    case LeftFigure::octaves:
      for (double at = 0; at < c.length - 0.01; at += bar / 2)
        out.push_back({c.at + at, std::min(bar / 2, c.length - at), {bass - 12, bass}});
      return out;
    case LeftFigure::repeated: {
      const double each = random.oneIn(2) ? beat : beat / 2;
      for (double at = 0; at < c.length - 0.01; at += each) out.push_back({c.at + at, each * 0.8, shape});
      return out;
    }
    case LeftFigure::broken: {
      const auto order = random.oneIn(2)   ? std::vector<int>{0, 2, 1, 2}
                         : random.oneIn(2) ? std::vector<int>{0, 1, 2, 1}
                                           : std::vector<int>{0, 1, 2};
      return brokenOver(c, shape, order, random.oneIn(3) ? beat / 4 : beat / 2);
    }
    case LeftFigure::arpeggio: {
      std::vector<int> wide = {bass, bass + 7, bass + 12, bass + (c.chord.tones[1] == 3 ? 15 : 16), bass + 19};
      const int ceiling = shape.back() + 6;
      while (wide.size() > 2 && wide.back() > ceiling) wide.pop_back();
      const auto order =
          random.oneIn(2) ? std::vector<int>{0, 1, 2, 3, 2, 1} : std::vector<int>{0, 1, 2, 3, 4, 3, 2, 1};
      return brokenOver(c, wide, order, beat / 2);
    }
    case LeftFigure::stride:
      return strideOver(c, shape, beat, random);
    case LeftFigure::after: {  // the bass, then the upper notes on the half beats
      out.push_back({c.at, random.oneIn(2) ? c.length : beat, {random.oneIn(2) ? bass : shape.front()}});
      const double each = random.oneIn(3) ? beat : beat / 2;
      const std::vector<int> upper(shape.begin() + 1, shape.end());
      for (double at = each; at < c.length - 0.01; at += random.oneIn(2) ? each : 2 * each)
        out.push_back({c.at + at, each * 0.9, upper});
      return out;
    }
    case LeftFigure::counter:
      return counterOver(c, shape, beat, random);
    case LeftFigure::parallel:  // made by whoever knows the tune
    case LeftFigure::line:
      return lineOver(c, bass, random.oneIn(3) ? beat / 2 : beat, random);
  }
  return out;
}

}  // namespace seguente::test
