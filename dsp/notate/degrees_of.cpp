#include "dsp/notate/degrees_of.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <map>
#include <set>

#include "dsp/degrees.h"
#include "dsp/idiom_steps.h"
#include "dsp/voicing.h"

namespace seguente::notate {

namespace {

/// What is struck at one place of one part.
struct Stroke {
  Ticks at{};
  std::vector<PlacedNote> notes;  // low to high
  PitchClassSet set() const {
    PitchClassSet s;
    for (const auto& n : notes) s.add({static_cast<std::uint8_t>(n.key % 12)});
    return s;
  }
  int span() const { return notes.back().key - notes.front().key; }
};

std::vector<Stroke> strokesOf(std::vector<PlacedNote> notes) {
  std::sort(notes.begin(), notes.end(), [](const PlacedNote& a, const PlacedNote& b) {
    return std::pair(a.at.value, a.key) < std::pair(b.at.value, b.key);
  });
  std::vector<Stroke> out;
  for (const PlacedNote& n : notes) {
    if (out.empty() || out.back().at != n.at) out.push_back({n.at, {}});
    out.back().notes.push_back(n);
  }
  return out;
}

/// The chord's upper notes together, close, none doubled: what a pattern file calls "C".
bool isUpper(const Stroke& s, const UpperTones& upper) {
  return s.notes.size() == upper.count && upper.count >= 2 && s.set() == upper.set && s.span() <= 12;
}

Stroke from(const Stroke& s, int key) {
  Stroke out{s.at, {}};
  for (const auto& n : s.notes)
    if (n.key >= key) out.notes.push_back(n);
  return out;
}

/// Above the key there is nothing but the bass again, octaves higher: it is the bass's own grip.
bool doublesBass(const Stroke& s, int key) {
  const Stroke above = from(s, key);
  if (above.notes.size() == s.notes.size()) return false;
  Stroke below{s.at, {}};
  for (const auto& n : s.notes)
    if (n.key < key) below.notes.push_back(n);
  const auto over = above.set().bits, under = below.set().bits;
  return over != 0 && (over & ~under) == 0;
}

/// How well a key parts the chords from the bass: strokes above it that are the chord's upper notes speak for it.
double partedAt(const std::vector<Stroke>& strokes, int key, const UpperTones& upper) {
  double score = 0;
  bool lower = false;
  for (const Stroke& s : strokes) {
    const Stroke above = from(s, key);
    lower = lower || above.notes.size() < s.notes.size() || s.notes.size() == 1;
    if (isUpper(above, upper))
      score += 2;
    else if (s.notes.size() == 1)
      score -= above.notes.empty() ? 0 : 0.5;  // a lone note goes with the bass, however high it climbs
    else if (doublesBass(s, key))
      score -= 0.5;
    else if (!above.notes.empty())
      score -= 1.2;
    else if (isUpper(s, upper))
      score -= 2;
  }
  return lower ? score : -1;
}

/// The lowest key of the chords; 128: one part plays all.
int partingKey(const std::vector<Stroke>& strokes, const UpperTones& upper) {
  std::set<int> keys;
  for (const auto& s : strokes)
    for (const auto& n : s.notes) keys.insert(n.key);
  double best = 0.9;
  int parting = 128, before = -100, widest = -1;
  for (const int key : keys) {
    const double score = partedAt(strokes, key, upper);
    const int gap = key - before;
    before = key;
    if (score < best || (score == best && gap <= widest)) continue;
    best = score;
    parting = key;
    widest = gap;
  }
  if (parting != 128) return parting;
  // Something else than the chord above grips of the bass: a wide gap within strokes says so.
  std::set<int> lower, higher;
  for (const auto& s : strokes)
    for (std::size_t i = 1; i < s.notes.size(); ++i)
      if (s.notes[i].key - s.notes[i - 1].key >= 6 && i + 1 == s.notes.size() && i >= 2) higher.insert(s.notes[i].key);
  return higher.empty() ? 128 : *higher.begin();
}

/// A degree's text over the chord, so many semitones above the part's root.
std::string degreeText(int semitones, const DegreeTable& table, const Chord& chord) {
  int octave = semitones / 12;
  const int within = semitones % 12;
  int number = 0, alteration = 0;
  const auto owns = [&](int n) {
    if (n != 7) return true;
    return std::any_of(chord.tones.begin(), chord.tones.begin() + chord.count,
                       [&](int t) { return t == table.semitones[7]; });
  };
  for (const int n : {1, 3, 5, 7, 6, 2, 4})
    if (number == 0 && owns(n) && table.semitones[static_cast<std::size_t>(n)] == within) number = n;
  for (const int a : {-1, 1, -2, 2})
    for (const int n : {7, 3, 5, 6, 2, 4, 8})
      if (number == 0 && majorScale[static_cast<std::size_t>(n)] + a == within) number = n, alteration = a;
  while (octave > 0 && number + 7 * octave > 15) --octave;
  number += 7 * octave;
  std::string text;
  for (int a = alteration; a != 0; a += a < 0 ? 1 : -1) text += a < 0 ? 'b' : '#';
  return text + std::to_string(number);
}

/// Where degree 1 of a part lies, and whether its fifth lies below it.
struct RootOf {
  int key = 36;
  bool fifthBelow = false;
  int reach = 0;
};

RootOf rootOf(const std::vector<int>& keys, const Chord& chord, const DegreeTable& table) {
  const int lowest = keys.front();
  RootOf r;
  r.key = lowest - (((lowest - chord.root.value) % 12) + 12) % 12;
  const int over = r.key + 12;
  const int fifth = table.semitones[5];
  const bool struck = std::find(keys.begin(), keys.end(), over) != keys.end() && lowest > r.key;
  bool fits = struck;
  for (const int k : keys) {
    if (k < over) fits = fits && k >= r.key + fifth - 1;
    if (k > over && k < over + 12) fits = fits && k < over + fifth - 1;
  }
  if (fits) r.key = over, r.fifthBelow = true;
  r.reach = std::max(0, keys.back() - r.key);
  return r;
}

std::string playOf(const Stroke& s, const RootOf& root, const Over& over, const DegreeTable& table) {
  std::string text;
  for (const auto& n : s.notes) {
    const auto one = [&](int key) {
      const int up = key - root.key;
      return degreeText(up < 0 ? up + 12 : up, table, over.chord);
    };
    if (n.crushedFrom >= 0 && s.notes.size() == 1 && std::abs(n.crushedFrom - n.key) <= 2 && n.crushedFrom >= root.key)
      return one(n.crushedFrom) + ">" + one(n.key);
    text += (text.empty() ? "" : "+") + one(n.key);
  }
  return text;
}

/// The hand's own keys, by their places; "" when one of them is not held.
std::string heldText(const Stroke& s, const std::vector<int>& held) {
  std::set<std::size_t> places;
  for (const auto& n : s.notes) {
    const auto at = std::find_if(held.begin(), held.end(), [&](int k) { return (k - n.key) % 12 == 0; });
    if (at == held.end()) return {};
    places.insert(static_cast<std::size_t>(at - held.begin()));
  }
  if (places.size() == held.size() && held.size() > 1) return "all";
  if (places.size() + 1 == held.size() && !places.contains(0) && held.size() > 2) return "upper";
  if (places.size() > 1) return "+";
  const std::size_t place = *places.begin();
  if (place == 0) return "lowest";
  if (place + 1 == held.size()) return "top";
  constexpr std::array<const char*, 6> words{"1st", "2nd", "3rd", "4th", "5th", "6th"};
  return words[std::min<std::size_t>(place, 5)];
}

/// Lengths as a musician writes them: up to the next stroke where the player was nearly there, else the nearest value.
Ticks writtenLength(const Stroke& s, const Stroke* next, Ticks figure, const Over& over) {
  double sounded = 0;
  for (const auto& n : s.notes) sounded += static_cast<double>((n.end - n.at).value);
  sounded = std::max(1.0, sounded / static_cast<double>(s.notes.size()));
  const double way = static_cast<double>((next->at > s.at ? next->at - s.at : next->at + figure - s.at).value);
  if (sounded > way * 0.8 && sounded < way * 1.2) return {static_cast<std::int64_t>(way)};
  const Ticks beat = over.meter.beat();
  const bool thirds = over.grid.parts % 3 == 0 && !compound(over.meter);
  static constexpr std::array<Fraction, 17> plain{{{1, 4},
                                                   {1, 2},
                                                   {3, 4},
                                                   {1, 1},
                                                   {3, 2},
                                                   {2, 1},
                                                   {5, 2},
                                                   {3, 1},
                                                   {7, 2},
                                                   {4, 1},
                                                   {5, 1},
                                                   {6, 1},
                                                   {7, 1},
                                                   {8, 1},
                                                   {9, 1},
                                                   {10, 1},
                                                   {12, 1}}};
  static constexpr std::array<Fraction, 8> third{{{1, 3}, {2, 3}, {1, 1}, {4, 3}, {5, 3}, {2, 1}, {3, 1}, {4, 1}}};
  Ticks best{beat.value / 4};
  double off = 1e9;
  const auto consider = [&](Fraction f) {
    const Ticks t{beat.value * f.numerator / f.denominator};
    const double away = std::abs(std::log(sounded / static_cast<double>(t.value)));
    if (t <= figure && away < off) off = away, best = t;
  };
  if (thirds)
    for (const Fraction f : third) consider(f);
  else
    for (const Fraction f : plain) consider(f);
  return best;
}

double velocityOf(const Stroke& s) {
  double v = 0;
  for (const auto& n : s.notes) v += n.velocity;
  return v / static_cast<double>(s.notes.size());
}

constexpr int velocityAStress = 7;  // as the engine strikes it (dsp/player_steps.cpp)
constexpr double plainWithin = 4.5;

int levelOf(const std::vector<Stroke>& strokes) {
  std::vector<double> all;
  for (const Stroke& s : strokes) all.push_back(velocityOf(s));
  std::sort(all.begin(), all.end());
  return static_cast<int>(std::lround(all[(all.size() - 1) / 2]));  // the lower of two: accents go up
}

int stressOf(const Stroke& s, int level) {
  const double over = velocityOf(s) - level;
  return std::abs(over) < plainWithin ? 0 : std::clamp(static_cast<int>(std::lround(over / velocityAStress)), -3, 3);
}

std::vector<int> keysOf(const std::vector<Stroke>& strokes) {
  std::set<int> keys;
  for (const auto& s : strokes)
    for (const auto& n : s.notes) keys.insert(n.key);
  return {keys.begin(), keys.end()};
}

PartFound bassPart(const RootOf& root) {
  PartFound p{"bass", true, root.fifthBelow, 0, 0, 64};
  // Roots from E up, as the lowest string of a bass; what the figure plays over them has room (patterns/README.md).
  const int window = 28 + static_cast<int>(std::floor((root.key - 28) / 12.0)) * 12;
  p.low = std::max(0, root.fifthBelow ? window - 5 : window);
  p.high = std::min(127, window + 11 + root.reach);
  return p;
}

PartFound chordPart(const std::vector<int>& keys) {
  const int middle = (keys.front() + keys.back()) / 2;
  return {"chords", false, false, std::min(keys.front(), middle - 7), std::max(keys.back(), middle + 8), 64};
}

/// One part's strokes as rows.
class RowWriter {
 public:
  RowWriter(const Over& over, const UpperTones& upper, const DegreeTable& table)
      : over_(over), upper_(upper), table_(table) {}
  std::string fault;

  void write(const std::vector<Stroke>& strokes, std::size_t part, const RootOf& root, bool chords, int level,
             Ticks figure, std::vector<Row>& rows) {
    for (std::size_t i = 0; i < strokes.size(); ++i) {
      const Stroke& s = strokes[i];
      const Ticks length = writtenLength(s, &strokes[(i + 1) % strokes.size()], figure, over_);
      const int stress = stressOf(s, level);
      if (over_.asHeld) {
        heldRows(s, part, length, stress, rows);
      } else if (chords && isUpper(s, upper_)) {
        rows.push_back({s.at, length, part, "C", stress});
      } else {
        rows.push_back({s.at, length, part, playOf(s, root, over_, table_), stress});
      }
    }
  }

 private:
  void heldRows(const Stroke& s, std::size_t part, Ticks length, int stress, std::vector<Row>& rows) {
    const std::string word = heldText(s, over_.held);
    if (word == "+") {
      for (const auto& n : s.notes) heldRows({s.at, {n}}, part, length, stress, rows);
      return;
    }
    if (word.empty()) {
      if (fault.empty())
        fault = "beat " + textOf(Fraction{s.at.value + over_.meter.beat().value, over_.meter.beat().value}) +
                " strikes a key that is not among the held ones; leave --as-held out, and it becomes a degree";
      return;
    }
    rows.push_back({s.at, length, part, word, stress});
  }

  const Over& over_;
  const UpperTones& upper_;
  const DegreeTable& table_;
};

struct Split {
  std::vector<Stroke> bass, chords;
};

Split splitAt(const std::vector<Stroke>& strokes, int parting, const UpperTones& upper) {
  Split out;
  for (const Stroke& s : strokes) {
    Stroke low{s.at, {}}, high{s.at, {}};
    const bool ofBass = parting != 0 && !isUpper(s, upper) && (s.notes.size() == 1 || doublesBass(s, parting));
    for (const auto& n : s.notes) (n.key < parting || ofBass ? low : high).notes.push_back(n);
    if (!low.notes.empty()) out.bass.push_back(low);
    if (!high.notes.empty()) out.chords.push_back(high);
  }
  return out;
}

}  // namespace

PartsRead readParts(const std::vector<std::vector<PlacedNote>>& runs, const std::vector<Ticks>& lengths,
                    const Over& over) {
  PartsRead out;
  const UpperTones upper = upperTonesOf(over.chord);
  const DegreeTable table = degreesOf(over.chord);
  const auto first = strokesOf(runs.front());
  int parting = partingKey(first, upper);
  if (parting == 128) {  // one part: a right hand's chords, or a figure of the bass
    std::size_t full = 0;
    for (const Stroke& s : first) full += s.notes.size() >= 3 || isUpper(s, upper);
    if (full * 2 > first.size()) parting = 0;
  }
  const Split figure = splitAt(first, parting, upper);
  RowWriter writer(over, upper, table);
  out.rows.resize(runs.size());
  const auto part = [&](const std::vector<Stroke>& strokes, bool chords) {
    if (strokes.empty()) return;
    const auto keys = keysOf(strokes);
    const RootOf root = rootOf(keys, over.chord, table);
    PartFound found = chords ? chordPart(keys) : bassPart(root);
    found.level = std::clamp(levelOf(strokes), 1, 127);
    for (std::size_t r = 0; r < runs.size(); ++r) {
      const Split run = splitAt(strokesOf(runs[r]), parting, upper);
      writer.write(chords ? run.chords : run.bass, out.parts.size(), root, chords, found.level, lengths[r],
                   out.rows[r]);
    }
    out.parts.push_back(found);
  };
  part(figure.bass, false);
  part(figure.chords, true);
  for (auto& rows : out.rows)
    std::stable_sort(rows.begin(), rows.end(), [](const Row& a, const Row& b) { return a.at < b.at; });
  out.fault = writer.fault;
  return out;
}

}  // namespace seguente::notate
