// Every note of ours ends once; the tune's keys are the tune's.
#include <array>
#include <cstdint>
#include <utility>
#include <vector>

#include "dsp/ledger.h"
#include "tests/catch.h"

using namespace seguente;

namespace {
struct Heard {
  std::vector<Output> events;
  Sink sink() {
    return {this, [](void* self, const Output& o) { static_cast<Heard*>(self)->events.push_back(o); }, nullptr};
  }
};

Clock runningClock() {
  Clock clock;
  clock.reset(48000);
  clock.anchor(TimeAnchor{}, {});
  return clock;
}

Strike strikeOf(int key, Ticks off, int channel = 1) {
  Strike s;
  s.channel = static_cast<std::uint8_t>(channel);
  s.note = {static_cast<std::uint8_t>(key)};
  s.velocity = {80};
  s.off = off;
  return s;
}
}  // namespace

TEST_CASE("a note ends at its tick, once", "[ledger]") {
  Heard heard;
  Ledger ledger;
  const Clock clock = runningClock();
  ledger.strike(strikeOf(60, quarter), clock, {0}, heard.sink());
  ledger.sendStaged({0}, heard.sink());
  CHECK(ledger.nextOff() == Samples{24000});
  ledger.releaseDue({23999}, heard.sink());
  CHECK(heard.events.size() == 1);
  ledger.releaseDue({24000}, heard.sink());
  ledger.releaseDue({30000}, heard.sink());
  REQUIRE(heard.events.size() == 2);
  CHECK(heard.events[1].kind == OutputKind::noteOff);
  CHECK(heard.events[1].noteId == heard.events[0].noteId);
}

TEST_CASE("a note struck and taken back in one moment is never sent", "[ledger]") {
  Heard heard;
  Ledger ledger;
  const Clock clock = runningClock();
  ledger.strike(strikeOf(60, quarter), clock, {0}, heard.sink());
  ledger.releaseAll({0}, heard.sink());
  ledger.sendStaged({0}, heard.sink());
  CHECK(heard.events.empty());
}

TEST_CASE("a key that the tune holds on our channel is not struck; on another channel it is", "[ledger]") {
  Heard heard;
  Ledger ledger;
  const Clock clock = runningClock();
  ledger.tuneDown(1, {60}, {0}, heard.sink());
  CHECK(ledger.strike(strikeOf(60, quarter, 1), clock, {0}, heard.sink()) == 0);
  CHECK(ledger.strike(strikeOf(60, quarter, 2), clock, {0}, heard.sink()) != 0);
}

TEST_CASE("when the tune strikes a key of ours, ours goes off first and does not return", "[ledger]") {
  Heard heard;
  Ledger ledger;
  const Clock clock = runningClock();
  ledger.strike(strikeOf(60, quarter), clock, {0}, heard.sink());
  ledger.sendStaged({0}, heard.sink());
  ledger.tuneDown(1, {60}, {100}, heard.sink());
  REQUIRE(heard.events.size() == 2);
  CHECK(heard.events[1].kind == OutputKind::noteOff);
  ledger.releaseDue({24000}, heard.sink());
  CHECK(heard.events.size() == 2);
}

TEST_CASE("when there is no room the new note is refused and every old one still ends", "[ledger]") {
  Heard heard;
  Ledger ledger;
  const Clock clock = runningClock();
  for (int k = 0; k < 100; ++k) ledger.strike(strikeOf(k, quarter), clock, {0}, heard.sink());
  ledger.sendStaged({0}, heard.sink());
  CHECK(heard.events.size() == limits::soundingNotes);
  ledger.releaseAll({5}, heard.sink());
  CHECK(heard.events.size() == 2 * limits::soundingNotes);
  CHECK(ledger.sounding() == 0);
}

TEST_CASE("another tempo moves the end of what sounds", "[ledger]") {
  Heard heard;
  Ledger ledger;
  Clock clock = runningClock();
  ledger.strike(strikeOf(60, quarter), clock, {0}, heard.sink());
  TimeAnchor slower;
  slower.quartersPerMinute = 60;
  slower.tick = clock.tickAt({12000});
  clock.anchor(slower, {12000});
  ledger.placeAnew(clock);
  CHECK(ledger.nextOff() == Samples{36000});
}

TEST_CASE("a part's pedal goes down once, and comes up when the notes are let go", "[ledger]") {
  // CC 64: 64 and more is on, less is off (MIDI 1.0).
  Heard heard;
  Ledger ledger;
  ledger.pressPedal(2, {0}, heard.sink());
  ledger.pressPedal(2, {10}, heard.sink());
  ledger.releaseAll({20}, heard.sink());
  ledger.releaseAll({30}, heard.sink());
  REQUIRE(heard.events.size() == 2);
  CHECK(heard.events[0].bytes == std::array<std::uint8_t, 3>{0xB2, 64, 127});
  CHECK(heard.events[1].bytes == std::array<std::uint8_t, 3>{0xB2, 64, 0});
}

TEST_CASE("the keys of one step leave together, each with its own degree; one that the tune holds is left out",
          "[ledger]") {
  Heard heard;
  Ledger ledger;
  const Clock clock = runningClock();
  ledger.tuneDown(1, {64}, {0}, heard.sink());
  Attack& attack = ledger.newAttack();
  attack.each = strikeOf(0, quarter);
  for (const auto& [key, number] : {std::pair{60, 1}, {64, 3}, {67, 5}})
    attack.keys.add({static_cast<std::uint8_t>(key)}, {static_cast<std::uint8_t>(number), 0});
  ledger.strike(attack, clock, {0}, heard.sink());
  std::vector<int> degrees;  // a reason lives for the length of the call
  Sink sink = heard.sink();
  struct Degrees {
    Heard& heard;
    std::vector<int>& numbers;
  } both{heard, degrees};
  sink.context = &both;
  sink.midi = [](void* self, const Output& o) {
    static_cast<Degrees*>(self)->heard.events.push_back(o);
    static_cast<Degrees*>(self)->numbers.push_back(o.reason->degree.number);
  };
  ledger.sendStaged({0}, sink);
  REQUIRE(heard.events.size() == 2);
  CHECK(heard.events[0].bytes == std::array<std::uint8_t, 3>{0x91, 60, 80});
  CHECK(heard.events[1].bytes == std::array<std::uint8_t, 3>{0x91, 67, 80});
  CHECK(heard.events[0].noteId != heard.events[1].noteId);
  CHECK(degrees == std::vector<int>{1, 5});
}

TEST_CASE("steps struck and taken back over and over in one moment leave no trace and no lack of room", "[ledger]") {
  Heard heard;
  Ledger ledger;
  const Clock clock = runningClock();
  for (int i = 0; i < 300; ++i) {
    CHECK(ledger.strike(strikeOf(40 + i % 3, quarter), clock, {0}, heard.sink()) != 0);
    ledger.releaseAll({0}, heard.sink());
  }
  const auto last = ledger.strike(strikeOf(60, quarter), clock, {0}, heard.sink());
  ledger.sendStaged({0}, heard.sink());
  REQUIRE(heard.events.size() == 1);
  CHECK(heard.events[0].noteId == last);
}

TEST_CASE("in a correction what is asked for again sounds on, and the rest ends", "[ledger]") {
  Heard heard;
  Ledger ledger;
  const Clock clock = runningClock();
  ledger.strike(strikeOf(40, quarter), clock, {0}, heard.sink());  // of the chord before
  const auto before = ledger.lastId();
  for (const int key : {44, 47, 51}) ledger.strike(strikeOf(key, quarter), clock, {0}, heard.sink());
  ledger.pressPedal(1, {0}, heard.sink());
  ledger.sendStaged({0}, heard.sink());
  heard.events.clear();

  CHECK(ledger.sounds({1u << 11}, before));       // the B, 47
  CHECK_FALSE(ledger.sounds({1u << 4}, before));  // the E is older
  ledger.beginCorrection(before, {500}, heard.sink());
  for (const int key : {44, 48, 51}) ledger.strike(strikeOf(key, quarter * 2), clock, {500}, heard.sink());
  ledger.pressPedal(1, {500}, heard.sink());
  CHECK(ledger.lowestSounding() == 44);
  ledger.endCorrection({500}, heard.sink());
  ledger.sendStaged({500}, heard.sink());
  std::vector<std::array<int, 2>> came;  // status, key
  for (const auto& e : heard.events) came.push_back({e.bytes[0], e.bytes[1]});
  // Ends first; a pedal that stayed down would keep what was wrong.
  CHECK(came == std::vector<std::array<int, 2>>{{0x81, 40}, {0x81, 47}, {0xB1, 64}, {0xB1, 64}, {0x91, 48}});
  CHECK(heard.events[2].bytes[2] == 0);
  CHECK(heard.events[3].bytes[2] == 127);
  CHECK(ledger.sounding() == 3);
  ledger.releaseDue({47999}, heard.sink());
  CHECK(ledger.sounding() == 3);  // each until where it is asked for now
  ledger.releaseDue({48000}, heard.sink());
  CHECK(ledger.sounding() == 0);
}
