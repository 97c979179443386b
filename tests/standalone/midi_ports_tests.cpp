// Keyboards that come and go, made up: what is connected, what is let go of, and what a keyboard with a sound of its
// own is told. Local Control is controller 122 (0 off, 127 on), All Notes Off 123, All Sound Off 120: MIDI 1.0, channel
// mode messages. ALSA's identifiers change with every replug, names do not (alsa-lib, snd_seq_client_info).
#include <algorithm>
#include <map>
#include <mutex>
#include <string>
#include <vector>

#include "plugin/standalone/midi_ports.h"
#include "plugin/standalone/midi_sender.h"
#include "tests/catch.h"

using namespace seguente::home;

namespace {

using Bytes = std::vector<std::uint8_t>;

/// A machine whose devices the test plugs and pulls.
struct Machine {
  std::vector<PortInfo> inputs, outputs;
  std::map<std::string, SendMidi> listening;  // by id: what a device plays into
  std::vector<std::string> taken;             // ids that another program has
  std::map<std::string, std::vector<Bytes>> sent;

  MidiSystem system() {
    MidiSystem s;
    s.inputs = [this] { return inputs; };
    s.outputs = [this] { return outputs; };
    s.listen = [this](const PortInfo& port, SendMidi hear) -> std::shared_ptr<void> {
      if (std::find(taken.begin(), taken.end(), port.id) != taken.end()) return nullptr;
      listening[port.id] = std::move(hear);
      return {static_cast<void*>(this), [this, id = port.id](void*) { listening.erase(id); }};
    };
    s.open = [this](const PortInfo& port) -> SendMidi {
      return [this, id = port.id](std::span<const std::uint8_t> b) { sent[id].emplace_back(b.begin(), b.end()); };
    };
    return s;
  }
  void plug(const std::string& id, const std::string& name, bool both = false) {
    inputs.push_back({id, name});
    if (both) outputs.push_back({id, name});
  }
  void pull(const std::string& id) {
    const auto it = [&](const PortInfo& p) { return p.id == id; };
    std::erase_if(inputs, it);
    std::erase_if(outputs, it);
  }
  void play(const std::string& id, Bytes bytes) { listening.at(id)(bytes); }
};

std::vector<Bytes> taken(PlayedKeys& keys) {
  std::vector<Bytes> all;
  keys.take(Clock::now() + std::chrono::hours(1), [&](const TimedMessage& m) {
    all.emplace_back(m.message.bytes.begin(), m.message.bytes.begin() + m.message.length);
  });
  return all;
}

}  // namespace

TEST_CASE("a keyboard is heard as soon as it is plugged in, and so is a second one") {
  Machine machine;
  PlayedKeys keys;
  MidiPorts ports(machine.system(), keys);
  CHECK(ports.look().empty());
  machine.plug("20-0", "Piano");
  CHECK(ports.look() == std::vector<PortEvent>{{PortNews::found, "Piano", false}});
  machine.plug("24-0", "Pedals");
  CHECK(ports.look() == std::vector<PortEvent>{{PortNews::found, "Pedals", false}});
  CHECK(ports.look().empty());
  machine.play("20-0", {0x90, 60, 70});
  machine.play("24-0", {0xB0, 64, 127});
  CHECK(taken(keys) == std::vector<Bytes>{{0x90, 60, 70}, {0xB0, 64, 127}});
  CHECK(ports.connected() == std::vector<std::string>{"Piano", "Pedals"});
}

TEST_CASE("when a keyboard is pulled its keys and its pedal go up, and those of no other") {
  Machine machine;
  PlayedKeys keys;
  MidiPorts ports(machine.system(), keys);
  machine.plug("20-0", "Piano");
  machine.plug("24-0", "Other");
  ports.look();
  machine.play("20-0", {0x90, 48, 70});
  machine.play("20-0", {0x91, 52, 70});
  machine.play("20-0", {0x90, 55, 70});
  machine.play("20-0", {0x90, 55, 0});  // up again
  machine.play("20-0", {0xB0, 64, 100});
  machine.play("24-0", {0x90, 72, 70});
  taken(keys);
  machine.pull("20-0");
  CHECK(ports.look() == std::vector<PortEvent>{{PortNews::gone, "Piano", false}});
  CHECK(taken(keys) == std::vector<Bytes>{{0x80, 48, 64}, {0xB0, 64, 0}, {0x81, 52, 64}});
}

TEST_CASE("a keyboard that was pulled is taken up again under its name, whatever its new number") {
  Machine machine;
  PlayedKeys keys;
  MidiPorts ports(machine.system(), keys);
  machine.plug("20-0", "Piano");
  ports.look();
  machine.pull("20-0");
  ports.look();
  machine.plug("28-0", "Piano");
  CHECK(ports.look() == std::vector<PortEvent>{{PortNews::back, "Piano", false}});
  machine.play("28-0", {0x90, 60, 70});
  CHECK(taken(keys).size() == 1);
}

TEST_CASE("pulled and plugged between two looks, it is let go of and taken up") {
  Machine machine;
  PlayedKeys keys;
  MidiPorts ports(machine.system(), keys);
  machine.plug("20-0", "Piano");
  ports.look();
  machine.play("20-0", {0x90, 48, 70});
  machine.pull("20-0");
  machine.plug("28-0", "Piano");
  CHECK(ports.look() == std::vector<PortEvent>{{PortNews::gone, "Piano", false}, {PortNews::back, "Piano", false}});
  CHECK(taken(keys) == std::vector<Bytes>{{0x90, 48, 70}, {0x80, 48, 64}});
}

TEST_CASE("one that another program has is said once, and tried until it is free") {
  Machine machine;
  PlayedKeys keys;
  MidiPorts ports(machine.system(), keys);
  machine.plug("20-0", "Piano");
  machine.taken = {"20-0"};
  CHECK(ports.look() == std::vector<PortEvent>{{PortNews::refused, "Piano", false}});
  CHECK(ports.look().empty());
  machine.taken.clear();
  CHECK(ports.look() == std::vector<PortEvent>{{PortNews::found, "Piano", false}});
}

TEST_CASE("a keyboard that can be sent to may have a sound of its own") {
  Machine machine;
  PlayedKeys keys;
  MidiPorts ports(machine.system(), keys);
  machine.outputs.push_back({"14-1", "Lamp"});
  machine.plug("20-0", "Keys alone");
  CHECK(ports.look() == std::vector<PortEvent>{{PortNews::found, "Keys alone", false}});
  CHECK_FALSE(ports.pairedOutput());
  machine.plug("24-0", "Piano", true);
  CHECK(ports.look() == std::vector<PortEvent>{{PortNews::found, "Piano", true}});
  CHECK(ports.pairedOutput() == PortInfo{"24-0", "Piano"});
}

TEST_CASE("what no ring carries is left out: the keyboard's own clock, its sensing, and long messages") {
  Machine machine;
  PlayedKeys keys;
  MidiPorts ports(machine.system(), keys);
  machine.plug("20-0", "Piano");
  ports.look();
  machine.play("20-0", {0xF8});
  machine.play("20-0", {0xFE});
  machine.play("20-0", {0xF0, 1, 2, 3, 0xF7});
  machine.play("20-0", {0xC0, 5});
  CHECK(taken(keys) == std::vector<Bytes>{{0xC0, 5}});
}

TEST_CASE("Local Control goes off on every channel when it is asked for, and on again when we leave") {
  std::vector<Bytes> sent;
  const SendMidi piano = [&](std::span<const std::uint8_t> b) { sent.emplace_back(b.begin(), b.end()); };
  const auto count = [&](std::uint8_t controller, std::uint8_t value) {
    return std::count_if(sent.begin(), sent.end(),
                         [&](const Bytes& b) { return (b[0] & 0xF0) == 0xB0 && b[1] == controller && b[2] == value; });
  };
  {
    MidiSender sender;
    sender.usePiano(piano, PianoSound::asItIs);
    CHECK(sent.empty());
    sender.usePiano(piano, PianoSound::silent);
    CHECK(count(122, 0) == 16);
    CHECK(sent.size() == 16);
    sender.usePiano(piano, PianoSound::asItIs);
    CHECK(count(122, 127) == 16);
    sender.usePiano(piano, PianoSound::playsAll);
    sent.clear();
  }
  CHECK(count(123, 0) == 16);
  CHECK(count(120, 0) == 16);
  CHECK(count(122, 127) == 16);
  CHECK(sent.back() == Bytes{0xBF, 122, 127});
}

TEST_CASE("what sounds is sent when it is due, in order, to those who listen and to nobody else") {
  std::mutex mutex;
  std::vector<Bytes> others, piano;
  const auto into = [&mutex](std::vector<Bytes>& all) {
    return SendMidi([&mutex, &all](std::span<const std::uint8_t> b) {
      const std::scoped_lock lock(mutex);
      all.emplace_back(b.begin(), b.end());
    });
  };
  const auto message = [](std::uint8_t key) { return shortMessage(Bytes{0x90, key, 70}); };
  MidiSender sender;
  sender.send(message(59), Clock::now());  // nobody listens: not kept for later
  sender.publish(into(others));
  sender.usePiano(into(piano), PianoSound::silent);
  {
    const std::scoped_lock lock(mutex);
    piano.clear();
  }
  sender.send(message(60), Clock::now());
  sender.send(message(61), Clock::now() + std::chrono::milliseconds(2));
  sender.send(message(62), Clock::now() + std::chrono::hours(1));
  for (bool sent = false; !sent;) {
    const std::scoped_lock lock(mutex);
    sent = others.size() >= 2;
  }
  const std::scoped_lock lock(mutex);
  CHECK(others == std::vector<Bytes>{{0x90, 60, 70}, {0x90, 61, 70}});
  CHECK(piano.empty());
}
