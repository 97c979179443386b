// What a teacher may expect of a figure that is played in, sentence by sentence. Common practice, no source, unless
// said.
#include <cmath>

#include "dsp/harmony.h"
#include "dsp/idiom_file.h"
#include "tests/catch.h"
#include "tests/notate/takes.h"

using namespace seguente;
using namespace seguente::test;

namespace {

constexpr double beat = 0.6;  // seconds: 100 to the minute

struct Stroke {
  double at, length;  // beats
  const char* keys;
  int velocity = 70;
};

notate::Take take(const std::vector<Stroke>& bar, int rounds, double beats = 4, Meter meter = {4, 4}) {
  notate::Take t;
  t.quarterSeconds = beat;
  t.meter = meter;
  for (int r = 0; r < rounds; ++r)
    for (const Stroke& s : bar)
      for (const auto k : keys(s.keys))
        t.notes.push_back({k.value, s.velocity, (r * beats + s.at) * beat, (r * beats + s.at + s.length) * beat, -1});
  return t;
}

void hold(notate::Take& t, const char* chord) {
  const double end = t.notes.back().off;
  for (const auto k : keys(chord)) t.notes.push_back({k.value, 60, 0.01, end, -1});
}

notate::Wishes over(const char* chord) {
  notate::Wishes w;
  if (*chord != '\0') w.chord = parseSymbol(chord);
  return w;
}

const std::vector<Stroke> march{{0, 0.9, "C2", 84}, {1, 0.4, "E3 G3"}, {2, 0.9, "G2", 84}, {3, 0.4, "E3 G3"}};

bool has(const std::string& text, const std::string& what) { return text.find(what) != std::string::npos; }

}  // namespace

TEST_CASE("The chord that a hand holds is the chord, and is no part of the figure", "[notate]") {
  auto t = take(march, 3);
  hold(t, "C5 E5 G5");
  const auto n = notate::notate(t, over(""));
  CHECK(n.fault.empty());
  CHECK(std::string(symbolOf(n.chord).view()) == "C");
  CHECK(n.statement.size() == 4);
}

TEST_CASE("A figure over a held A minor has the minor chord's degrees", "[notate]") {
  auto t = take({{0, 1, "A1"}, {1, 1, "C2"}, {2, 1, "E2"}, {3, 1, "F#2"}}, 3);
  hold(t, "A4 C5 E5");
  const auto n = notate::notate(t, over(""));
  REQUIRE(n.statement.size() == 4);
  CHECK(n.statement[1].play == "3");  // the chord's own third, so that it is major over major chords
  CHECK(n.statement[3].play == "6");  // the major sixth above the root, over minor chords too (patterns/README.md)
}

TEST_CASE("A key struck once by mistake is outvoted, and one missed once is not missed", "[notate]") {
  auto t = take(march, 4);
  t.notes.push_back({51, 60, 5.5 * beat, 5.9 * beat, -1});
  std::erase_if(t.notes, [](const auto& n) { return n.key == 55 && std::abs(n.on - 9 * beat) < 0.01; });
  const auto n = notate::notate(t, over("C"));
  REQUIRE(n.statement.size() == 4);
  CHECK(n.bars == 1);
  CHECK(n.statement[1].play == "C");
}

TEST_CASE("A stroke that closes the take on the next 1 is no bar of the figure", "[notate]") {
  auto t = take(march, 2);
  t.notes.push_back({36, 80, 8 * beat, 10 * beat, -1});
  const auto n = notate::notate(t, over("C"));
  CHECK(n.barsPlayed == 2);
  CHECK(n.bars == 1);
}

TEST_CASE("Accents become stresses, and short strokes stay short", "[notate]") {
  const auto n = notate::notate(take(march, 3), over("C"));
  REQUIRE(n.statement.size() == 4);
  const auto loud = notate::notate(
      take({{0, 0.9, "C2", 95}, {1, 0.9, "C2", 70}, {2, 0.9, "C2", 70}, {3, 0.3, "C2", 70}}, 3), over("C"));
  REQUIRE(loud.statement.size() == 4);
  CHECK(loud.statement[0].stress == 3);
  CHECK(loud.statement[1].stress == 0);
  CHECK(loud.statement[0].length == quarter);
  CHECK(loud.statement[3].length < quarter);
}

TEST_CASE("The end of eight bars that is livelier than the others is the lift", "[notate]") {
  auto t = take(march, 7);
  for (const Stroke& s : std::vector<Stroke>{
           {28, 0.5, "C2"}, {28.5, 0.5, "D2"}, {29, 0.5, "E2"}, {29.5, 0.5, "F2"}, {30, 0.5, "G2"}, {31, 0.5, "B2"}})
    t.notes.push_back({keys(s.keys)[0].value, 70, s.at * beat, (s.at + s.length) * beat, -1});
  const auto n = notate::notate(t, over("C"));
  CHECK(n.bars == 1);
  CHECK(n.statement.size() == 4);
  CHECK(n.lift.size() == 6);
}

TEST_CASE("Straight eighths with a player's unevenness are not swing; long and short at 2 to 1 are", "[notate]") {
  const auto eighths = [](double late) {
    std::vector<Stroke> s;
    for (int i = 0; i < 4; ++i) {
      s.push_back({1.0 * i, 0.4, i % 2 == 0 ? "C2" : "E2"});
      s.push_back({i + late, 0.3, "G2"});
    }
    return s;
  };
  CHECK(notate::notate(take(eighths(0.515), 3), over("C")).grid.swing == 1);
  CHECK(notate::notate(take(eighths(2.0 / 3), 3), over("C")).grid.swing == Approx(2.0).margin(0.05));
  CHECK(notate::notate(take(eighths(0.6), 3), over("C")).grid.swing == Approx(1.5).margin(0.05));
}

TEST_CASE("A dotted rhythm is written as it is, and is no swing", "[notate]") {
  const auto n = notate::notate(
      take({{0, 0.7, "C2"}, {0.75, 0.2, "C2"}, {1, 0.9, "G2"}, {2, 0.7, "C2"}, {2.75, 0.2, "C2"}, {3, 0.9, "G2"}}, 3),
      over("C"));
  CHECK(n.grid.swing == 1);
  REQUIRE(n.statement.size() >= 3);
  CHECK(n.statement[1].at == Ticks{quarter.value * 3 / 4});
}

TEST_CASE("As-held steps name the hand's own keys", "[notate]") {
  auto t = take({{0, 1, "E2"}, {1, 1, "G3 C4"}, {2, 1, "G3 C4"}}, 3, 3, {3, 4});
  hold(t, "E4 G4 C5");  // a first inversion: its lowest key is the third
  auto w = over("");
  w.asHeld = true;
  const auto n = notate::notate(t, w);
  CHECK(n.fault.empty());
  REQUIRE(n.statement.size() == 3);
  CHECK(n.statement[0].play == "lowest");
  CHECK(n.statement[1].play == "upper");
  CHECK(compileIdiom(notate::patternText(n, {"held", "Held", "take.mid"}), "held.toml").faults.empty());
  auto foreign = take({{0, 1, "E2"}, {1, 1, "A3"}, {2, 1, "G3"}}, 3, 3, {3, 4});
  hold(foreign, "E4 G4 C5");
  CHECK(has(notate::notate(foreign, w).fault, "beat 2 strikes a key that is not among the held ones"));
}

TEST_CASE("Without a click the beat is found by the figure's coming round", "[notate]") {
  const Touch touch;
  Random random(7);
  auto w = over("C");
  w.meter = Meter{4, 4};
  const auto n = notate::notate(withoutClick(byHand(take(march, 4), true, touch, random), random), w);
  CHECK(n.fault.empty());
  CHECK(n.tempoFound);
  CHECK(n.quartersPerMinute == Approx(100).epsilon(0.04));
  CHECK(n.statement.size() == 4);
}

TEST_CASE("What cannot be read is refused in one clause that says what to do", "[notate]") {
  CHECK(notate::notate({}, over("C")).fault == "has no notes");
  CHECK(has(notate::notate(take(march, 3), over("")).fault, "say --chord C"));
  CHECK(has(notate::notate(take({{0, 0.9, "C2"}, {1, 0.4, "E3 G3"}}, 1), over("C")).fault, "is not a whole bar"));
  notate::Take free = take({{0, 1, "C2"}, {1, 1, "D2"}, {2, 1, "F2"}, {3, 1, "B2"}}, 1);
  free.quarterSeconds = 0;
  CHECK(has(notate::notate(free, over("C")).fault, "the beat cannot be found"));
}

TEST_CASE("A file that says 120 is believed when the playing fits it, and not otherwise", "[notate]") {
  auto t = take(march, 4);  // played at 100
  t.quarterSeconds = 0.5;
  t.doubtful = true;
  CHECK(notate::notate(t, over("C")).quartersPerMinute == Approx(100).epsilon(0.02));
  auto click = take(march, 4);
  for (auto& n : click.notes) n.on *= 0.5 / beat, n.off *= 0.5 / beat;
  click.quarterSeconds = 0.5;
  click.doubtful = true;
  CHECK(notate::notate(click, over("C")).quartersPerMinute == Approx(120));
}

TEST_CASE("An id is made of a name", "[notate]") {
  CHECK(notate::idFrom("My Waltz_2") == "my-waltz-2");
  CHECK(notate::idFrom("...") == "");
}
