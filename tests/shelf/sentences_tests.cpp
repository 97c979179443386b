// Sentences that are published about idioms, played. Sources as the table of figures names them: Mac (MacDowell 1912),
// LMT (LearnMusicTheory.net, s. 5.1), Hut (Hutchinson, s. 14.3), and teaching pages for the others.
#include <algorithm>
#include <set>

#include "tests/catch.h"
#include "tests/support/music.h"

using namespace seguente;
using namespace seguente::test;

namespace {

struct Stroke {
  Ticks at;  // from the first bar line
  PartKind kind;
  int key;
};

/// C is held for so many bars, then F; the tune is heard at the start.
std::vector<Stroke> played(const std::string& id, Density density = Density::medium, int bars = 4, int second = 0) {
  const Idiom& ours = idiom(id);
  Score score(48000, ours.meter, 120);
  Settings settings;
  settings.density = density;
  score.with(settings).with(ours).tune("C7", {}, quarters(0.1));
  const Ticks change = ours.meter.bar() * bars, end = ours.meter.bar() * (bars + second);
  score.chord("C3 E3 G3", {}, change - Ticks{quarter.value / 20});
  if (second > 0) score.chord("C3 F3 A3", change, end);
  std::vector<Stroke> out;
  for (const auto& e : strikes(render(score, end)))
    out.push_back({e.reason.dueTick, ours.parts[e.reason.part].kind, e.note().value});
  return out;
}

/// Quarters after the bar line at which a part strikes, over all bars from `from` on.
std::set<double> places(const std::vector<Stroke>& strokes, const std::string& id, PartKind kind, int from = 0) {
  std::set<double> out;
  const auto bar = idiom(id).meter.bar();
  for (const auto& s : strokes)
    if (s.kind == kind && s.at >= bar * from)
      out.insert(static_cast<double>(s.at.value % bar.value) / static_cast<double>(quarter.value));
  return out;
}

using Places = std::set<double>;

}  // namespace

TEST_CASE("In march, polka, ragtime and stride low notes fall on the strong beats, the chord on the weak, and higher",
          "[shelf]") {  // Mac, LMT, Str
  for (const auto* id : {"march", "polka", "ragtime", "stride", "country-two-beat", "reel-vamp"}) {
    INFO(id);
    const auto strokes = played(id);
    const double unit = idiom(id).meter.bar() == quarter * 2 ? 0.5 : 1;
    CHECK(places(strokes, id, PartKind::bass) == Places{0, 2 * unit});
    CHECK(places(strokes, id, PartKind::chords) == Places{unit, 3 * unit});
    int highestBass = 0, lowestChord = 127;
    for (const auto& s : strokes) {
      if (s.kind == PartKind::bass) highestBass = std::max(highestBass, s.key);
      if (s.kind == PartKind::chords) lowestChord = std::min(lowestChord, s.key);
    }
    CHECK(highestBass < lowestChord);
  }
}

TEST_CASE("A stride's chord lies an octave and more above its low note", "[shelf]") {  // Str
  for (const auto density : {Density::medium, Density::full}) {
    int lowest = 127;
    Ticks lowAt{-1};
    for (const auto& s : played("stride", density)) {
      if (s.kind == PartKind::bass) lowest = s.at == lowAt ? std::min(lowest, s.key) : s.key;
      if (s.kind == PartKind::bass) lowAt = s.at;
      if (s.kind == PartKind::chords) CHECK(s.key >= lowest + 12);
    }
  }
}

TEST_CASE("An Alberti bass is low, high, middle, high of a close chord", "[shelf]") {  // Hut, LMT; K. 545
  const auto strokes = played("alberti-bass", Density::medium, 1);
  REQUIRE(strokes.size() == 8);
  for (std::size_t i = 0; i < 8; i += 4) {
    CHECK(strokes[i].key < strokes[i + 2].key);
    CHECK(strokes[i + 2].key < strokes[i + 1].key);
    CHECK(strokes[i + 1].key == strokes[i + 3].key);
    CHECK(strokes[i + 1].key - strokes[i].key == 7);  // span 7 to 10 semitones most often
  }
}

TEST_CASE("A jig vamp has its bass on the first and fourth eighth, its chord on the third and sixth",
          "[shelf]") {  // Jig
  const auto strokes = played("jig-vamp");
  CHECK(places(strokes, "jig-vamp", PartKind::bass) == Places{0, 1.5});
  CHECK(places(strokes, "jig-vamp", PartKind::chords) == Places{1, 2.5});
}

TEST_CASE("A tumbao strikes nothing on 1 once it runs, the fifth on the and of 2, the next root on 4",
          "[shelf]") {  // Tum
  const auto strokes = played("montuno");
  CHECK(places(strokes, "montuno", PartKind::bass, 1) == Places{1.5, 3});
  for (const auto& s : strokes) {
    if (s.kind != PartKind::bass || s.at < quarters(4)) continue;
    const bool fifth = s.at.value % quarters(4).value == quarters(1.5).value;
    CHECK(s.key % 12 == (fifth ? 7 : 0));
  }
}

TEST_CASE("A tumbao's chord that nobody foresaw begins with its own root, not with the fifth", "[shelf]") {
  // DESIGN.md: never a chord without its bass.
  for (const auto density : {Density::lean, Density::medium, Density::full}) {
    int first = -1;
    for (const auto& s : played("montuno", density, 2, 2))
      if (first < 0 && s.kind == PartKind::bass && s.at >= quarters(8)) {
        first = s.key;
        CHECK(s.at == quarters(8));
      }
    CHECK(first % 12 == 5);
  }
}

TEST_CASE("A Charleston has 1 and the and of 2 only", "[shelf]") {  // Char
  const auto strokes = played("charleston");
  const auto at = places(strokes, "charleston", PartKind::chords);
  REQUIRE(at.size() == 2);
  CHECK(at.contains(0));
  CHECK(*at.rbegin() > 1.5);  // the "and" is swung
  CHECK(*at.rbegin() < 1.8);
}

TEST_CASE("A skank never strikes on 1 or 3", "[shelf]") {  // Ska
  for (const auto density : {Density::lean, Density::medium, Density::full}) {
    const auto at = places(played("skank", density), "skank", PartKind::chords);
    CHECK(!at.contains(0));
    CHECK(!at.contains(2));
    CHECK(at.contains(1));
    CHECK(at.contains(3));
  }
}

TEST_CASE("One drop leaves the first beat empty, also where a chord comes", "[shelf]") {  // Drop
  for (const auto density : {Density::lean, Density::medium, Density::full})
    for (const auto& s : played("one-drop", density, 2, 2)) CHECK(s.at.value % quarters(4).value != 0);
}

TEST_CASE("A boogie walk over chords of one bar climbs only; over a longer one it comes down again",
          "[shelf]") {  // Boo
  std::vector<int> quartersOnly;
  const auto bar = quarters(4);
  for (const auto& s : played("boogie-woogie", Density::lean, 1, 1)) quartersOnly.push_back(s.key % 12);
  CHECK(quartersOnly == std::vector<int>{0, 4, 7, 9, 5, 9, 0, 2});  // C E G A, F A C D
  quartersOnly.clear();
  for (const auto& s : played("boogie-woogie", Density::lean, 2))
    if (s.at >= bar) quartersOnly.push_back(s.key % 12);
  CHECK(quartersOnly == std::vector<int>{10, 9, 7, 4});  // Bb A G E
}

TEST_CASE("A jazz waltz comps on the upbeats of 1 and 2 over a bass on 1", "[shelf]") {  // JW
  const auto strokes = played("jazz-waltz", Density::medium, 1);
  CHECK(places(strokes, "jazz-waltz", PartKind::bass) == Places{0});
  const auto at = places(strokes, "jazz-waltz", PartKind::chords);
  REQUIRE(at.size() == 2);
  CHECK(*at.begin() > 0.5);
  CHECK(*at.begin() < 1);
  CHECK(*at.rbegin() > 1.5);
  CHECK(*at.rbegin() < 2);
}

TEST_CASE("A mazurka's accent falls on the second beat or the third, not on both and not on the first",
          "[shelf]") {  // Maz
  const Idiom& ours = idiom("mazurka");
  for (const auto ref : {ours.at(Density::medium).statement, ours.at(Density::medium).answer}) {
    std::vector<int> stress(3, -9);
    for (const auto& step : ours.stepsOf(ours.figure(ref))) {
      auto& s = stress[static_cast<std::size_t>(step.at.value / quarter.value)];
      s = std::max<int>(s, step.stress);
    }
    CHECK(stress[0] < std::max(stress[1], stress[2]));
    CHECK(stress[1] != stress[2]);
  }
}

TEST_CASE("A siciliana dots the first and the fourth eighth", "[shelf]") {  // Sic
  const auto at = places(played("siciliana"), "siciliana", PartKind::chords);
  CHECK(at == Places{0, 0.75, 1, 1.5, 2.25, 2.5});
}

TEST_CASE("The lift is the end of eight bars, also where the figure is two bars long", "[shelf]") {
  // Common practice, no source: phrases of eight bars.
  for (const auto* id : {"march", "country-waltz"}) {
    const Idiom& ours = idiom(id);
    Score score(48000, ours.meter, 120);
    const auto bar = ours.meter.bar();
    score.with(ours).tune("C7", {}, quarters(0.1)).chord("C3 E3 G3", {}, bar * 16);
    std::set<std::int64_t> bars;
    for (const auto& e : strikes(render(score, bar * 16)))
      if (e.reason.figure == FigureKind::lift) bars.insert(e.reason.dueTick.value / bar.value);
    const bool two = ours.figure(ours.at(Density::medium).lift).length == bar * 2;
    CHECK(bars == (two ? std::set<std::int64_t>{6, 7, 14, 15} : std::set<std::int64_t>{7, 15}));
  }
}
