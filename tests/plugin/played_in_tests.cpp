// What the audio thread tells of a figure that is played in, as the take that is read. Common practice, no source.
#include <cmath>

#include "dsp/notate/notate.h"
#include "plugin/played_in.h"
#include "tests/catch.h"

using namespace seguente;

namespace {

constexpr double rate = 48000;
constexpr std::int64_t quarterFrames = 30000;  // 96 to the minute

/// A player, and the audio thread that tells of it: time at each half second and where it jumps.
struct Player {
  PlayedIn in;
  std::int64_t frame = 0;
  double quarters = 0;  // where the host stands
  bool plays = true;
  Meter meter{4, 4};

  explicit Player(KeySet held = {}, double from = 0, bool runs = true) : in(rate, held), quarters(from), plays(runs) {
    tell();
  }
  void tell() {
    const double bar = 4.0 * meter.numerator / meter.denominator;
    const Ticks tick{static_cast<std::int64_t>(quarters * static_cast<double>(quarter.value))};
    const Ticks barStart{static_cast<std::int64_t>(std::floor(quarters / bar) * bar) * quarter.value};
    in.hear({.frame = frame, .from = TakenFrom::time, .time = {tick, barStart, meter, 96, plays}});
  }
  void go(double beats) {
    frame += static_cast<std::int64_t>(beats * quarterFrames);
    if (plays) quarters += beats;
    tell();
  }
  void send(int status, int key, int value) {
    in.hear({.frame = frame,
             .played = {.bytes = {static_cast<std::uint8_t>(status), static_cast<std::uint8_t>(key),
                                  static_cast<std::uint8_t>(value)}}});
  }
  /// Struck, held for most of the beat, let go, and the rest of the beat.
  void strike(std::initializer_list<int> keys, double beats = 1) {
    for (const int key : keys) send(0x90, key, 70);
    go(beats * 0.8);
    for (const int key : keys) send(0x80, key, 0);
    go(beats * 0.2);
  }
  void march(int bars) {
    for (int i = 0; i < bars; ++i) strike({36}), strike({52, 55}), strike({43}), strike({52, 55});
  }
};

KeySet chord() {
  KeySet keys;
  for (const int key : {72, 76, 79}) keys.add({static_cast<std::uint8_t>(key)});
  return keys;
}

}  // namespace

TEST_CASE("A march over a held chord is read at the host's tempo, wherever in the piece it was played", "[own]") {
  for (const double from : {0.0, 64.0, 66.0}) {
    INFO("from quarter " << from);
    Player player(chord(), from);
    if (from == 66) player.go(2);  // one waits for the bar line
    player.march(3);
    const auto read = notate::notate(player.in.take(true), {});
    CHECK(read.fault.empty());
    CHECK(read.quartersPerMinute == Approx(96));
    CHECK(read.bars == 1);
    REQUIRE(read.statement.size() == 4);
    CHECK(read.statement[0].at == Ticks{0});
    CHECK(read.statement[0].play == "1");
    CHECK(read.statement[2].play == "5");
    CHECK(player.in.bars() == 4);  // the fourth has just begun
  }
}

TEST_CASE("A host that goes back by a loop keeps the place in the bar: what was played goes on", "[own]") {
  Player player(chord(), 0);
  player.march(2);
  player.quarters = 0;
  player.tell();
  player.march(2);
  const auto take = player.in.take(true);
  const auto read = notate::notate(take, {});
  CHECK(read.fault.empty());
  CHECK(read.barsPlayed == 4);
  CHECK(read.statement.size() == 4);
}

TEST_CASE("Where time stands the beat is found in the playing itself", "[own]") {
  Player player(chord(), 0, false);
  player.march(4);
  const auto take = player.in.take(true);
  CHECK(take.quarterSeconds == 0);
  CHECK(player.in.bars() == 0);
  notate::Wishes wishes;
  wishes.meter = Meter{4, 4};
  const auto read = notate::notate(take, wishes);
  CHECK(read.fault.empty());
  CHECK(read.quartersPerMinute == Approx(96).epsilon(0.02));
}

TEST_CASE("Own time that begins with the first stroke counts that stroke as the first beat", "[own]") {
  Player player(chord(), 0, false);
  player.go(3);
  player.send(0x90, 36, 70);  // time begins here, and is told a block later
  player.plays = true;
  player.go(0.02);
  player.go(0.78);
  player.send(0x80, 36, 0);
  player.go(0.2);
  player.strike({52, 55}), player.strike({43}), player.strike({52, 55});
  player.march(2);
  const auto read = notate::notate(player.in.take(true), {});
  CHECK(read.fault.empty());
  REQUIRE(read.statement.size() == 4);
  CHECK(read.statement[0].at == Ticks{0});
  CHECK(read.statement[0].play == "1");
}

TEST_CASE("A bar that is broken off when it is said to be enough is left out; one that lacks its last beat is not",
          "[own]") {
  Player player(chord(), 0);
  player.march(2);
  player.strike({36});
  player.strike({52, 55});
  auto read = notate::notate(player.in.take(true), {});
  CHECK(read.fault.empty());
  CHECK(read.bars == 1);
  CHECK(read.barsPlayed == 2);
  player.strike({43});
  read = notate::notate(player.in.take(true), {});
  CHECK(read.barsPlayed == 3);
}

TEST_CASE("Nothing but the chord that was held is no figure", "[own]") {
  Player player(chord(), 0);
  player.go(8);
  CHECK_FALSE(player.in.hasNotes());
  const auto read = notate::notate(player.in.take(true), {});
  CHECK(read.unread != notate::Unread::no);
}
