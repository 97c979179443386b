// RELOAD: pattern files are saved while the plugin plays. Scenarios: SCENARIOS.md.
#include <thread>

#include "tests/catch.h"
#include "tests/host/direct.h"
#include "tests/host/own_idiom.h"

using namespace seguente;
using namespace seguente::host;
using seguente::test::quarters;

namespace {

/// A chord held for a long time.
Piece held() {
  Piece piece(48000, {4, 4}, 120);
  piece.score().chord("C3 E3 G3", quarters(0.05), quarters(40));
  return piece.endsAt(quarters(41));
}

std::vector<int> keysBetween(const std::vector<Heard>& heard, std::int64_t from, std::int64_t to) {
  std::vector<int> keys;
  for (const auto& h : noteOns(heard))
    if (h.sample >= from && h.sample < to) keys.push_back(h.bytes[1]);
  return keys;
}

/// Plays without end, a block of 64 at a time: one chord after another, each held for two bars, with a tune above.
class Endless {
 public:
  explicit Endless(Host& host) : host_(host) {}
  void block() {
    constexpr int chordBlocks = 3000;
    static constexpr std::uint8_t chords[][3] = {{48, 52, 55}, {47, 53, 55}, {48, 53, 57}};
    const int at = blocks_ % chordBlocks;
    for (const auto key : chords[blocks_ / chordBlocks % 3]) {
      if (at == 0) host_.send({0x90, key, 80});
      if (at == chordBlocks - 100) host_.send({0x80, key, 64});
    }
    if (at % 300 == 150) host_.send({0x90, 76, 90});
    if (at % 300 == 290) host_.send({0x80, 76, 64});
    host_.block(64);
    blocks_ = (blocks_ + 1) % (3 * chordBlocks);
  }

 private:
  Host& host_;
  int blocks_ = 0;
};

constexpr std::int64_t bar = 96000;  // samples at 120 in four

}  // namespace

TEST_CASE("RELOAD-1: a pattern file that is saved while it plays is heard from the next bar") {
  OwnIdiom own;
  Processor processor;
  const auto piece = held();
  const Setter none = [](ParameterId, double) {};
  Host host(processor, none, piece);
  const int slot = slotByTitle(processor, "My bass");
  REQUIRE(slot >= 0);
  processor.values().set(ParameterId::idiom, slot);
  host.playUntil(Samples{2 * bar + 30000});
  // Every bar begins and ends on the fifth instead of the root.
  own.save(replaced(own.text(), "play = \"1\"", "play = \"5\""));
  processor.tick();
  host.playUntil(Samples{5 * bar});
  const auto before = keysBetween(host.heard(), bar, 2 * bar), same = keysBetween(host.heard(), 2 * bar, 3 * bar),
             after = keysBetween(host.heard(), 3 * bar, 4 * bar);
  REQUIRE(before.size() >= 4);
  CHECK(before == same);
  CHECK(before != after);
  CHECK(after[0] % 12 == 7);  // G
  CHECK(processor.messages().empty());
}

TEST_CASE("RELOAD-2: a bad file is refused with a message, and the old one plays on") {
  OwnIdiom own;
  Processor processor;
  const auto piece = held();
  Host host(
      processor, [](ParameterId, double) {}, piece);
  processor.values().set(ParameterId::idiom, slotByTitle(processor, "My bass"));
  host.playUntil(Samples{2 * bar});
  own.save(replaced(own.text(), "register = ", "register = = "));
  processor.tick();
  host.playUntil(Samples{4 * bar});
  CHECK(keysBetween(host.heard(), bar, 2 * bar) == keysBetween(host.heard(), 3 * bar, 4 * bar));
  REQUIRE(processor.messages().size() == 1);
  CHECK(processor.messages()[0].find("my-bass.toml") != std::string::npos);
}

TEST_CASE("RELOAD-3: files are saved, idioms switched and sessions loaded while it plays, on three threads") {
  OwnIdiom own;
  Processor processor;
  const Piece piece(48000, {4, 4}, 120);
  Host host(
      processor, [](ParameterId, double) {}, piece);
  const int slot = slotByTitle(processor, "My bass");
  const auto other = replaced(own.text(), "play = \"1\"", "play = \"5\"");
  juce::MemoryBlock state;
  processor.getStateInformation(state);
#if defined(__SANITIZE_THREAD__)
  constexpr int rounds = 3000;  // a minute and more of playing
#else
  constexpr int rounds = 150;
#endif
  std::atomic<int> done{0};
  std::thread reloads([&] {
    for (int i = 0; i < rounds; ++i) {
      own.save(i % 2 == 0 ? other : i % 7 == 0 ? "format = 9" : own.text());
      processor.tick();
    }
    ++done;
  });
  std::thread switches([&] {
    for (int i = 0; i < rounds * 20; ++i) {
      processor.values().set(ParameterId::idiom, i % 3 == 0 ? slot : i % 7);
      if (i % 400 == 0) processor.setStateInformation(state.getData(), static_cast<int>(state.getSize()));
      View view;
      processor.view().read(view);
      processor.session().give(static_cast<Signal>(i % 5));
    }
    ++done;
  });
  Endless playing(host);
  while (done < 2) playing.block();
  reloads.join();
  switches.join();
  for (int i = 0; i < 2000; ++i) playing.block();
  host.send({0xB0, 123, 0});
  host.block(64);
  CHECK(noteOns(host.heard()).size() > 10);
  CHECK(stillSounding(host.heard()) == "");
}

TEST_CASE(
    "RELOAD-4: the built bundles play on one thread while another saves files, switches idioms and loads sessions") {
#if defined(__SANITIZE_THREAD__)
  constexpr int rounds = 3000;
#else
  constexpr int rounds = 200;
#endif
  for (const auto format : formats) {
    OwnIdiom own;
    const auto other = replaced(own.text(), "play = \"1\"", "play = \"5\"");
    Processor like;
    like.prepareToPlay(48000, 64);
    const int slot = slotByTitle(like, "My bass");  // the same in every new instance
    REQUIRE(slot >= 0);
    Bundle bundle(format);
    const Piece piece(48000, {4, 4}, 120);
    Host host(bundle, piece);
    Endless playing(host);
    juce::MemoryBlock state;
    bundle.plugin().getStateInformation(state);
    std::atomic<bool> over{false};
    std::thread plays([&] {
      while (!over) playing.block();
    });
    for (int i = 0; i < rounds; ++i) {
      own.save(i % 2 == 0 ? other : i % 7 == 0 ? "format = 9" : own.text());
      bundle.set(ParameterId::idiom, i % 3 == 0 ? slot : i % 7);
      if (i % 20 == 0) bundle.plugin().setStateInformation(state.getData(), static_cast<int>(state.getSize()));
      if (i % 20 == 10) bundle.plugin().getStateInformation(state);
      juce::MessageManager::getInstance()->runDispatchLoopUntil(1);  // the plugin's timer looks for saved files
    }
    over = true;
    plays.join();
    for (int i = 0; i < 2000; ++i) playing.block();
    host.send({0xB0, 123, 0});
    host.block(64);
    INFO(nameOf(format));
    CHECK(noteOns(host.heard()).size() > 10);
    CHECK(stillSounding(host.heard()) == "");
  }
}

TEST_CASE("WINDOW-1: the window is opened, drawn, used and closed, again and again, while another thread plays") {
#if defined(__SANITIZE_THREAD__)
  constexpr int rounds = 40;
#else
  constexpr int rounds = 10;
#endif
  Processor processor;
  const Piece piece(48000, {4, 4}, 120);
  const Setter none = [](ParameterId, double) {};
  Host host(processor, none, piece);
  Endless playing(host);
  std::atomic<bool> over{false};
  std::thread plays([&] {
    while (!over) playing.block();
  });
  auto* const messages = juce::MessageManager::getInstance();
  for (int i = 0; i < rounds; ++i) {
    const std::unique_ptr<juce::AudioProcessorEditor> editor(processor.createEditor());
    REQUIRE(editor != nullptr);
    editor->setVisible(true);
    messages->runDispatchLoopUntil(20);  // its timers
    CHECK(editor->createComponentSnapshot(editor->getLocalBounds()).isValid());
    editor->keyPressed(juce::KeyPress(juce::KeyPress::escapeKey));
    auto& density = processor.hostParameter(ParameterId::density);
    density.setValueNotifyingHost(static_cast<float>(i % 3) / 2);
    messages->runDispatchLoopUntil(20);
  }
  over = true;
  plays.join();
  for (int i = 0; i < 2000; ++i) playing.block();
  host.send({0xB0, 123, 0});
  host.block(64);
  CHECK(noteOns(host.heard()).size() > 10);
  CHECK(stillSounding(host.heard()) == "");
}
