// When hands are human: early, late, gaps, lifts, fast cadences, and the player's signals (DESIGN.md, the section of
// that name). The bounds are the engine's own; what is checked is what a listener hears.
#include <algorithm>

#include "tests/catch.h"
#include "tests/support/contracts.h"
#include "tests/support/music.h"

using namespace seguente;
using namespace seguente::test;

namespace {

constexpr double rate = 48000;

/// A waltz at 120: a quarter is half a second.
Score waltz() {
  Score score(rate, {3, 4}, 120);
  score.with(idiom("waltz")).tune("C7", {}, quarters(0.1));
  return score;
}

Ticks after(Ticks place, double milliseconds) { return place + quarters(milliseconds / 500.0); }

std::vector<Event> soundingAt(const Rendering& r, Samples sample) {
  std::vector<Event> out;
  for (const auto& e : strikes(r))
    if (e.sample <= sample && endOf(r, e.noteId) > sample) out.push_back(e);
  return out;
}

std::vector<Event> strikesBetween(const Rendering& r, Samples from, Samples to) {
  std::vector<Event> out;
  for (const auto& e : strikes(r))
    if (e.sample >= from && e.sample < to) out.push_back(e);
  return out;
}

}  // namespace

TEST_CASE("A late chord takes back the wrong bass and strikes the right one at once", "[engine][hands]") {
  auto score = waltz();
  const auto late = after(quarters(3), 90);
  score.chord("C3 E3 G3", {}, late).chord("C3 F3 A3", late, quarters(6));
  const auto r = render(score, quarters(6));
  const auto bar = score.sampleOf(quarters(3)), struck = score.sampleOf(late);
  REQUIRE(!strikesBetween(r, bar, bar + Samples{1}).empty());  // nobody could know better
  const auto right = strikesBetween(r, struck, struck + score.milliseconds(70));
  REQUIRE(!right.empty());
  CHECK(right.front().note().value % 12 == 5);
  CHECK(right.front().reason.reason == Reason::correction);
  CHECK(right.front().reason.cause == DelayCause::handLate);
  CHECK(right.front().reason.due == bar);
  for (const auto& wrong : strikesBetween(r, bar, bar + Samples{1}))
    CHECK(endOf(r, wrong.noteId) <= right.front().sample);
  CHECK(attacks(r, quarters(4), quarters(6)).find("0:") == 0);  // beat 2 comes in its own time
}

TEST_CASE("If the hand had let go, the downbeat waits for a late chord and no wrong bass sounds", "[engine][hands]") {
  auto score = waltz();
  const auto late = after(quarters(3), 80);
  score.chord("C3 E3 G3", {}, quarters(2.7)).chord("C3 F3 A3", late, quarters(6));
  const auto r = render(score, quarters(6));
  const auto bar = score.sampleOf(quarters(3)), struck = score.sampleOf(late);
  CHECK(strikesBetween(r, bar, struck).empty());
  const auto first = strikesBetween(r, bar, struck + score.milliseconds(60));
  REQUIRE(!first.empty());
  CHECK(first.front().note().value % 12 == 5);
  CHECK(first.front().sample == struck);  // a whole chord needs no waiting
  CHECK(first.front().reason.cause == DelayCause::handLate);
}

// Source: DESIGN.md, "if the hand had let go just before the beat, the downbeat waits for it"; fingers land 10 to 60 ms
// apart (REFERENCES section 6), so that a chord played with the beat often has its first finger on or before it.
/// Whether a chord on a bar line sounds at once: where the idiom leaves the first beat empty, also for a new chord, it
/// sounds a beat later.
static bool strikesOnOne(const Idiom& idiom) {
  const auto& f = idiom.at(Density::medium);
  const auto beginsOnOne = [&](FigureRef ref) { return idiom.stepsOf(idiom.figure(ref)).front().at == Ticks{}; };
  return beginsOnOne(f.statement) || (f.shortCount > 0 && beginsOnOne(f.shortForms[0]));
}

TEST_CASE("While the fingers of the next chord are landing the beat waits for them: no wrong bass for a moment",
          "[engine][hands]") {
  for (const auto& id : idiomIds())
    for (const double first : {-24.0, -12.0, 0.0, 6.0}) {
      if (!strikesOnOne(idiom(id))) continue;
      const Meter meter = idiom(id).meter;
      Score score(rate, meter, 120);
      score.with(idiom(id)).tune("C7", {}, quarters(0.1)).chord("C3 E3 G3", {}, after(meter.bar(), -160));
      int finger = 0;
      for (const auto* name : {"A3", "F3", "C3"})
        score.chord(name, after(meter.bar(), first + 12 * finger++), meter.bar() * 2);
      const auto r = render(score, meter.bar() * 2);
      const auto bar = score.sampleOf(meter.bar()), landed = score.sampleOf(after(meter.bar(), first + 24));
      INFO(id << ", first finger at " << first << " ms: " << attacks(r, meter.bar(), meter.bar() * 2));
      CHECK(strikesBetween(r, bar, std::max(bar, landed)).empty());
      const auto struck = strikesBetween(r, bar, bar + score.milliseconds(60));
      REQUIRE(!struck.empty());
      CHECK(struck.front().note().value % 12 == 5);
      CHECK(struck.front().reason.reason != Reason::correction);
    }
}

TEST_CASE("A chord that comes early belongs to the beat ahead", "[engine][hands]") {
  for (const double early : {20.0, 60.0, 110.0}) {
    auto score = waltz();
    const auto when = after(quarters(3), -early);
    score.chord("C3 E3 G3", {}, after(when, -10)).chord("C3 F3 A3", when, quarters(6));
    const auto r = render(score, quarters(6));
    const auto bar = score.sampleOf(quarters(3));
    INFO(early << " ms early");
    CHECK(strikesBetween(r, score.sampleOf(when), bar).empty());
    const auto first = strikesBetween(r, bar, bar + Samples{1});
    REQUIRE(!first.empty());
    CHECK(first.front().note().value % 12 == 5);
    CHECK(first.front().reason.cause == DelayCause::none);
    CHECK(attacks(r, quarters(2), quarters(3)) == "0:E+G");
  }
}

// Source: REFERENCES section 6: a median of 300 ms between two left-hand chords.
TEST_CASE("The gap between two chords is bridged: the figure goes on", "[engine][hands]") {
  auto score = waltz();
  score.chord("C3 E3 G3", {}, after(quarters(2), -30)).chord("C3 F3 A3", quarters(3), quarters(6));
  const auto r = render(score, quarters(6));
  CHECK(attacks(r, quarters(2), quarters(3)) == "0:E+G");
  CHECK(attacks(r, quarters(3), quarters(4)).find("0:F") == 0);
}

TEST_CASE("A real lift ends the sound cleanly", "[engine][hands]") {
  for (const auto& id : idiomIds()) {
    Score score(rate, {4, 4}, 120);
    score.with(idiom(id)).chord("C3 E3 G3", {}, quarters(5.5));
    const auto r = render(score, quarters(16));
    INFO(id);
    CHECK(soundingAt(r, score.sampleOf(quarters(6.95))).empty());  // a beat, 700 ms at most, after the lift
    CHECK(strikesBetween(r, score.sampleOf(quarters(6.95)), score.sampleOf(quarters(16))).empty());
  }
}

TEST_CASE("Keep holds the last chord for good", "[engine][hands]") {
  Score score(rate, {3, 4}, 120);
  Settings settings;
  settings.keep = true;
  score.with(settings).with(idiom("waltz")).chord("C3 E3 G3", {}, quarters(2));
  const auto r = render(score, quarters(30));
  CHECK(attacks(r, quarters(27), quarters(30)) != "");
}

TEST_CASE("A chord struck again, or held in another inversion, does not jolt the figure", "[engine][hands]") {
  auto plain = waltz();
  plain.chord("C3 E3 G3", {}, quarters(9));
  auto again = waltz();
  again.chord("C3 E3 G3", {}, quarters(3.4)).chord("E3 G3 C4", quarters(3.5), quarters(9));
  again.chord("C3 E3 G3", quarters(3.45), quarters(3.48));
  const auto a = render(plain, quarters(9)), b = render(again, quarters(9));
  CHECK(attacks(a, quarters(3), quarters(6)) == attacks(b, quarters(3), quarters(6)));
  CHECK(strikes(a).size() == strikes(b).size());
}

// Source: DESIGN.md, "never a chord without its bass".
TEST_CASE("Chords that change faster than the figure get its short form, each with its own bass", "[engine][hands]") {
  const std::vector<std::string> shapes = {"C3 E3 G3", "C3 F3 A3", "B2 F3 G3", "C3 E3 A3"};
  const std::vector<int> roots = {0, 5, 7, 9};
  for (const auto& id : idiomIds()) {
    if (!strikesOnOne(idiom(id))) continue;
    Score score(rate, {4, 4}, 100);
    score.with(idiom(id)).tune("C7", {}, quarters(0.1));
    for (int i = 0; i < 8; ++i) score.chord(shapes[static_cast<std::size_t>(i % 4)], quarters(i), quarters(i + 0.9));
    const auto inputs = score.inputs();
    const auto r = render(score, quarters(8));
    CHECK(brokenContract(r, inputs) == "");
    for (int i = 0; i < 8; ++i) {
      const auto at = score.sampleOf(quarters(i));
      auto struck = strikesBetween(r, at, at + Samples{1});
      INFO(id << ", chord " << i + 1 << ": " << attacks(r, quarters(i), quarters(i + 1), Names::withOctave));
      REQUIRE(!struck.empty());
      const auto lowest = std::min_element(struck.begin(), struck.end(),
                                           [](const Event& a, const Event& b) { return a.note() < b.note(); });
      CHECK(lowest->note().value % 12 == roots[static_cast<std::size_t>(i % 4)]);
    }
  }
}

TEST_CASE("A bare fifth stays bare, and one key is a root without a third", "[engine][hands]") {
  for (const auto& id : idiomIds())
    for (const auto* held : {"C3 G3", "C3"}) {
      Score score(rate, {4, 4}, 120);
      score.with(idiom(id)).chord(held, {}, quarters(8));
      const auto r = render(score, quarters(8));
      INFO(id << " over " << held << ": " << attacks(r, {}, quarters(8)));
      REQUIRE(!strikes(r).empty());
      for (const auto& e : strikes(r)) CHECK((e.note().value % 12 != 4 && e.note().value % 12 != 3));
    }
}

TEST_CASE("Hold rests on the chord, go on takes the figure up again, end closes", "[engine][signals]") {
  for (const auto& id : idiomIds()) {
    Score score(rate, {4, 4}, 120);
    score.with(idiom(id)).tune("C7", {}, quarters(0.1)).chord("C3 E3 G3", {}, quarters(40));
    score.signal(Gesture::hold, quarters(7.9)).signal(Gesture::goOn, quarters(15.9));
    score.signal(Gesture::end, quarters(23.9));
    const auto r = render(score, quarters(40));
    INFO(id);
    const auto held = score.sampleOf(quarters(12));
    CHECK(!soundingAt(r, held).empty());
    CHECK(strikesBetween(r, score.sampleOf(quarters(8.1)), score.sampleOf(quarters(15.9))).empty());
    CHECK(!strikesBetween(r, score.sampleOf(quarters(16)), score.sampleOf(quarters(20))).empty());
    CHECK(soundingAt(r, score.sampleOf(quarters(36))).empty());
    CHECK(strikesBetween(r, score.sampleOf(quarters(33)), score.sampleOf(quarters(40))).empty());
    CHECK(brokenContract(r, score.inputs()) == "");
  }
}

TEST_CASE("Wait for my chord: the bar is finished, the pulse stays softly, the figure resumes on the player's downbeat",
          "[engine][signals]") {
  Score score(rate, {3, 4}, 120);
  Settings settings;
  settings.waitForChord = true;
  score.with(settings).with(idiom("waltz")).tune("C7", {}, quarters(0.1)).chord("C3 E3 G3", {}, quarters(3.5));
  score.chord("C3 F3 A3", quarters(10), quarters(16));  // on beat 2 of bar 4: the player's own downbeat
  const auto r = render(score, quarters(16));
  CHECK(attacks(r, quarters(4), quarters(6)) == "0:E+G 1:E+G");  // the bar is finished
  const auto waiting = strikesBetween(r, score.sampleOf(quarters(6)), score.sampleOf(quarters(10)) - Samples{1});
  CHECK(waiting.size() >= 3);
  for (const auto& e : waiting) CHECK(e.bytes[2] < strikes(r).front().bytes[2]);
  CHECK(attacks(r, quarters(10), quarters(13)).find("0:F 1:") == 0);
  CHECK(brokenContract(r, score.inputs()) == "");
}

TEST_CASE("The tune's note on a key of ours ends ours first, and ours does not return", "[engine][hands]") {
  Score score(rate, {4, 4}, 120);
  Settings settings;
  settings.outputChannel = {0, 0, 0, 0};
  score.with(settings).with(idiom("held-chords")).chord("C3 E3 G3", {}, quarters(8));
  const auto alone = render(score, quarters(8));
  const auto top = std::max_element(alone.events.begin(), alone.events.end(), [](const Event& a, const Event& b) {
    return (a.kind == OutputKind::noteOn ? a.bytes[1] : 0) < (b.kind == OutputKind::noteOn ? b.bytes[1] : 0);
  });
  const auto when = score.sampleOf(quarters(2));
  Settings low = settings;
  low.split = NoteNumber{static_cast<std::uint8_t>(1)};  // from here on every key is the tune's
  score.with(low, quarters(1.9));
  score.message({0x90, top->bytes[1], 90}, when).message({0x80, top->bytes[1], 64}, when + Samples{9000});
  const auto r = render(score, quarters(4));
  CHECK(clashes(r, score.inputs()) == "");
  bool ended = false;
  for (const auto& e : strikes(r)) {
    if (e.note() == top->note() && e.sample < when) ended = ended || endOf(r, e.noteId) == when;
    CHECK(!(e.note() == top->note() && e.sample >= when && e.sample < when + Samples{9000}));
  }
  CHECK(ended);
}

// Source: DESIGN.md, a mark in a chart is one of the gesture's forms.
TEST_CASE("A fermata in the chart rests on its chord, and a fine closes", "[engine][signals][chart]") {
  const auto c = parseSymbol("C"), f = parseSymbol("F");
  REQUIRE((c && f));
  const std::vector<Expectation> chart = {{{}, quarters(3), *c}, {quarters(3), quarters(6), *f, true, false}};
  Score score(rate, {3, 4}, 120);
  score.with(ChartRef{chart.data(), chart.size()}).with(idiom("waltz")).tune("C7", {}, quarters(0.1));
  score.chord("C3 E3 G3", {}, quarters(2.9)).chord("C3 F3 A3", quarters(3), quarters(12));
  const auto rests = render(score, quarters(12));
  CHECK(attacks(rests, {}, quarters(3)) == "0:C 1:E+G 2:E+G");
  CHECK(attacks(rests, quarters(3.5), quarters(12)) == "");
  CHECK(!soundingAt(rests, score.sampleOf(quarters(9))).empty());

  auto closing = chart;
  closing[1].hold = false;
  closing[1].end = true;
  Score fine(rate, {3, 4}, 120);
  fine.with(ChartRef{closing.data(), closing.size()}).with(idiom("waltz")).tune("C7", {}, quarters(0.1));
  fine.chord("C3 E3 G3", {}, quarters(2.9)).chord("C3 F3 A3", quarters(3), quarters(20));
  const auto closed = render(fine, quarters(20));
  REQUIRE(!strikesBetween(closed, fine.sampleOf(quarters(3)), fine.sampleOf(quarters(6))).empty());
  for (const auto& e : strikesBetween(closed, fine.sampleOf(quarters(3)), fine.sampleOf(quarters(20)))) {
    CHECK(e.reason.reason == Reason::cadence);
    CHECK(e.tick < quarters(9));
  }
  CHECK(soundingAt(closed, fine.sampleOf(quarters(18))).empty());
}

// Source: DESIGN.md, the idiom is adopted "where the music allows (step, bar)".
TEST_CASE("Another idiom begins at the next bar, or at once if that is asked", "[engine][idiom]") {
  for (const bool atOnce : {false, true}) {
    Score score(rate, {4, 4}, 120);
    Settings settings;
    settings.changeIdiomAtOnce = atOnce;
    score.with(settings).with(idiom("broken-bass")).tune("C7", {}, quarters(0.1));
    score.chord("C3 E3 G3", {}, quarters(12)).with(idiom("rocking-bass"), quarters(5.5));
    const auto r = render(score, quarters(12));
    INFO((atOnce ? "at once: " : "at the bar: ") << attacks(r, quarters(4), quarters(12)));
    CHECK(attacks(r, quarters(6), quarters(8)).find('+') == (atOnce ? 3u : std::string::npos));
    CHECK(attacks(r, quarters(8), quarters(9)) == "0:C+G");
    CHECK(brokenContract(r, score.inputs()) == "");
  }
}
