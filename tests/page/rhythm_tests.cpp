// Printed rhythm. Rules: common notation textbooks, from memory.
#include <string>

#include "plugin/page/beats.h"
#include "plugin/page/rhythm.h"
#include "tests/catch.h"
#include "tests/page/page_support.h"

using namespace seguente;
using namespace seguente::test;
using namespace seguente::page;

namespace {

Span note(Ticks at, Ticks length, int key = 72) {
  Note n;
  n.key = {static_cast<std::uint8_t>(key)};
  n.step = 7;
  return {at, at + length, {n}, {}};
}

std::string nameOf(const page::Event& e) {
  static const char* values[] = {"1", "2", "4", "8", "16", "32"};
  std::string s = e.rest() ? "r" : "";
  s += values[e.value.power];
  if (e.value.dots > 0) s += ".";
  if (e.tuplet >= 0) s += "t";
  if (!e.rest() && e.notes[0].tiedOut) s += "~";
  return s;
}

/// "4 8~ 8": values, rests with r, dots, t in a triplet, ~ tied on.
std::string printed(const std::vector<Span>& spans, Meter meter, Ticks before = {}) {
  const Voice voice = writeVoice(spans, meter, before, meter.bar() - before, meter.bar());
  std::string all;
  for (const page::Event& e : voice.events)
    all += (all.empty() ? "" : " ") + (e.wholeBar ? std::string("bar's rest") : nameOf(e));
  return all;
}

/// "[8 8] 4 [8 8]": what a beam joins stands in brackets.
std::string beamed(const std::vector<Span>& spans, Meter meter) {
  const Voice voice = writeVoice(spans, meter, {}, meter.bar(), meter.bar());
  std::string all;
  int open = -1;
  for (const page::Event& e : voice.events) {
    if (open >= 0 && e.beam != open) {
      all += "]";
      open = -1;
    }
    all += all.empty() ? "" : " ";
    if (e.beam >= 0 && open < 0) {
      all += "[";
      open = e.beam;
    }
    all += nameOf(e);
  }
  return all + (open >= 0 ? "]" : "");
}

/// Notes of one length side by side.
std::vector<Span> run(int count, Ticks length, Ticks from = {}) {
  std::vector<Span> spans;
  for (int i = 0; i < count; ++i) spans.push_back(note(from + length * i, length, 60 + i));
  return spans;
}

const Meter three{3, 4}, four{4, 4}, two{2, 4}, six{6, 8}, twelve{12, 8};
const Ticks e8 = quarters(1, 2), e16 = quarters(1, 4);

}  // namespace

TEST_CASE("a note that has one value is written with it", "[page]") {
  CHECK(printed({note({}, quarters(4))}, four) == "1");
  CHECK(printed({note({}, quarters(3))}, three) == "2.");
  CHECK(printed({note({}, quarters(3))}, six) == "2.");
  CHECK(printed({note({}, quarters(3, 2)), note(quarters(3, 2), quarters(3, 2))}, six) == "4. 4.");
  CHECK(printed({note({}, quarters(6))}, twelve) == "1.");
}

TEST_CASE("a note over the middle of a bar of four is tied, but for one that a beat begins", "[page]") {
  CHECK(printed({note({}, quarters(1)), note(quarters(1), quarters(2)), note(quarters(3), quarters(1))}, four) ==
        "4 2 4");
  CHECK(printed({note({}, quarters(3, 2)), note(quarters(3, 2), quarters(1)), note(quarters(5, 2), quarters(3, 2))},
                four) == "4. 8~ 8 4.");
  CHECK(printed({note(quarters(1), quarters(3, 2))}, four) == "r4 4~ 8 r8 r4");
}

TEST_CASE("a note over a beat of three quarters is tied where it begins off the beat", "[page]") {
  CHECK(printed({note({}, e8), note(e8, quarters(3, 2)), note(quarters(2), quarters(1))}, three) == "8 8~ 4 4");
  CHECK(printed({note({}, e8), note(e8, quarters(1)), note(quarters(3, 2), quarters(1)), note(quarters(5, 2), e8)},
                three) == "8 4 4 8");
}

TEST_CASE("in six eighths a note shows where the second beat begins", "[page]") {
  CHECK(printed({note({}, quarters(2)), note(quarters(2), quarters(1))}, six) == "4.~ 8 4");
  CHECK(printed({note({}, quarters(1)), note(quarters(1), quarters(1)), note(quarters(2), quarters(1))}, six) ==
        "4 8~ 8 4");
}

TEST_CASE("rests show the beats: no half rest in three, none over the middle of four", "[page]") {
  CHECK(printed({note({}, quarters(1))}, three) == "4 r4 r4");
  CHECK(printed({note(quarters(2), quarters(1))}, three) == "r4 r4 4");
  CHECK(printed({note({}, quarters(1))}, four) == "4 r4 r2");
  CHECK(printed({note({}, quarters(2))}, four) == "2 r2");
  CHECK(printed({note(quarters(3), quarters(1))}, four) == "r2 r4 4");
  CHECK(printed({note({}, e8)}, six) == "8 r8 r8 r4.");
  CHECK(printed({note(quarters(1), e8)}, six) == "r4 8 r4.");
  CHECK(printed({}, four) == "bar's rest");
}

TEST_CASE("a pickup's beats are the bar's last", "[page]") {
  // An eighth before six eighths; three eighths before four quarters: the last beat is whole.
  CHECK(printed({note({}, e8)}, six, quarters(5, 2)) == "8");
  CHECK(printed(run(3, e8), four, quarters(5, 2)) == "8 8 8");
  CHECK(printed({note({}, quarters(3, 2))}, four, quarters(5, 2)) == "4.");  // an eighth's rest before it
}

TEST_CASE("three in a beat are a triplet with its bracket, and a note that enters it is tied", "[page]") {
  const Ticks t = third;
  CHECK(printed({note({}, t), note(t, t), note(t * 2, t), note(quarters(1), quarters(1))}, two) == "8t 8t 8t 4");
  CHECK(printed({note({}, t * 2), note(t * 2, t), note(quarters(1), quarters(1))}, two) == "4t 8t 4");
  CHECK(printed({note({}, t), note(t, quarters(2) - t)}, two) == "8t 4t~ 4");
  CHECK(printed({note({}, t), note(t * 2, t)}, two) == "8t r8t 8t r4");
}

TEST_CASE("half a beat before the first bar line is no triplet, however unevenly it is played", "[page]") {
  CHECK(printed({note({}, quarters(1, 6)), note(quarters(1, 6), quarters(1, 3))}, two, quarters(3, 2)) == "32 16.");
}

TEST_CASE("eighths are beamed by beats: pairs in four by half bars, in three and two by the bar, in six by threes",
          "[page]") {
  CHECK(beamed(run(8, e8), four) == "[8 8 8 8] [8 8 8 8]");
  CHECK(beamed(run(6, e8), three) == "[8 8 8 8 8 8]");
  CHECK(beamed(run(4, e8), two) == "[8 8 8 8]");
  CHECK(beamed(run(6, e8), six) == "[8 8 8] [8 8 8]");
  CHECK(beamed(run(12, e8), twelve) == "[8 8 8] [8 8 8] [8 8 8] [8 8 8]");
}

TEST_CASE("sixteenths are beamed by the beat, and a dotted eighth with its sixteenth", "[page]") {
  CHECK(beamed(run(8, e16), two) == "[16 16 16 16] [16 16 16 16]");
  CHECK(beamed({note({}, quarters(3, 4)), note(quarters(3, 4), e16), note(quarters(1), quarters(1))}, two) ==
        "[8. 16] 4");
  CHECK(
      beamed({note({}, e8), note(e8, e8), note(quarters(1), e16), note(quarters(5, 4), e16), note(quarters(3, 2), e8)},
             two) == "[8 8] [16 16 8]");
}

TEST_CASE("no beam goes over a rest or a quarter", "[page]") {
  CHECK(beamed({note({}, e8), note(quarters(1), e8), note(quarters(3, 2), e8)}, two) == "8 r8 [8 8]");
  CHECK(beamed({note({}, e8), note(e8, quarters(1)), note(quarters(3, 2), e8)}, two) == "8 4 8");
}

TEST_CASE("what is held under a moving note is tied where that one is struck", "[page]") {
  const auto cut = cutAtChanges({note({}, quarters(2), 60), note(quarters(1), quarters(1), 67)});
  REQUIRE(cut.size() == 2);
  CHECK(cut[0].notes.size() == 1);
  CHECK(cut[0].notes[0].tiedOut);
  REQUIRE(cut[1].notes.size() == 2);
  CHECK(cut[1].notes[0].tiedIn);
  CHECK_FALSE(cut[1].notes[1].tiedIn);
}

TEST_CASE("any notes on the grid fill their bar, in every meter that is printed", "[page]") {
  for (const Meter meter :
       {Meter{2, 4}, {3, 4}, {4, 4}, {5, 4}, {2, 2}, {3, 8}, {6, 8}, {9, 8}, {12, 8}, {5, 8}, {7, 8}, {6, 4}})
    for (std::int64_t a = 0; a < meter.bar().value; a += e16.value)
      for (std::int64_t b = a + e16.value; b <= meter.bar().value; b += e16.value) {
        Bar bar;
        bar.meter = meter;
        bar.length = meter.bar();
        Span span = note({a}, {b - a});
        bar.staff(StaffKind::upper).voices.push_back(writeVoice({span}, meter, {}, meter.bar(), meter.bar()));
        INFO(int(meter.numerator) << "/" << int(meter.denominator) << " from " << a / e16.value << " to "
                                  << b / e16.value);
        CHECK(faultOf(bar) == "");
      }
}
