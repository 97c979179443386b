// The fixed rules by which notes are told into hands (contract: a note-off goes where its note-on went).
#include "dsp/hand_judge.h"
#include "dsp/hands.h"
#include "tests/catch.h"

using namespace seguente;

namespace {
MidiMessage message(int status, int key, int velocity) {
  return {{static_cast<std::uint8_t>(status), static_cast<std::uint8_t>(key), static_cast<std::uint8_t>(velocity)}, 3};
}
}  // namespace

TEST_CASE("below the split is chord, at it and above is melody", "[hands]") {
  Hands hands;
  const Settings settings;
  CHECK(hands.noteOn(message(0x90, 59, 80), settings).verdict == Verdict::take);
  CHECK(hands.noteOn(message(0x90, 60, 80), settings).verdict == Verdict::pass);
}

TEST_CASE("a note-off goes where its note-on went, though the split was moved in between", "[hands]") {
  Hands hands;
  Settings settings;
  hands.noteOn(message(0x90, 59, 80), settings);
  settings.split = {48};
  CHECK(hands.noteOff(message(0x80, 59, 64)) == Verdict::take);
  CHECK(hands.noteOff(message(0x80, 59, 64)) == Verdict::pass);  // an orphan passes
}

TEST_CASE("a key struck twice with one note-off is up: nothing hangs on a host that loops", "[hands]") {
  Hands hands;
  const Settings settings;
  hands.noteOn(message(0x90, 48, 80), settings);
  hands.noteOn(message(0x90, 48, 80), settings);
  CHECK(hands.noteOff(message(0x80, 48, 64)) == Verdict::take);
  CHECK(hands.noteOff(message(0x80, 48, 64)) == Verdict::pass);
}

TEST_CASE("percussion on channel 10 belongs to no hand", "[hands]") {
  Hands hands;
  const auto judged = hands.noteOn(message(0x99, 40, 80), Settings{});
  CHECK(judged.verdict == Verdict::pass);
  CHECK_FALSE(judged.ours);
  CHECK(hands.melodyHeld().empty());
}

TEST_CASE("by channel, the chord hand may climb over the tune", "[hands]") {
  Hands hands;
  Settings settings;
  settings.handRule = HandRule::byChannel;
  settings.chordChannels = 2;
  settings.melodyChannels = 1;
  CHECK(hands.noteOn(message(0x91, 80, 80), settings).verdict == Verdict::take);
  CHECK(hands.noteOn(message(0x90, 40, 80), settings).verdict == Verdict::pass);
}

namespace {
/// Thinks at first that all is the tune's, and is sure of the opposite when asked again.
int changesItsMind(void*, const HandFeatures&, const HeardNote&, bool again) { return again ? -300 : 200; }

HeardNote noteAt(std::int64_t sample, std::uint8_t key) {
  HeardNote note;
  note.on = {sample * 10000 / 48000};
  note.at = {sample};
  note.key = key;
  return note;
}
}  // namespace

// REFERENCES section 6: fingers of a chord of three keys land within 41 ms in 95 of 100.
TEST_CASE("what was lent wrongly sounds no longer than a quarter of the window after the chord's last finger",
          "[hands]") {
  constexpr Samples window{2400};
  HandJudge judge({nullptr, changesItsMind});
  const auto land = [&](std::int64_t sample, std::uint8_t key) {
    judge.arrive(noteAt(sample, key));
    judge.judgeArrivals({}, 0xFFFF, window);
  };
  const auto ask = [&](Samples at) { return judge.lookAgain(at, {at.value * 10000 / 48000}, {}); };
  SECTION("others land: then, or when no finger has landed for a quarter of the window") {
    land(0, 64);
    land(480, 60);
    CHECK(judge.nextEnd() == Samples{480 + window.value / 4});
    const auto again = ask(judge.nextEnd());
    REQUIRE(again.size() == 1);  // nothing new is known of the other
    CHECK(again[0].note.key == 64);
    CHECK(again[0].was == Verdict::lend);
    CHECK(again[0].note.verdict == Verdict::take);
  }
  SECTION("it stays alone: after three quarters of the window") {
    land(0, 64);
    CHECK(judge.nextEnd() == Samples{3 * window.value / 4});
    CHECK(ask({3 * window.value / 4 - 1}).empty());
    CHECK(ask(judge.nextEnd()).size() == 1);
  }
  SECTION("taken at once: looked at again when the whole window is over") {
    judge.bounds.take = 250;
    land(0, 64);
    CHECK(judge.nextEnd() == window);
  }
}
