// A host that switches us off and on again, and a host that loops. The loop that swallows note-offs was seen in a real
// host (a note held over the loop's end gets no note-off, and is struck again in the next pass); the rest is common
// practice, no source.
#include <string>
#include <vector>

#include "tests/catch.h"
#include "tests/support/contracts.h"
#include "tests/support/harness.h"
#include "tests/support/music.h"
#include "tests/support/score.h"

using namespace seguente;
using namespace seguente::test;

namespace {
constexpr double rate = 48000;

Score rocking() {
  Score score(rate, {4, 4}, 120);
  score.with(idiom("rocking-bass")).tune("C7", {}, quarters(0.1));
  return score;
}

Score& bypass(Score& score, bool on, double at) {
  const Samples s = score.sampleOf(quarters(at));
  return score.add(s, Input::bypassAt(s, on));
}

/// Keys that are open at the end of the run, ours and passed alike.
int open(const Rendering& r) {
  std::array<int, 128> down{};
  for (const auto& e : r.events) {
    if ((e.bytes[0] & 0xF0) == 0x90 && e.bytes[2] > 0)
      down[e.bytes[1]] = 1;
    else if ((e.bytes[0] & 0xF0) == 0x80 || (e.bytes[0] & 0xF0) == 0x90)
      down[e.bytes[1]] = 0;
  }
  int count = 0;
  for (const int d : down) count += d;
  return count;
}

std::string passedKeys(const Rendering& r, Samples from, Samples until) {
  std::string text;
  for (const auto& e : r.events)
    if (e.kind == OutputKind::passed && e.sample >= from && e.sample < until)
      text += ((e.bytes[0] & 0xF0) == 0x90 ? " +" : " -") + keyName(e.note());
  return text;
}
}  // namespace

TEST_CASE("Switched off in a note, ours ends at once and the hand's own keys pass", "[engine][bypass]") {
  auto score = rocking();
  score.chord("C3 E3 G3", {}, quarters(3));
  bypass(score, true, 2.5);
  score.chord("F3 A3 C4", quarters(4), quarters(6));
  const auto r = render(score, quarters(8));
  CHECK(attacks(r, quarters(0), quarters(8)) == "0:C+G 1:C+A 2:C+G");
  for (const auto& e : strikes(r)) CHECK(endOf(r, e.noteId) <= score.sampleOf(quarters(2.5)));
  CHECK(passedKeys(r, score.sampleOf(quarters(3.5)), score.sampleOf(quarters(8))) == " +F3 +A3 +C4 -F3 -A3 -C4");
  CHECK(open(r) == 0);
}

TEST_CASE("Switched on again, the chord that the hand holds sounds from there on", "[engine][bypass]") {
  auto score = rocking();
  bypass(score, true, 0.5);
  score.chord("F3 A3 B3", quarters(1), quarters(8));  // struck while we were off
  bypass(score, false, 4);
  const auto r = render(score, quarters(8));
  CHECK(attacks(r, quarters(0), quarters(4)).empty());
  CHECK(attacks(r, quarters(4), quarters(5)).starts_with("0:"));
  // The plain chord, which had passed, ends where ours begins, and its own note-offs do not pass twice.
  CHECK(passedKeys(r, score.sampleOf(quarters(0.5)), score.sampleOf(quarters(9))) == " +F3 +A3 +B3");
  CHECK(open(r) == 0);
}

TEST_CASE("The tune plays on through both", "[engine][bypass]") {
  auto score = rocking();
  score.chord("C3 E3 G3", {}, quarters(8)).tune("E5", quarters(1), quarters(7));
  bypass(score, true, 2.5);
  bypass(score, false, 4.5);
  const auto r = render(score, quarters(8));
  CHECK(passedKeys(r, score.sampleOf(quarters(0.5)), score.sampleOf(quarters(8))) == " +E5 -E5");
}

TEST_CASE("With the transport standing, what is held sounds plainly when we are switched on", "[engine][bypass]") {
  auto score = rocking();
  score.stop(quarters(0.5));
  bypass(score, true, 1);
  score.message({0x90, 48, 70}, Samples{40000});
  const Samples on{60000};
  score.add(on, Input::bypassAt(on, false));
  const auto r = renderInBlocks(score.inputs(), {}, rate, Samples{90000}, true);
  int ours = 0;
  for (const auto& e : strikes(r)) ours += e.sample == on && e.note().value == 48 ? 1 : 0;
  CHECK(ours == 1);
  CHECK(open(r) == 0);
}

TEST_CASE("Bypass does not care where a block ends", "[engine][bypass][blocks]") {
  auto score = rocking();
  score.chord("C3 E3 G3", {}, quarters(3)).tune("E5 G5", quarters(1), quarters(7));
  bypass(score, true, 2.51);
  score.chord("F3 A3 C4", quarters(4), quarters(7));
  bypass(score, false, 5.3);
  const auto whole = render(score, quarters(9));
  for (const std::int64_t size : {1, 7, 64, 511})
    CHECK(firstDifference(whole, render(score, quarters(9), {{size}, {}}), score) == "");
}

TEST_CASE("A chord whose note-offs the loop has swallowed does not blur into the next one", "[engine][loop]") {
  auto score = rocking();
  score.message({0x90, 43, 70}, quarters(2));  // G B F, held over the loop's end: no note-off comes
  score.message({0x90, 47, 70}, quarters(2)).message({0x90, 53, 70}, quarters(2));
  score.jump(score.sampleOf(quarters(4)), quarters(0));
  score.chord("C3 E3 G3", quarters(0), quarters(2));
  const auto r = renderInBlocks(score.inputs(), {}, rate, Samples{48000 * 3}, true);
  std::optional<Chord> last;
  for (const auto& f : r.facts)
    if (f.fact.kind == FactKind::chord && f.chord) last = f.chord;
  REQUIRE(last);
  CHECK(last->held.bits == 0b000010010001);  // C E G and nothing else
}

TEST_CASE("A hand that holds on over the loop's end is believed", "[engine][loop]") {
  auto score = rocking();
  for (const int k : {48, 52, 55}) score.message({0x90, static_cast<std::uint8_t>(k), 70}, quarters(2));
  score.jump(score.sampleOf(quarters(4)), quarters(0));
  const Samples later = score.sampleOf(quarters(1));
  score.message({0x80, 52, 64}, later).message({0x80, 55, 64}, later);  // E and G go up, C stays
  score.message({0x90, 53, 70}, later + Samples{400}).message({0x90, 57, 70}, later + Samples{500});
  const auto r = renderInBlocks(score.inputs(), {}, rate, Samples{48000 * 4}, true);
  CHECK(!attacks(r, quarters(0), quarters(1)).empty());  // the chord goes on after the jump
  std::optional<Chord> last;
  for (const auto& f : r.facts)
    if (f.fact.kind == FactKind::chord && f.chord) last = f.chord;
  REQUIRE(last);
  CHECK(last->held.bits == ((1u << 0) | (1u << 5) | (1u << 9)));  // C F A: the common tone counts
}

TEST_CASE("The passes of a host's loop are alike, however often it goes round", "[engine][loop]") {
  constexpr int passes = 7, beats = 8;
  Score score(rate, {4, 4}, 120);
  score.with(idiom("walking-bass")).tune("C7", {}, quarters(0.1));  // a bass that leads to what it expects
  const Samples length = score.sampleOf(quarters(beats));
  for (int pass = 0; pass < passes; ++pass) {
    if (pass > 0) score.jump(Samples{length.value * pass}, quarters(0));
    score.chord("C3 E3 G3", quarters(0), quarters(3.9)).chord("B2 F3 G3", quarters(4), quarters(7.9));
  }
  const auto r = renderInBlocks(score.inputs(), {}, rate, Samples{length.value * passes}, false);
  std::vector<std::string> heard(passes);
  for (const auto& e : strikes(r))
    heard[static_cast<std::size_t>(e.sample.value / length.value)] +=
        std::to_string(e.sample.value % length.value) + ":" + std::to_string(e.note().value) + " ";
  REQUIRE(!heard[1].empty());
  for (int pass = 2; pass < passes; ++pass) CHECK(heard[static_cast<std::size_t>(pass)] == heard[1]);
}
