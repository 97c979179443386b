// On the beat, at every rate; what ours do when the transport stops, jumps or changes.
#include "tests/catch.h"
#include "tests/support/contracts.h"
#include "tests/support/music.h"

using namespace seguente;
using namespace seguente::test;

namespace {

/// Two bars of C, two of F, one of G7, one of C, in a beginner's shapes, exactly on the bar lines.
Score onTheGrid(double rate, Meter meter, double tempo, const std::string& id) {
  Score score(rate, meter, tempo);
  score.with(idiom(id));
  const auto bar = meter.bar();
  const char* shapes[] = {"C3 E3 G3", "C3 E3 G3", "C3 F3 A3", "C3 F3 A3", "B2 F3 G3", "C3 E3 G3"};
  for (int i = 0; i < 6; ++i) score.chord(shapes[i], bar * i, bar * (i + 1));
  for (int i = 0; i < 6; ++i) score.tune("C5", bar * i + meter.beat(), bar * (i + 1));
  return score;
}

bool soundsAt(const Rendering& r, Samples sample) {
  for (const auto& e : strikes(r))
    if (e.sample <= sample && endOf(r, e.noteId) > sample) return true;
  return false;
}

}  // namespace

TEST_CASE("A note sounds on its step's own sample wherever the chord was known before", "[engine][beat]") {
  for (const auto& id : idiomIds())
    for (const double tempo : {60.0, 97.0, 120.0, 173.3})
      for (const Meter meter : {Meter{4, 4}, Meter{3, 4}, Meter{6, 8}}) {
        const auto score = onTheGrid(48000, meter, tempo, id);
        const auto r = render(score, meter.bar() * 6);
        INFO(id << " at " << tempo << " in " << int(meter.numerator) << "/" << int(meter.denominator));
        REQUIRE(strikes(r).size() > 5);
        for (const auto& e : strikes(r)) {
          CHECK(e.sample == score.sampleOf(e.tick));  // the score's own slow map
          CHECK(e.reason.cause == DelayCause::none);
        }
      }
}

TEST_CASE("On the grid 44.1, 48, 96 and 192 kHz agree within a sample", "[engine][rates]") {
  for (const auto& id : idiomIds()) {
    const Meter meter{4, 4};
    const auto reference = strikes(render(onTheGrid(48000, meter, 113, id), meter.bar() * 6));
    for (const double rate : {44100.0, 96000.0, 192000.0}) {
      const auto score = onTheGrid(rate, meter, 113, id);
      const auto other = strikes(render(score, meter.bar() * 6));
      INFO(id << " at " << rate);
      REQUIRE(other.size() == reference.size());
      for (std::size_t i = 0; i < other.size(); ++i) {
        const auto moved = static_cast<double>(reference[i].sample.value) * rate / 48000;
        CHECK(std::abs(static_cast<double>(other[i].sample.value) - moved) <= std::max(1.0, rate / 48000));
        CHECK(other[i].bytes == reference[i].bytes);
        CHECK(other[i].tick == reference[i].tick);
      }
    }
  }
}

TEST_CASE("When the transport stops and no key is held, nothing of ours sounds on", "[engine][transport]") {
  for (const auto& id : idiomIds()) {
    Score score(48000, {4, 4}, 120);
    score.with(idiom(id)).chord("C3 E3 G3", {}, quarters(2.9)).stop(quarters(3.1));
    const auto r = render(score, quarters(3.1) + quarters(8));
    const auto stop = score.stretches().back().sample;
    INFO(id);
    bool sounded = false;  // within the last two beats: short strokes leave gaps
    for (int n = 1; n <= 48; ++n) sounded = sounded || soundsAt(r, stop - Samples{1000 * n});
    CHECK(sounded);
    for (const auto& e : strikes(r)) CHECK(endOf(r, e.noteId) <= stop);
  }
}

TEST_CASE("A jump back ends every note of ours at its own sample and the figure goes on at the new place",
          "[engine][transport]") {
  for (const auto& id : idiomIds()) {
    Score score(48000, {4, 4}, 120);
    score.with(idiom(id)).chord("C3 E3 G3", {}, quarters(30));
    const Samples when = score.sampleOf(quarters(9.3));
    score.jump(when, quarters(4));
    const auto inputs = score.inputs();
    const auto r = renderInBlocks(inputs, {{512}, {}}, 48000, when + Samples{96000});
    INFO(id);
    CHECK(brokenContract(r, inputs) == "");
    for (const auto& e : strikes(r))
      if (e.sample < when) CHECK(endOf(r, e.noteId) <= when);
    bool again = false;
    for (const auto& e : strikes(r)) again = again || e.sample >= when;
    CHECK(again);
  }
}

TEST_CASE("A tempo of NaN changes nothing", "[engine][transport][hostile]") {
  const auto plain = onTheGrid(48000, {3, 4}, 100, "waltz");
  auto bad = plain;
  TimeAnchor nan;
  nan.tick = plain.tickAt(Samples{50000});
  nan.meter = {3, 4};
  nan.quartersPerMinute = std::nan("");
  bad.anchor(Samples{50000}, nan);
  const auto a = strikes(render(plain, quarters(18)));
  const auto b = strikes(render(bad, quarters(18)));
  REQUIRE(a.size() == b.size());
  for (std::size_t i = 0; i < a.size(); ++i) {
    CHECK(a[i].bytes == b[i].bytes);
    CHECK(a[i].sample == b[i].sample);
  }
}

TEST_CASE("With the transport stopped the chord sounds as it is held, for as long as it is held",
          "[engine][transport]") {
  Score score(48000, {4, 4}, 120);
  score.with(idiom("waltz")).stop({});
  const Samples down{20000}, up{60000};
  for (const auto k : std::vector<std::uint8_t>{48, 52, 55}) {
    score.message({0x90, k, 80}, down);
    score.message({0x80, k, 64}, up);
  }
  const auto inputs = score.inputs();
  const auto r = renderInBlocks(inputs, {{512}, {}}, 48000, Samples{96000});
  CHECK(brokenContract(r, inputs) == "");
  REQUIRE(strikes(r).size() == 3);
  for (const auto& e : strikes(r)) {
    CHECK(e.sample == down);
    CHECK(endOf(r, e.noteId) == up);
    CHECK(e.reason.reason == Reason::asHeld);
  }
}

TEST_CASE("A change of tempo moves the steps that follow and loses none", "[engine][transport]") {
  Score score(48000, {3, 4}, 90);
  score.with(idiom("waltz")).chord("C3 E3 G3", {}, quarters(24)).tempo(140, quarters(7.4));
  const auto r = render(score, quarters(18));
  const auto all = strikes(r);
  REQUIRE(all.size() > 12);
  for (const auto& e : all) CHECK(e.sample == score.sampleOf(e.tick));
  CHECK(attacks(r, quarters(3), quarters(6)) != "");
  CHECK(attacks(r, quarters(9), quarters(12)) != "");
}
