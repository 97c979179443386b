// How a chord's fingers become one chord. The times of real hands: REFERENCES section 6 (Vienna 4x22, measured).
#include <vector>

#include "dsp/gather.h"
#include "tests/catch.h"

using namespace seguente;

namespace {
constexpr Samples window{2400};   // 50 ms at 48 kHz
constexpr Samples bridge{24000};  // 500 ms

/// A hand at a keyboard: presses, releases, and what was heard.
struct Hand {
  Gather gather;
  void down(int key, std::int64_t at) { gather.keyDown({static_cast<std::uint8_t>(key)}, {70}, {at}, window); }
  void up(int key, std::int64_t at) { gather.keyUp({static_cast<std::uint8_t>(key)}, {at}, bridge); }
  GatherEvent settle(std::int64_t at) { return gather.settle({at}); }
};

KeySet set(std::vector<int> keys) {
  KeySet s;
  for (const int k : keys) s.add({static_cast<std::uint8_t>(k)});
  return s;
}
}  // namespace

TEST_CASE("a whole triad is struck with its last finger, not a window later", "[gather]") {
  Hand hand;
  hand.down(48, 0);
  CHECK(hand.settle(0) == GatherEvent::nothing);
  hand.down(52, 300);
  CHECK(hand.settle(300) == GatherEvent::nothing);
  hand.down(55, 700);
  CHECK(hand.settle(700) == GatherEvent::struck);
  CHECK(hand.gather.keys() == set({48, 52, 55}));
  CHECK(hand.gather.firstFinger() == Samples{0});
  CHECK(hand.settle(window.value) == GatherEvent::closed);  // nothing joined: it is certain now
  CHECK(hand.settle(window.value + 1) == GatherEvent::nothing);
}

TEST_CASE("B-F-G is whole enough to be struck at once", "[gather]") {
  Hand hand;
  hand.down(47, 0);
  hand.down(53, 100);
  hand.down(55, 200);
  CHECK(hand.settle(200) == GatherEvent::struck);
}

TEST_CASE("two keys alone are struck when the window closes, and never later", "[gather]") {
  Hand hand;
  hand.down(48, 1000);
  hand.down(55, 1200);
  CHECK(hand.settle(1200) == GatherEvent::nothing);
  CHECK(hand.gather.deadline() == Samples{1000 + window.value});
  CHECK(hand.settle(3400) == GatherEvent::struck);
}

TEST_CASE("a seventh that joins within the window refines the chord and does not strike it again", "[gather]") {
  Hand hand;
  for (const int k : {48, 52, 55}) hand.down(k, 0);
  CHECK(hand.settle(0) == GatherEvent::struck);
  hand.down(58, 900);
  CHECK(hand.settle(900) == GatherEvent::refined);
  CHECK(hand.settle(2400) == GatherEvent::closed);
  CHECK(hand.gather.keys() == set({48, 52, 55, 58}));
}

TEST_CASE("a chord so short that it ends inside the window is still heard", "[gather]") {
  Hand hand;
  hand.down(48, 0);
  hand.down(55, 10);
  hand.up(48, 500);
  hand.up(55, 520);
  CHECK(hand.settle(2400) == GatherEvent::struck);
  CHECK(hand.gather.keys() == set({48, 55}));
}

TEST_CASE("a finger that drops out changes nothing", "[gather]") {
  Hand hand;
  for (const int k : {48, 52, 55}) hand.down(k, 0);
  hand.settle(0);
  hand.settle(2400);
  hand.up(52, 10000);
  CHECK(hand.settle(10000) == GatherEvent::nothing);
  CHECK(hand.gather.keys() == set({48, 52, 55}));
}

TEST_CASE("a common tone that is kept down does not hold the new chord up", "[gather]") {
  Hand hand;
  for (const int k : {48, 52, 55}) hand.down(k, 0);
  hand.settle(0);
  hand.settle(2400);
  hand.up(52, 9000);
  hand.up(55, 9100);
  hand.down(53, 10000);
  CHECK(hand.settle(10000) == GatherEvent::nothing);
  hand.down(57, 10300);
  CHECK(hand.settle(10300) == GatherEvent::struck);
  CHECK(hand.gather.keys() == set({48, 53, 57}));
}

TEST_CASE("keys of the old chord let go just after the new one are overlap and are taken out", "[gather]") {
  Hand hand;
  for (const int k : {48, 52, 55}) hand.down(k, 0);
  hand.settle(0);
  hand.settle(2400);
  hand.up(55, 9000);
  hand.down(53, 10000);
  hand.down(57, 10100);                              // C stays, E is late to leave
  CHECK(hand.settle(12400) == GatherEvent::struck);  // C E F A: what it was is seen when E goes
  hand.up(52, 13000);
  CHECK(hand.settle(13000) == GatherEvent::refined);
  CHECK(hand.gather.keys() == set({48, 53, 57}));
}

// Source: REFERENCES section 6, extra notes lie a semitone or two from a wanted key and last a median of 77 ms.
TEST_CASE("a neighbour that was brushed and let go while the chord stays is a slip and leaves the chord", "[gather]") {
  Hand hand;
  for (const int k : {48, 52, 55}) hand.down(k, 0);
  hand.down(53, 100);  // F beside E
  CHECK(hand.settle(2400) == GatherEvent::struck);
  hand.up(53, 4000);
  CHECK(hand.settle(4000) == GatherEvent::nothing);
  CHECK(hand.gather.deadline() == Samples{4000 + window.value});
  SECTION("the others stay") {
    CHECK(hand.settle(6400) == GatherEvent::refined);
    CHECK(hand.gather.keys() == set({48, 52, 55}));
  }
  SECTION("the whole chord was short") {
    for (const int k : {48, 52, 55}) hand.up(k, 5000);
    CHECK(hand.settle(6400) == GatherEvent::nothing);
    CHECK(hand.gather.keys() == set({48, 52, 53, 55}));
  }
}

TEST_CASE("B-F-G stays whole though the F is let go first: without it nothing whole is left", "[gather]") {
  Hand hand;
  for (const int k : {47, 53, 55}) hand.down(k, 0);
  hand.settle(0);
  hand.settle(2400);
  hand.up(53, 4000);
  hand.settle(6400);
  CHECK(hand.gather.keys() == set({47, 53, 55}));
}

TEST_CASE("what the sustain pedal holds is held: the chord outlives its keys until the pedal is up", "[gather]") {
  Hand hand;
  for (const int k : {48, 52, 55}) hand.down(k, 0);
  hand.settle(0);
  hand.settle(2400);
  hand.gather.pedal(true, {3000}, bridge);
  for (const int k : {48, 52, 55}) hand.up(k, 20000);
  CHECK(hand.gather.deadline() == never);
  hand.gather.pedal(false, {90000}, bridge);
  CHECK(hand.settle(90000 + bridge.value) == GatherEvent::gone);
}

TEST_CASE("under one pedal two chords do not become one", "[gather]") {
  Hand hand;
  hand.gather.pedal(true, {0}, bridge);
  for (const int k : {48, 52, 55}) hand.down(k, 100);
  hand.settle(100);
  hand.settle(2500);
  for (const int k : {48, 52, 55}) hand.up(k, 20000);
  for (const int k : {53, 57, 60}) hand.down(k, 30000);
  CHECK(hand.settle(30000) == GatherEvent::struck);
  CHECK(hand.gather.keys() == set({53, 57, 60}));
}

TEST_CASE("a key taken back leaves the chord, and alone it leaves no chord at all", "[gather]") {
  Hand hand;
  SECTION("with others") {
    for (const int k : {48, 52, 55, 64}) hand.down(k, 0);
    CHECK(hand.settle(0) == GatherEvent::struck);
    hand.gather.takeBack({64}, {1000}, bridge);
    CHECK(hand.settle(2400) == GatherEvent::refined);
    CHECK(hand.gather.keys() == set({48, 52, 55}));
  }
  SECTION("alone, before it was struck") {
    hand.down(64, 0);
    hand.gather.takeBack({64}, {1000}, bridge);
    CHECK(hand.settle(2400) != GatherEvent::struck);
    CHECK(hand.gather.keys().empty());
  }
}

TEST_CASE("a gap between two chords is bridged, a real lift is gone", "[gather]") {
  Hand hand;
  for (const int k : {48, 52, 55}) hand.down(k, 0);
  hand.settle(0);
  hand.settle(2400);
  for (const int k : {48, 52, 55}) hand.up(k, 20000);
  CHECK(hand.gather.deadline() == Samples{44000});
  SECTION("the next chord comes in time") {
    for (const int k : {53, 57, 60}) hand.down(k, 40000);
    CHECK(hand.settle(40000) == GatherEvent::struck);
    CHECK(hand.settle(44000) == GatherEvent::closed);
  }
  SECTION("nothing comes") {
    CHECK(hand.settle(44000) == GatherEvent::gone);
    CHECK(hand.gather.keys().empty());
    CHECK(hand.gather.deadline() == never);
  }
}

TEST_CASE("C-F#-A waits for the D of a seventh that may be on its way", "[gather]") {
  Hand hand;
  for (const int k : {48, 54, 57}) hand.down(k, 0);
  CHECK(hand.settle(0) == GatherEvent::nothing);
  hand.down(50, 500);
  CHECK(hand.settle(500) == GatherEvent::struck);
}

TEST_CASE("whole chords are the triads, the sevenths and their shells; a cluster is none", "[gather]") {
  CHECK(wholeChord(set({60, 64, 67}).pitchClasses()));
  CHECK(wholeChord(set({62, 65, 69, 72}).pitchClasses()));
  CHECK_FALSE(wholeChord(set({60, 61, 62}).pitchClasses()));
  CHECK_FALSE(wholeChord(set({60, 64}).pitchClasses()));
  CHECK_FALSE(wholeChord({}));
}
