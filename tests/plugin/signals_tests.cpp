// Pedals and keys that give signals: learnt by pressing them, heard once a press, and taken with all that belongs to
// them.
#include <vector>

#include "plugin/signals.h"
#include "tests/catch.h"

using namespace seguente;

namespace {

MidiMessage message(int status, int first, int second) {
  return {{static_cast<std::uint8_t>(status), static_cast<std::uint8_t>(first), static_cast<std::uint8_t>(second)}, 3};
}
MidiMessage controller(int number, int value, int channel = 0) { return message(0xB0 + channel, number, value); }
MidiMessage down(int key, int channel = 0) { return message(0x90 + channel, key, 80); }
MidiMessage up(int key, int channel = 0) { return message(0x80 + channel, key, 64); }

constexpr Giver softPedal{GiverKind::controller, 0, 67};
constexpr Giver lowC{GiverKind::key, 0, 36};

struct Heard {
  bool taken;
  std::optional<Signal> signal;
  friend bool operator==(const Heard&, const Heard&) = default;
};
Heard hear(SignalMap& map, const MidiMessage& m) {
  const auto heard = map.hear(m);
  return {heard.taken, heard.signal};
}
const Heard passes{false, std::nullopt};
const Heard silent{true, std::nullopt};
Heard gives(Signal signal) { return {true, signal}; }

}  // namespace

TEST_CASE("A soft pedal that holds the figure gives its signal once a press, and never passes", "[plugin]") {
  SignalMap map;
  map.set(Signal::hold, softPedal);
  CHECK(hear(map, controller(67, 127)) == gives(Signal::hold));
  CHECK(hear(map, controller(67, 100)) == silent);  // a continuous pedal on its way
  CHECK(hear(map, controller(67, 30)) == silent);
  CHECK(hear(map, controller(67, 0)) == silent);
  CHECK(hear(map, controller(67, 64)) == gives(Signal::hold));
  CHECK(hear(map, controller(67, 63)) == silent);
  CHECK(hear(map, controller(67, 127, 1)) == passes);  // another channel is another pedal
  CHECK(hear(map, controller(66, 127)) == passes);
}

TEST_CASE("A key that gives a signal is silent with its note-off and pressure, and gives at every stroke", "[plugin]") {
  SignalMap map;
  map.set(Signal::end, lowC);
  CHECK(hear(map, down(36)) == gives(Signal::end));
  CHECK(hear(map, message(0xA0, 36, 50)) == silent);
  CHECK(hear(map, message(0x90, 36, 0)) == silent);  // a note-off as many keyboards send it
  CHECK(hear(map, message(0xA0, 36, 50)) == passes);
  CHECK(hear(map, down(36)) == gives(Signal::end));
  CHECK(hear(map, down(36)) == gives(Signal::end));
  CHECK(hear(map, up(36)) == silent);
  CHECK(hear(map, up(36)) == passes);  // an orphan is nobody's
  CHECK(hear(map, down(48)) == passes);
  CHECK(hear(map, up(48)) == passes);
}

TEST_CASE("The next pedal or key that is pressed is learnt, and does not give its signal yet", "[plugin]") {
  SignalMap map;
  map.learn(Signal::next);
  CHECK(map.learning() == Signal::next);
  CHECK(hear(map, controller(67, 20)) == passes);  // not pressed
  CHECK(hear(map, up(60)) == passes);
  CHECK(hear(map, controller(67, 90)) == silent);
  CHECK_FALSE(map.learning().has_value());
  CHECK(map.get(Signal::next) == softPedal);
  CHECK(hear(map, controller(67, 0)) == silent);
  CHECK(hear(map, controller(67, 90)) == gives(Signal::next));
  map.learn(Signal::end);
  CHECK(hear(map, down(36)) == silent);
  CHECK(hear(map, up(36)) == silent);
  CHECK(hear(map, down(36)) == gives(Signal::end));
}

TEST_CASE("Learning can be given up", "[plugin]") {
  SignalMap map;
  map.learn(Signal::next);
  map.learn(std::nullopt);
  CHECK(hear(map, down(36)) == passes);
  CHECK(map.get(Signal::next) == Giver{});
}

TEST_CASE("MIDI's own orders and what has neither key nor controller cannot be learnt", "[plugin]") {
  SignalMap map;
  map.learn(Signal::hold);
  for (int number = 120; number < 128; ++number) CHECK(hear(map, controller(number, 127)) == passes);
  CHECK(hear(map, message(0xA0, 36, 127)) == passes);  // pressure
  CHECK(hear(map, message(0xE0, 0, 127)) == passes);   // pitch bend
  CHECK(hear(map, {{0xC0, 5, 0}, 2}) == passes);       // program change
  CHECK(hear(map, {{0xF8, 0, 0}, 1}) == passes);       // timing clock
  CHECK(hear(map, {{0xF0, 0x7E, 0x7F}, 6}) == passes);
  CHECK(hear(map, {{0x90, 36, 0}, 2}) == passes);  // cut short
  CHECK(hear(map, {}) == passes);
  CHECK(map.learning() == Signal::hold);
  CHECK(map.get(Signal::hold) == Giver{});
  map.set(Signal::hold, {GiverKind::controller, 0, 123});
  CHECK(map.get(Signal::hold) == Giver{});
}

TEST_CASE("A pedal serves one signal: the newest", "[plugin]") {
  SignalMap map;
  map.set(Signal::hold, softPedal);
  map.set(Signal::goOn, softPedal);
  CHECK(map.get(Signal::hold) == Giver{});
  CHECK(map.get(Signal::goOn) == softPedal);
  map.learn(Signal::end);
  hear(map, controller(67, 127));
  CHECK(map.get(Signal::goOn) == Giver{});
  CHECK(map.get(Signal::end) == softPedal);
  hear(map, controller(67, 0));
  CHECK(hear(map, controller(67, 127)) == gives(Signal::end));
}

TEST_CASE("A sustain pedal passes until somebody chooses it, and its open press is closed where it was heard",
          "[plugin]") {
  SignalMap map;
  map.set(Signal::hold, softPedal);
  CHECK(hear(map, controller(64, 127)) == passes);
  map.learn(Signal::silenceAll);
  CHECK(hear(map, controller(64, 100)) == silent);
  CHECK(map.get(Signal::silenceAll) == Giver{GiverKind::controller, 0, 64});
  CHECK(hear(map, controller(64, 0)) == passes);  // the synthesiser still holds the pedal that came before
  CHECK(hear(map, controller(64, 127)) == gives(Signal::silenceAll));
  CHECK(hear(map, controller(64, 0)) == silent);
}

TEST_CASE("A key that sounds when it is chosen ends where it is heard; one that is set free ends silently",
          "[plugin]") {
  SignalMap map;
  CHECK(hear(map, down(36)) == passes);
  map.set(Signal::hold, lowC);
  CHECK(hear(map, up(36)) == passes);
  CHECK(hear(map, down(36)) == gives(Signal::hold));
  map.set(Signal::hold, {});
  CHECK(hear(map, up(36)) == silent);
  CHECK(hear(map, down(36)) == passes);
  CHECK(hear(map, up(36)) == passes);
}

TEST_CASE("After the host has prepared anew nothing counts as pressed", "[plugin]") {
  SignalMap map;
  map.set(Signal::hold, softPedal);
  hear(map, controller(67, 127));
  map.forget();
  CHECK(hear(map, controller(67, 127)) == gives(Signal::hold));
}

TEST_CASE("A giver is written as a musician reads it, and read back", "[plugin]") {
  CHECK(textOf(softPedal) == "controller 67, channel 1");
  CHECK(textOf(lowC) == "key C2, channel 1");
  CHECK(textOf(Giver{}) == "nothing");
  CHECK(giverFrom("Key Bb1, Channel 16") == Giver{GiverKind::key, 15, 34});
  for (int channel = 0; channel < 16; ++channel)
    for (int number = 0; number < 128; ++number)
      for (const auto kind : {GiverKind::controller, GiverKind::key}) {
        const Giver giver{kind, static_cast<std::uint8_t>(channel), static_cast<std::uint8_t>(number)};
        if (canGive(giver)) CHECK(giverFrom(textOf(giver)) == giver);
      }
  for (const char* nothing :
       {"", "key", "key C2", "controller 120, channel 1", "controller 1, channel 0", "controller 1, channel 17",
        "controller 1.5, channel 1", "key H2, channel 1", "pedal 67, channel 1", "keyC2, channel 1", "key C2, channel",
        ",", "controller -1, channel 1"})
    CHECK_FALSE(giverFrom(nothing).has_value());
}

TEST_CASE("The signals' names in a session are kept for ever", "[plugin]") {
  const std::vector<std::string> ids{"hold",        "go-on", "end",        "next", "previous",
                                     "silence-all", "round", "turnaround", "tag"};
  REQUIRE(ids.size() == signalCount);
  for (std::size_t i = 0; i < signalCount; ++i) CHECK(idOf(static_cast<Signal>(i)) == ids[i]);
  CHECK(std::string(nameOf(Signal::goOn)) == "Go on");
}
