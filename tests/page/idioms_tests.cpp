#include <algorithm>
#include <set>

#include "tests/catch.h"
#include "tests/page/page_support.h"
#include "tests/support/hands.h"
#include "tests/support/music.h"

using namespace seguente;
using namespace seguente::test;

namespace {

/// C, F, G and C again, one bar each, twice, on the grid.
Score plainChords(const Idiom& idiom) {
  const Meter meter = idiom.anyMeter ? Meter{4, 4} : idiom.meter;
  Score score(48000, meter);
  score.with(idiom);
  const char* chords[] = {"C3 E3 G3", "C3 F3 A3", "B2 F3 G3", "C3 E3 G3",
                          "A2 C3 E3", "A2 D3 F3", "B2 F3 G3", "C3 E3 G3"};
  const char* tune[] = {"E5", "F5", "D5", "E5", "C5", "D5", "G5", "C5"};
  for (int b = 0; b < 8; ++b) {
    score.chord(chords[b], meter.bar() * b, meter.bar() * (b + 1) - Ticks{quarter.value / 8});
    score.tune(tune[b], meter.bar() * b, meter.bar() * (b + 1));  // without a tune it would be a vamp throughout
  }
  return score;
}

std::vector<page::Bar> write(const Score& score, const Idiom& idiom, Ticks end) {
  page::Writer writer;
  for (const page::Told& told : toldOf(render(score, end), score, idiom)) writer.tell(told);
  writer.tell(page::Told::of(page::ToldKind::now, end + quarter * 2));
  return barsOf(writer);
}

std::string firstFault(const std::vector<page::Bar>& bars) {
  for (std::size_t i = 0; i < bars.size(); ++i) {
    if (const auto fault = faultOf(bars[i]); !fault.empty()) return fault;
    if (i + 1 < bars.size())
      if (const auto fault = faultBetween(bars[i], bars[i + 1]); !fault.empty()) return fault;
  }
  return "";
}

}  // namespace

#ifdef SEGUENTE_SANITIZED
constexpr std::uint64_t handsEach = 3;
#else
constexpr std::uint64_t handsEach = 12;
#endif

TEST_CASE("each bar's lengths add up to its meter, whatever the hands do and in every idiom", "[page]") {
  for (const auto& id : idiomIds())
    for (std::uint64_t seed = 1; seed <= handsEach; ++seed) {
      HandsOptions options;
      options.seconds = 20;
      options.transport = seed % 3 == 0;
      options.otherIdioms = false;
      Performance p = randomHands(seed, options);
      p.score.with(idiom(id));
      const Rendering r = renderInBlocks(p.score.inputs(), {}, 48000, p.end);
      page::Writer writer;
      for (const page::Told& told : toldOf(r, p.score, idiom(id))) {
        writer.tell(told);
        // The bar in progress keeps the law as well.
        if (writer.end() > writer.first()) {
          const page::Bar* now = writer.bar(writer.end() - 1);
          REQUIRE(now != nullptr);
          INFO(id << ", seed " << seed);
          const std::string fault = faultOf(*now);
          if (!fault.empty()) REQUIRE(fault == "");
        }
      }
      writer.tell(page::Told::of(page::ToldKind::now, writer.now() + quarter * 8));
      INFO(id << ", seed " << seed);
      CHECK(firstFault(barsOf(writer)) == "");
      CHECK(writer.dropped() == 0);
    }
}

TEST_CASE("what is written, read back, is what the figure says: each step at its place with its length", "[page]") {
  for (const auto& id : idiomIds()) {
    const Idiom& i = idiom(id);
    const Score score = plainChords(i);
    const Ticks end = (i.anyMeter ? Meter{4, 4} : i.meter).bar() * 8;
    const auto bars = write(score, i, end);
    INFO(id);
    CHECK(firstFault(bars) == "");
    const Rendering r = render(score, end);
    const auto read = readBack(bars);
    std::size_t ours = 0, whole = 0;
    for (const ReadNote& n : read) {
      if (n.source == page::Source::melody) continue;
      ++ours;
      // The step behind it, as the pattern file has it: straight.
      const auto behind = [&](const Step& s) {
        return s.row == n.reason.row && s.part == n.reason.part &&
               (n.at - s.at).value % (i.anyMeter ? quarter : i.meter.beat()).value == 0;
      };
      const auto step = std::find_if(i.steps.begin(), i.steps.end(), behind);
      INFO("quarter " << quartersText(n.at) << " row " << int(n.reason.row));
      CHECK(step != i.steps.end());
      if (n.grace || step == i.steps.end()) continue;
      whole +=
          std::any_of(i.steps.begin(), i.steps.end(), [&](const Step& s) { return behind(s) && n.length == s.length; })
              ? 1
              : 0;
    }
    std::set<std::uint32_t> sounded, written;
    for (const Event& e : strikes(r))
      if (e.reason.reason != Reason::asHeld) sounded.insert(e.noteId);
    for (const ReadNote& n : read)
      if (n.source != page::Source::melody) written.insert(n.noteId);
    CHECK(written == sounded);
    CHECK(ours > 8);
    // Cut short: what a change of chord ends; the any-meter idiom's lengths are the bar's.
    if (!i.anyMeter) CHECK(whole * 10 >= ours * 8);
  }
}

TEST_CASE("a waltz is one line: low note, chord, chord, all quarters with their stems", "[page]") {
  const Idiom& i = idiom("waltz");
  const auto bars = write(plainChords(i), i, Meter{3, 4}.bar() * 8);
  const page::Staff& staff = bars[1].staff(page::StaffKind::lower);
  REQUIRE(staff.voices.size() == 1);
  const auto& events = staff.voices[0].events;
  REQUIRE(events.size() == 3);
  for (const page::Event& e : events) CHECK(e.value == page::Value{2, 0});
  CHECK(events[0].notes.size() == 1);
  CHECK(events[1].notes.size() == 2);
  CHECK(events[2].notes.size() == 2);
  CHECK(bars[1].chords.at(0).symbol == "F");
  CHECK(bars[1].form.at(0).at == Ticks{0});
}

TEST_CASE("a bass that is held under its chords makes two voices, the chords with stems up", "[page]") {
  const Idiom& i = idiom("bossa-nova");
  const auto bars = write(plainChords(i), i, Meter{4, 4}.bar() * 8);
  const page::Staff& staff = bars[1].staff(page::StaffKind::lower);
  REQUIRE(staff.voices.size() == 2);
  // patterns/bossa-nova.toml: the thumb on 1 for a beat and a half, in dotted quarters.
  const auto& low = staff.voices[1].events;
  CHECK(low[0].value == page::Value{2, 1});
  CHECK(low[1].value == page::Value{3, 0});
  CHECK(low[2].value == page::Value{2, 1});
}

TEST_CASE("swing is written straight: a shuffle's eighths are eighths, and a word says how they go", "[page]") {
  const Idiom& i = idiom("blues-shuffle");
  const auto bars = write(plainChords(i), i, Meter{4, 4}.bar() * 8);
  CHECK(bars[0].swing == 2000);
  std::size_t eighths = 0;
  for (const page::Bar& bar : bars)
    for (const page::Voice& voice : bar.staff(page::StaffKind::lower).voices)
      for (const page::Event& e : voice.events) {
        CHECK(e.tuplet == -1);
        eighths += !e.rest() && e.value == page::Value{3, 0} ? 1 : 0;
      }
  CHECK(eighths > 40);
}

TEST_CASE("a blue third is a small note before its goal", "[page]") {
  const Idiom& i = idiom("blues-shuffle");
  const auto bars = write(plainChords(i), i, Meter{4, 4}.bar() * 8);
  std::size_t graces = 0;
  for (const ReadNote& n : readBack(bars)) {
    if (!n.grace) continue;
    ++graces;
    CHECK(n.at.value % quarter.value == 0);  // on the beat of its goal
  }
  CHECK(graces > 0);
}
