// Time: one map, one rounding, jumps told from strays. Sources: tick arithmetic is computed; tempo of "no tempo event =
// 120" SMF 1.1 (REFERENCES section 1).
#include <cmath>
#include <limits>

#include "dsp/clock.h"
#include "tests/catch.h"

using namespace seguente;

namespace {
TimeAnchor anchorAt(Ticks tick, double tempo, Meter meter = {4, 4}, Ticks barStart = {}) {
  TimeAnchor a;
  a.tick = tick;
  a.quartersPerMinute = tempo;
  a.meter = meter;
  a.barStart = barStart;
  return a;
}
}  // namespace

TEST_CASE("a quarter divides by every usual file resolution, and by 3, 5, 7 and 9", "[clock]") {
  for (const std::int64_t n : {3, 5, 7, 9, 24, 96, 120, 192, 240, 384, 480, 768, 960, 1024, 1920, 3840, 15360})
    CHECK(quarter.value % n == 0);
}

TEST_CASE("at 120 and 48 kHz a quarter is 24,000 samples, also below the origin", "[clock]") {
  Clock clock;
  clock.reset(48000);
  clock.anchor(anchorAt({}, 120), {});
  CHECK(clock.sampleOf(quarter) == Samples{24000});
  CHECK(clock.sampleOf(quarter * -3) == Samples{-72000});
  CHECK(clock.tickAt({24000}) == quarter);
}

TEST_CASE("a triplet falls on the nearest sample and three of them make a quarter", "[clock]") {
  Clock clock;
  clock.reset(44100);
  clock.anchor(anchorAt({}, 100), {});
  // 26,460 samples a quarter: 8,820 a triplet, exact.
  CHECK(clock.sampleOf({quarter.value / 3}) == Samples{8820});
  CHECK(clock.sampleOf({2 * quarter.value / 3}) == Samples{17640});
}

TEST_CASE("an hour of steady anchors moves nothing by a single sample", "[clock]") {
  Clock clock;
  clock.reset(48000);
  clock.anchor(anchorAt({}, 133), {});
  const Samples last = clock.sampleOf(quarter * 8000);
  for (std::int64_t block = 1; block < 2000; ++block) {
    const Samples at{block * 86400};
    CHECK(clock.anchor(anchorAt(clock.tickAt(at), 133), at) == ClockChange::nothing);
  }
  CHECK(clock.sampleOf(quarter * 8000) == last);
}

TEST_CASE("a stray of a few milliseconds moves the map, a leap of a beat is a jump", "[clock]") {
  Clock clock;
  clock.reset(48000);
  CHECK(clock.anchor(anchorAt({}, 120), {}) == ClockChange::started);
  const Ticks stray{clock.tickAt({24000}).value + clock.ticksFor(5).value};
  CHECK(clock.anchor(anchorAt(stray, 120), {24000}) == ClockChange::moved);
  CHECK(clock.anchor(anchorAt(clock.tickAt({48000}) + quarter, 120), {48000}) == ClockChange::jumped);
  CHECK(clock.anchor(anchorAt({}, 120), {72000}) == ClockChange::jumped);
}

TEST_CASE("a tempo that is no tempo is ignored", "[clock]") {
  Clock clock;
  clock.reset(48000);
  clock.anchor(anchorAt({}, 120), {});
  for (const double bad : {std::nan(""), std::numeric_limits<double>::infinity(), -1.0, 0.0, 1e9})
    clock.anchor(anchorAt({}, bad), {});
  CHECK(clock.sampleOf(quarter) == Samples{24000});
}

TEST_CASE("a bar is found from any bar line, before it as well as after", "[clock]") {
  Clock clock;
  clock.reset(48000);
  clock.anchor(anchorAt({}, 120, {3, 4}, quarter), {});  // a pickup of one quarter
  CHECK(clock.barAt({}) == Ticks{quarter.value * -2});
  CHECK(clock.barAt(quarter) == quarter);
  CHECK(clock.barAt(quarter * 3) == quarter);
  CHECK(clock.barAt(quarter * 4) == quarter * 4);
  CHECK(clock.beatAt({quarter.value + 5}) == quarter);
}
