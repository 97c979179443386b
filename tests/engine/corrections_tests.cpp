// What a strict listener found wrong once, each as one sentence. Contracts: DESIGN.md, "Contracts" and "Musical rules";
// what is called wrong here is common practice, no source, unless said.
#include <string>
#include <vector>

#include "dsp/handoff.h"
#include "tests/catch.h"
#include "tests/support/contracts.h"
#include "tests/support/harness.h"
#include "tests/support/music.h"
#include "tests/support/score.h"

using namespace seguente;
using namespace seguente::test;

namespace {
constexpr double rate = 48000;

Score waltzInThree() {
  Score score(rate, {3, 4}, 120);
  score.with(idiom("waltz")).tune("C7", {}, quarters(0.1));
  return score;
}

std::string bass(const Rendering& r, double from, double to) {
  return attacks(r, quarters(from), quarters(to), Names::pitchClasses, 0);
}
}  // namespace

TEST_CASE("A root that lands after the rest of its chord puts the wrong bass right", "[engine][hands]") {
  auto score = waltzInThree();
  score.chord("C3 E3 G3", {}, quarters(2.5));
  for (const auto* name : {"A2", "C3", "E3"}) score.chord(name, quarters(3), quarters(9));
  score.message({0x90, 53, 70}, score.sampleOf(quarters(3)) + Samples{900});  // the F, 19 ms after A C E
  score.message({0x80, 53, 64}, quarters(9));
  const auto r = render(score, quarters(9));
  CHECK(bass(r, 3.01, 6) == "0.027:F");  // 900 samples after the beat: with the finger itself
  CHECK(bass(r, 6, 9) == "0:C");         // the answer: the fifth of F
}

TEST_CASE("Go on, said before the hold has begun, lets the figure run", "[engine][signals]") {
  auto score = waltzInThree();
  score.chord("C3 E3 G3", {}, quarters(9));
  score.signal(Gesture::hold, quarters(3.2)).signal(Gesture::goOn, quarters(3.6));
  const auto r = render(score, quarters(9));
  for (const auto& e : strikes(r))
    if (e.tick < quarters(6)) CHECK(endOf(r, e.noteId) <= score.sampleOf(e.tick + quarters(3)));
  CHECK(attacks(r, quarters(6), quarters(9)).find("1:") != std::string::npos);
}

TEST_CASE("A close that was asked for plays to its end though the hand lets go", "[engine][signals]") {
  Score score(rate, {4, 4}, 60);
  score.with(idiom("broken-bass")).tune("C7", {}, quarters(0.1));
  score.chord("C3 E3 G3", {}, quarters(4.4)).signal(Gesture::end, quarters(3.5));
  const auto r = render(score, quarters(12));
  Ticks last{};
  for (const auto& e : strikes(r)) {
    if (e.tick >= quarters(4)) CHECK(e.reason.reason == Reason::cadence);
    last = e.tick;
  }
  // The end figure's last stroke lies as far into the bar as the file says.
  const Idiom& broken = idiom("broken-bass");
  const Figure& end = broken.figure(broken.at(Density::medium).end);
  CHECK(last == quarters(4) + broken.steps[end.first + end.count - 1].at);
}

TEST_CASE("An idiom that begins on the bar line of a new chord begins with its statement", "[engine][idiom]") {
  auto score = waltzInThree();
  score.chord("C3 E3 G3", {}, quarters(6)).chord("B2 F3 G3", quarters(6), quarters(9));
  score.with(idiom("waltz"), quarters(4));
  const auto r = render(score, quarters(9));
  CHECK(bass(r, 6, 9) == "0:G");
}

TEST_CASE("A mark in the chart over a chord that was struck before is heard at its bar line", "[engine][chart]") {
  const auto c = parseSymbol("C");
  REQUIRE(c);
  const std::vector<Expectation> chart = {{{}, quarters(3), *c}, {quarters(3), quarters(6), *c, false, true}};
  auto score = waltzInThree();
  score.with(ChartRef{chart.data(), chart.size()}).chord("C3 E3 G3", {}, quarters(12));
  const auto r = render(score, quarters(12));
  CHECK(attacks(r, quarters(6), quarters(12)) == "");
  for (const auto& e : strikes(r))
    if (e.tick >= quarters(3)) CHECK(e.reason.reason == Reason::cadence);
}

TEST_CASE("A last chord of two bars closes with the cadence and then the end; one of a bar with the end alone",
          "[engine][chart]") {
  // The waltz's own figures (figures.json): low on 1, chord on 2, rest; then all together. Common practice, no source,
  // for which comes when.
  const auto c = parseSymbol("C");
  REQUIRE(c);
  const auto closed = [&](double bars, bool writtenAgain = false) {
    const Ticks over = quarters(3 + 3 * bars);
    std::vector<Expectation> chart = {{{}, quarters(3), *c}, {quarters(3), over, *c, false, true}};
    if (writtenAgain) {
      chart[1].to = quarters(6);
      chart.push_back({quarters(6), over, *c});
    }
    auto score = waltzInThree();
    score.with(ChartRef{chart.data(), chart.size()}).chord("C3 E3 G3", {}, quarters(15));
    return render(score, quarters(15));
  };
  for (const bool writtenAgain : {false, true}) {  // | C | % | or | C | C |
    const auto two = closed(2, writtenAgain);
    CHECK(attacks(two, quarters(3), quarters(6)) == "0:C 1:E+G");
    CHECK(attacks(two, quarters(6), quarters(9)) == "0:C+E+G");
    CHECK(attacks(two, quarters(9), quarters(15)) == "");
    for (const auto& e : strikes(two)) {
      if (e.tick >= quarters(3)) CHECK(e.reason.reason == Reason::cadence);
      if (e.tick >= quarters(6)) CHECK(e.reason.figure == FigureKind::end);
    }
  }
  for (const double bars : {1.0, 1.5}) {
    const auto one = closed(bars);
    CHECK(attacks(one, quarters(3), quarters(6)) == "0:C+E+G");
    CHECK(attacks(one, quarters(6), quarters(15)) == "");
  }
}

TEST_CASE("A signal to end ends on its beat: nobody knows how long the chord will last", "[engine][signals]") {
  auto score = waltzInThree();
  score.chord("C3 E3 G3", {}, quarters(15)).signal(Gesture::end, quarters(5.5));
  const auto r = render(score, quarters(15));
  CHECK(attacks(r, quarters(6), quarters(9)) == "0:C+E+G");
  CHECK(attacks(r, quarters(9), quarters(15)) == "");
}

TEST_CASE("A short form that is cut sounds no further than its room", "[engine][hands]") {
  // Off the beat: the walking bass has its root at once, and on the next beat nothing of it is left.
  Score score(rate, {4, 4}, 100);
  score.with(idiom("walking-bass")).tune("C7", {}, quarters(0.1));
  score.chord("C3 E3 G3", {}, quarters(2.5)).chord("C3 F3 A3", quarters(2.5), quarters(8));
  const auto r = render(score, quarters(8));
  int seen = 0;
  for (const auto& e : strikes(r))
    if (e.tick == quarters(2.5)) {
      ++seen;
      CHECK(endOf(r, e.noteId) <= score.sampleOf(quarters(3)));
    }
  CHECK(seen > 0);
}

TEST_CASE("A leading note leads to the very key on which the next root is struck", "[engine][chart]") {
  // Source: Fitzgerald, Walking Bass Line Theory Basics: an approach by step, semitone or fifth.
  std::vector<Expectation> chart;
  const std::vector<std::string> symbols = {"C", "A7", "Dm", "G7", "C"};
  const std::vector<std::string> hands = {"C3 E3 G3", "C#3 E3 A3", "D3 F3 A3", "B2 F3 G3", "C3 E3 G3"};
  Score score(rate, {4, 4}, 120);
  for (std::size_t i = 0; i < symbols.size(); ++i) {
    const auto chord = parseSymbol(symbols[i]);
    REQUIRE(chord);
    const Ticks from = quarters(4) * static_cast<std::int64_t>(i);
    chart.push_back({from, from + quarters(4), *chord});
    score.chord(hands[i], from, from + quarters(4));
  }
  score.with(ChartRef{chart.data(), chart.size()}).with(idiom("walking-bass")).tune("C7", {}, quarters(0.1));
  const auto r = render(score, quarters(20));
  for (int bar = 1; bar < 5; ++bar) {
    int before = 0, after = 0;
    for (const auto& e : strikes(r)) {
      if (e.reason.part != 0) continue;
      if (e.tick == quarters(4 * bar - 1)) before = e.note().value;
      if (e.tick == quarters(4 * bar)) after = e.note().value;
    }
    INFO("into bar " << bar + 1 << ": " << before << " to " << after);
    CHECK(before > 0);
    CHECK(std::abs(after - before) <= 2);
    CHECK(after != before);
  }
}

TEST_CASE("A rocking bass never begins a chord on its sixth", "[engine][hands]") {
  Score score(rate, {4, 4}, 120);
  score.with(idiom("rocking-bass")).tune("C7", {}, quarters(0.1));
  score.chord("C3 E3 G3", {}, quarters(1)).chord("C3 F3 A3", quarters(1), quarters(4));
  const auto r = render(score, quarters(4));
  CHECK(attacks(r, quarters(1), quarters(2)) == "0:F+C");
}

TEST_CASE("The chord of a waltz lies above its bass in every key", "[engine][waltz]") {
  // Sources: MacDowell; LearnMusicTheory.net (lowest alone on 1, the chord above on 2 and 3).
  for (int root = 0; root < 12; ++root)
    for (const int third : {3, 4}) {
      auto score = waltzInThree();
      for (const int k : {45 + root % 12, 45 + root % 12 + third, 52 + root % 12})
        if (k < 60) score.chord(keyName({static_cast<std::uint8_t>(k)}), {}, quarters(6));
      const auto r = render(score, quarters(6));
      int bassKey = 0;
      for (const auto& e : strikes(r)) {
        if (e.reason.part == 0) bassKey = e.note().value;
        INFO("root " << root << ", third " << third << ", " << keyName(e.note()));
        if (e.reason.part != 0)
          CHECK(e.note().value >= bassKey);  // the fifth of an answer may be the chord's own lowest
      }
    }
}

TEST_CASE("Nothing that sounds is handed back, however many idioms were asked for within one bar", "[engine][idiom]") {
  Score score(rate, {4, 4}, 120);
  score.with(idiom("broken-bass")).chord("C3 E3 G3", {}, quarters(8));
  score.with(idiom("rocking-bass"), quarters(1)).with(idiom("walking-bass"), quarters(2));
  Engine engine;
  engine.prepare(rate);
  const Sink sink{nullptr, [](void*, const Output&) {}, nullptr};
  const auto inputs = score.inputs();
  std::size_t next = 0;
  const auto runTo = [&](Ticks tick) {
    const Samples until = score.sampleOf(tick);
    std::size_t end = next;
    while (end < inputs.size() && inputs[end].sample < until) ++end;
    engine.process(std::span(inputs).subspan(next, end - next), until, sink);
    next = end;
  };
  runTo(quarters(3.5));
  CHECK(engine.releasedGeneration() == 0);  // the first still plays
  runTo(quarters(5));
  CHECK(engine.releasedGeneration() == 2);  // the third plays: the first two are free
}

TEST_CASE("A chord rolled slowly is one stroke over its first key", "[engine][hands]") {
  auto score = waltzInThree();
  const std::vector<std::string> fingers = {"C3", "E3", "G3"};
  for (std::size_t i = 0; i < fingers.size(); ++i) {
    const Samples at = score.sampleOf(quarters(3)) + score.milliseconds(75.0 * static_cast<double>(i));
    score.message({0x90, key(fingers[i]).value, 70}, at).message({0x80, key(fingers[i]).value, 64}, quarters(6));
  }
  const auto r = render(score, quarters(6));
  int struck = 0;
  for (const auto& e : strikes(r)) struck += e.reason.part == 0 ? 1 : 0;
  CHECK(struck == 1);
}

TEST_CASE("When nobody waits for a chord any longer the pulse ends", "[engine][signals]") {
  Score score(rate, {4, 4}, 120);
  Settings settings;
  settings.waitForChord = true;
  score.with(settings).with(idiom("broken-bass")).chord("C3 E3 G3", {}, quarters(3));
  settings.waitForChord = false;
  score.with(settings, quarters(8));
  const auto r = render(score, quarters(20));
  for (const auto& e : strikes(r)) CHECK(e.sample <= score.sampleOf(quarters(8)));
}

TEST_CASE("After a stop in which no key was down, starting again plays nothing", "[engine][transport]") {
  Score score(rate, {4, 4}, 120);
  Settings settings;
  settings.waitForChord = true;
  score.with(settings).with(idiom("broken-bass")).chord("C3 E3 G3", {}, quarters(3)).stop(quarters(8));
  const Samples again = score.sampleOf(quarters(8)) + Samples{48000};
  score.jump(again, quarters(8));
  const auto inputs = score.inputs();
  const auto r = renderInBlocks(inputs, {}, rate, again + Samples{200000});
  for (const auto& e : strikes(r)) CHECK(e.sample < again);
}

TEST_CASE("A fine over the second bar of a figure of two closes there", "[engine][chart]") {
  const auto c = parseSymbol("C");
  REQUIRE(c);
  const std::vector<Expectation> chart = {{{}, quarters(4), *c}, {quarters(4), quarters(8), *c, false, true}};
  Score score(rate, {4, 4}, 120);
  score.with(ChartRef{chart.data(), chart.size()}).with(idiom("bossa-nova")).tune("C7", {}, quarters(0.1));
  score.chord("C3 E3 G3", {}, quarters(16));
  const auto r = render(score, quarters(16));
  for (const auto& e : strikes(r))
    if (e.tick >= quarters(4)) CHECK(e.reason.reason == Reason::cadence);
}

TEST_CASE("A finger that joins after a jump joins the chord where the music is now", "[engine][transport]") {
  // Found by the bench's hostile blocks: the figure was taken up at the place before the jump and ran to catch up.
  Score score(rate, {4, 4}, 120);
  score.with(idiom("rocking-bass")).tune("C7", {}, quarters(0.1));
  const Samples struck = score.sampleOf(quarters(4));
  for (const auto* name : {"A2", "C3", "E3"}) score.message({0x90, key(name).value, 70}, struck);
  score.jump(struck + Samples{500}, quarters(4000));
  score.message({0x90, key("F2").value, 70}, struck + Samples{1200});
  const auto inputs = score.inputs();
  const auto r = renderInBlocks(inputs, {}, rate, struck + Samples{200000});
  CHECK(strikes(r).size() < 60);
  CHECK(strikes(r).back().sample > struck + Samples{100000});  // and it goes on
  for (const auto& e : strikes(r))
    if (e.sample > struck + Samples{500}) CHECK(e.reason.dueTick >= quarters(3999));
}

TEST_CASE("A chord struck again early, and then another by its last finger, belongs to the beat ahead",
          "[engine][hands]") {
  auto score = waltzInThree();
  score.chord("A2 C3 E3", {}, quarters(2.5));
  const Samples early = score.sampleOf(quarters(3)) - Samples{3000};
  for (const auto* name : {"A2", "C3", "E3", "F2"})
    score.message({0x90, key(name).value, 70}, early + Samples{name[0] == 'F' ? 900 : 0});
  const auto r = render(score, quarters(6));
  CHECK(bass(r, 2.5, 3) == "");
  CHECK(bass(r, 3, 4) == "0:F");
}

// Source: REFERENCES section 6, "neighbour + the right key following".
TEST_CASE("A slip that made another chord for a moment is taken back alone: the rest sounds on", "[engine][hands]") {
  for (const auto* id : {"held-chords", "ballad"}) {
    Score score(rate, {4, 4}, 100);
    score.with(idiom(id)).tune("C7", {}, quarters(0.1));
    const auto after = [&](double milliseconds) { return quarters(4 + milliseconds / 600); };
    score.chord("Eb3 G3 Bb3", {}, quarters(3.8));
    for (const auto* name : {"Ab2", "Eb3"}) score.chord(name, after(0), quarters(8));
    score.chord("B2", after(2), after(90)).chord("C3", after(25), quarters(8));
    const auto r = render(score, quarters(8));
    INFO(id << ": " << attacks(r, quarters(4), quarters(8)));
    std::vector<int> struckAgain;
    for (const auto& e : strikes(r)) {
      const auto pitch = e.note().value % 12;
      if (e.tick < quarters(4) || e.tick > after(150)) continue;
      if (pitch == 11) CHECK(endOf(r, e.noteId) <= score.sampleOf(after(60)));
      for (const auto& f : strikes(r))
        if (f.noteId != e.noteId && f.note() == e.note() && f.reason.part == e.reason.part && f.sample > e.sample &&
            f.tick <= after(150))
          struckAgain.push_back(f.note().value);
    }
    CHECK(struckAgain.empty());
    bool third = false;
    for (const auto& e : strikes(r)) third = third || (e.note().value % 12 == 0 && e.tick >= quarters(4));
    CHECK(third);
    CHECK(brokenContract(r, score.inputs()) == "");
  }
}
