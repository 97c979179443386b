#include "plugin/commandline/tempo_map.h"
#include "tests/catch.h"
#include "tests/commandline/midi_builder.h"

using namespace seguente;
using namespace seguente::test;

namespace {

MidiFile fileWith(int resolution, const TrackBuilder& track) {
  return parseMidi(midiFile(0, resolution, {track.chunk()})).value;
}

Bytes tempoEvent(std::uint32_t us) {
  return {0xFF,
          0x51,
          3,
          static_cast<std::uint8_t>(us >> 16),
          static_cast<std::uint8_t>(us >> 8),
          static_cast<std::uint8_t>(us)};
}

TempoMap mapOf(const MidiFile& file, const TimeWishes& wishes = {}, std::int64_t rate = 48000) {
  auto map = TempoMap::of(file, wishes, rate);
  REQUIRE(map.good());
  return map.value;
}

}  // namespace

TEST_CASE("without a tempo a quarter lasts half a second, and the meter is four quarters", "[commandline]") {
  const auto map = mapOf(fileWith(480, TrackBuilder().event(960, {0x90, 60, 1})));  // SMF 1.1's defaults
  CHECK(map.sampleOf(480) == Samples{24000});
  CHECK(map.meterAt({}) == Meter{4, 4});
}

TEST_CASE("file ticks go to engine ticks and back without loss at every usual resolution", "[commandline]") {
  for (const int resolution : {24, 25, 96, 120, 192, 240, 384, 480, 600, 960, 1000, 1024, 15360, 32767}) {
    const auto map = mapOf(fileWith(resolution, TrackBuilder()));
    for (const std::int64_t tick : {0, 1, 7, resolution, resolution * 3 + 1, resolution * 1000 - 1}) {
      INFO(resolution << " a quarter, tick " << tick);
      CHECK(map.fileTick(map.engineTick(tick)) == tick);
    }
    CHECK(map.engineTick(resolution) == quarter);
  }
}

TEST_CASE("an engine tick between two file ticks goes to the nearer one, halves up", "[commandline]") {
  const auto map = mapOf(fileWith(25, TrackBuilder()));
  const std::int64_t one = quarter.value / 25;  // 12902.4: a file tick is not whole here
  CHECK(map.fileTick({one / 2 - 1}) == 0);
  CHECK(map.fileTick({one / 2 + 1}) == 1);
  const auto even = mapOf(fileWith(2, TrackBuilder()));
  CHECK(even.fileTick({quarter.value / 4}) == 1);
  CHECK(even.fileTick({quarter.value / 4 - 1}) == 0);
}

TEST_CASE("a thousand tempo changes add up to no error", "[commandline]") {
  TrackBuilder track;
  std::vector<std::int64_t> microticks;  // the slow, obvious sum: ticks x microseconds, divided once at the end
  std::int64_t sum = 0;
  std::uint32_t us = 500000;
  for (std::uint32_t i = 0; i < 1000; ++i) {
    const std::uint32_t next = 400000 + (i * 7919) % 200000;
    track.event(i * 37, tempoEvent(next));
    if (i > 0) sum += 37 * static_cast<std::int64_t>(us);
    microticks.push_back(sum);
    us = next;
  }
  const auto map = mapOf(fileWith(480, track), {}, 44100);
  REQUIRE(map.points().size() == 1000);
  for (std::int64_t i = 0; i < 1000; ++i) {
    const double exact = static_cast<double>(microticks[static_cast<std::size_t>(i)]) * 44100.0 / (480.0 * 1e6);
    INFO("change " << i);
    CHECK(std::abs(static_cast<double>(map.sampleOf(i * 37).value) - exact) <= 0.5);
  }
}

TEST_CASE("samples never run backwards over a tempo change", "[commandline]") {
  TrackBuilder track;
  for (std::uint32_t i = 1; i < 400; ++i) track.event(i * 3, tempoEvent(100000 + (i * 7919) % 500000));
  for (const std::int64_t rate : {8000, 44100, 192000}) {
    const auto map = mapOf(fileWith(15360, track), {}, rate);
    for (std::int64_t t = 1; t < 1300; ++t) CHECK(map.sampleOf(t - 1) <= map.sampleOf(t));
  }
}

TEST_CASE("a tempo that no music has is passed over", "[commandline]") {
  const auto map = mapOf(
      fileWith(480, TrackBuilder().event(0, tempoEvent(0)).event(480, tempoEvent(0xFFFFFF)).event(960, {0x90, 60, 1})));
  CHECK(map.points().size() == 1);
  CHECK(map.sampleOf(960) == Samples{48000});
}

TEST_CASE("a change of meter is a bar line", "[commandline]") {
  const auto map = mapOf(fileWith(4, TrackBuilder()
                                         .event(0, {0xFF, 0x58, 4, 4, 2, 24, 8})
                                         .event(16, {0xFF, 0x58, 4, 6, 3, 36, 8})     // 6/8 from bar 2
                                         .event(22, {0xFF, 0x58, 4, 3, 2, 24, 8})));  // and 3/4 inside that bar
  const auto bars = map.bars(quarter * 9);
  REQUIRE(bars.size() == 4);
  CHECK(bars[1].start == quarter * 4);
  CHECK(bars[1].meter == Meter{6, 8});
  CHECK(bars[2].start.value == quarter.value * 11 / 2);
  CHECK(bars[2].meter == Meter{3, 4});
  CHECK(bars[3].start - bars[2].start == quarter * 3);
}

TEST_CASE("a pickup moves the first bar line and nothing else", "[commandline]") {
  TimeWishes wishes;
  wishes.pickup = quarter;
  const auto map = mapOf(fileWith(480, TrackBuilder().event(0, {0xFF, 0x58, 4, 3, 2, 24, 8})), wishes);
  CHECK(map.points()[0].anchor.barStart == quarter);
  CHECK(map.points()[0].anchor.tick == Ticks{});
  CHECK(map.bars(quarter * 8)[1].start == quarter * 4);
}

TEST_CASE("a file of more than a day is refused", "[commandline]") {
  const auto map = TempoMap::of(fileWith(1, TrackBuilder().event(0x0FFFFFFF, {0x90, 60, 1})), {}, 48000);
  CHECK(map.fault == "lasts more than 24 hours");
}
