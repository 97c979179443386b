// The fixed rules by which notes are told into hands (contract: a note-off goes where its note-on went).
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
