// STATE: what a session keeps, and opens as elsewhere. Scenarios: SCENARIOS.md.
#include <atomic>
#include <cstdlib>
#include <thread>

#include "tests/catch.h"
#include "tests/host/direct.h"
#include "tests/host/plain_lv2.h"
#include "tests/host/wrapped.h"
#include "tests/plugin/old_states.h"

using namespace seguente;
using namespace seguente::host;
using seguente::test::quarters;

namespace {

std::string stateOf(Processor& processor) {
  juce::MemoryBlock block;
  processor.getStateInformation(block);
  return block.toString().toStdString();
}

/// Chords and a tune, with nothing set: what a piece plays is then what the state says.
Piece played() {
  Piece piece(48000, {4, 4}, 120);
  piece.score().chord("C3 E3 G3", quarters(0.05), quarters(3.8)).tune("E5", quarters(1.2), quarters(3.3));
  piece.score().chord("B2 F3 G3", quarters(4.05), quarters(7.8));
  piece.endsAt(quarters(8.5));
  return piece;
}
/// The settings of a musician who has turned everything that this piece can show.
void turn(const Setter& set) {
  set(ParameterId::idiom, slotOf("bossa-nova"));
  set(ParameterId::density, 2);
  set(ParameterId::transpose, -2);
  set(ParameterId::registerShift, 1);
  set(ParameterId::level, 120);
  set(ParameterId::outputChannels, 1);
}
/// The piece without its own setting of an idiom.
std::vector<Heard> playAsLoaded(juce::AudioProcessor& plugin) {
  const auto piece = played();
  const Setter none = [](ParameterId, double) {};
  return Host(plugin, none, piece).playUntil(piece.end()).heard();
}

juce::MemoryBlock randomBytes(test::Random& random, std::int64_t most) {
  juce::MemoryBlock bytes(static_cast<std::size_t>(random.between(1, most)));
  for (std::size_t k = 0; k < bytes.getSize(); ++k) bytes[k] = static_cast<char>(random.between(0, 255));
  return bytes;
}

/// What the host wraps is kept whole, and what the plugin has stored in it is cut short, or other bytes.
std::vector<juce::MemoryBlock> rubbishOf(Bundle& bundle, const std::string& text) {
  std::vector<juce::MemoryBlock> all;
  test::Random random(9);
  const bool vst3 = bundle.format() == Format::vst3;
  for (int i = 0; vst3 && i < 20; ++i) all.push_back(randomBytes(random, 4000));  // of an LV2 host's own text
  for (int i = 0; i < 40; ++i) {
    auto inside = i < 20 ? juce::MemoryBlock(text.data(), text.size()) : randomBytes(random, 4000);
    if (i < 20) inside.setSize(static_cast<std::size_t>(random.between(0, static_cast<std::int64_t>(text.size()) / 2)));
    all.push_back(wrapped(bundle, inside));
  }
  return all;
}

}  // namespace

TEST_CASE("STATE-1: a session is saved, and what opens it in a new instance plays the same notes") {
  for (const auto format : formats) {
    INFO(nameOf(format));
    Bundle first(format);
    turn([&](ParameterId which, double plain) { first.set(which, plain); });
    const auto heard = playAsLoaded(first.plugin());
    REQUIRE(noteOns(heard).size() > 8);
    Bundle untouched(format);
    REQUIRE(firstDifference(heard, playAsLoaded(untouched.plugin())) != "");
    const auto saved = savedBy(first);
    Bundle second(format);
    load(second.plugin(), saved);
    CHECK(firstDifference(heard, playAsLoaded(second.plugin())) == "");
  }
}

TEST_CASE("STATE-2: a session that an LV2 host has saved opens in the processor, letter for letter, and back") {
  Processor processor;
  turn(setterOf(processor));
  processor.signals().set(Signal::end, Giver{GiverKind::key, 0, 24});
  const auto text = stateOf(processor);
  PlainLv2 lv2;
  REQUIRE(lv2.restore(juce::MemoryBlock(text.data(), text.size()).toBase64Encoding().toStdString()));
  juce::MemoryBlock back;
  REQUIRE(back.fromBase64Encoding(juce::String(lv2.state())));
  CHECK(back.toString().toStdString() == text);
}

TEST_CASE("STATE-3: what is loaded before the host prepares is in force from the first block") {
  Processor first;
  turn(setterOf(first));
  const auto heard = playAsLoaded(first);
  juce::MemoryBlock saved;
  first.getStateInformation(saved);
  Processor second;
  load(second, saved);
  CHECK(firstDifference(heard, playAsLoaded(second)) == "");
}

TEST_CASE("STATE-4: rubbish leaves everything as it was, and says so") {
  Processor turned;
  turn(setterOf(turned));
  for (const auto format : formats) {
    INFO(nameOf(format));
    Bundle bundle(format);
    turn([&](ParameterId which, double plain) { bundle.set(which, plain); });
    const auto heard = playAsLoaded(bundle.plugin());
    for (const auto& rubbish : rubbishOf(bundle, stateOf(turned))) load(bundle.plugin(), rubbish);
    CHECK(firstDifference(heard, playAsLoaded(bundle.plugin())) == "");
  }
  PlainLv2 lv2;
  const auto before = lv2.state();
  test::Random random(4);
  for (int i = 0; i < 60; ++i) {
    const auto bytes = randomBytes(random, 4000);
    const auto cut =
        before.substr(0, static_cast<std::size_t>(random.between(0, static_cast<std::int64_t>(before.size()) / 2)));
    lv2.restore(i % 3 == 0   ? bytes.toString().toStdString()
                : i % 3 == 1 ? bytes.toBase64Encoding().toStdString()
                             : cut);
  }
  CHECK(lv2.state() == before);
  Processor processor;
  turn(setterOf(processor));
  const auto text = stateOf(processor);
  const std::string bad = "version = 99\n";
  processor.setStateInformation(bad.data(), static_cast<int>(bad.size()));
  processor.setStateInformation(nullptr, 0);
  CHECK(stateOf(processor) == text);
  CHECK(processor.messageCount() == 1);
}

TEST_CASE("STATE-5: no folder of this machine stands in a session") {
  Processor processor;
  Host(processor, setterOf(processor), played()).playUntil(quarters(1));
  const auto text = stateOf(processor);
  CHECK(text.find(std::getenv("HOME")) == std::string::npos);
  CHECK(text.find(SEGUENTE_PATTERNS) == std::string::npos);
  CHECK(text.find(".toml") == std::string::npos);
  CHECK(text.find("Broken bass") != std::string::npos);  // the idioms themselves are in it
}

TEST_CASE("STATE-6: a host saves and loads on other threads while it plays") {
  Processor processor, other;
  turn(setterOf(other));
  juce::MemoryBlock one, two;
  processor.getStateInformation(one);
  other.getStateInformation(two);
  const auto piece = played();
  Host host(
      processor, [](ParameterId, double) {}, piece);
  std::atomic<bool> over{false};
  std::thread loads([&] {
    for (int i = 0; i < 200; ++i) load(processor, i % 2 == 0 ? two : one);
    load(processor, two);
    over = true;
  });
  std::thread saves([&] {
    juce::MemoryBlock block;
    while (!over) processor.getStateInformation(block);
  });
  while (!over) host.block(64);
  loads.join();
  saves.join();
  for (int channel = 0; channel < 16; ++channel) host.send({static_cast<std::uint8_t>(0xB0 | channel), 123, 0});
  host.block(64);
  CHECK(stillSounding(host.heard()) == "");
  CHECK(stateOf(processor) == two.toString().toStdString());
}

TEST_CASE("STATE-7: a session of the first version, with an idiom that is installed nowhere, plays as it was left") {
  Piece piece(48000, {4, 4}, 120);
  piece.score().chord("C3 E3 G3", quarters(0.05), quarters(7.9)).tune("E5", quarters(1.2), quarters(3.3));
  piece.score().message({0x90, 21, 90}, quarters(6.4)).message({0x80, 21, 64}, quarters(6.5));  // gives hold: silent
  piece.endsAt(quarters(7.9));
  for (const auto format : formats) {
    INFO(nameOf(format));
    Bundle bundle(format);
    load(bundle.plugin(), wrapped(bundle, storedByVersion1(format, test::playedByVersion1)));
    Host host(
        bundle.plugin(), [](ParameterId, double) {}, piece);
    host.playUntil(piece.end());
    std::vector<Heard> bass;
    std::string tune;
    for (const auto& h : noteOns(host.heard())) {
      if (h.bytes[0] == 0x91) bass.push_back(h);  // a channel a part: the bass on 2
      if (h.bytes[0] == 0x90) tune += textOf(h) + "; ";
    }
    // Root and fifth in turn of C, a tone higher; the first one with the hand, the others on their beats until the key
    // that gives hold.
    REQUIRE(bass.size() >= 7);
    for (std::size_t beat = 0; beat < 7; ++beat) {
      INFO(textOf(bass[beat]));
      CHECK(bass[beat].bytes[1] % 12 == (beat % 2 == 0 ? 2 : 9));
      if (beat > 0) CHECK(bass[beat].sample == static_cast<std::int64_t>(beat) * 24000);
    }
    for (std::size_t i = 7; i < bass.size(); ++i) CHECK(bass[i].sample != 7 * 24000);
    CHECK(tune == "90 4E 50 at 28800; ");  // F sharp 5
  }
}
