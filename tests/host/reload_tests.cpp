// RELOAD: pattern files are saved while the plugin plays. Scenarios: SCENARIOS.md.
#include <filesystem>
#include <fstream>
#include <sstream>
#include <thread>

#include "tests/catch.h"
#include "tests/host/direct.h"

using namespace seguente;
using namespace seguente::host;
using seguente::test::quarters;

namespace {

std::string readWhole(const std::string& path) {
  std::ostringstream text;
  text << std::ifstream(path).rdbuf();
  return text.str();
}

std::string replaced(std::string text, const std::string& what, const std::string& by) {
  for (std::size_t at = 0; (at = text.find(what, at)) != std::string::npos; at += by.size())
    text.replace(at, what.size(), by);
  return text;
}

/// A file in the player's own folder, which goes with the test.
class OwnIdiom {
 public:
  OwnIdiom() {
    std::filesystem::create_directories(ownIdiomsFolder());
    save(text_);
  }
  ~OwnIdiom() { std::filesystem::remove(path_); }
  void save(const std::string& text) {
    std::ofstream(path_.string() + ".new") << text;
    std::filesystem::rename(path_.string() + ".new", path_);
  }
  const std::string& text() const { return text_; }

 private:
  std::filesystem::path path_ = ownIdiomsFolder() / "my-bass.toml";
  std::string text_ = replaced(replaced(readWhole(SEGUENTE_PATTERNS "/broken-bass.toml"), "broken-bass", "my-bass"),
                               "Broken bass", "My bass");
};

/// What the slot of an idiom of ours is.
int slotByTitle(Processor& processor, const std::string& title) {
  for (const auto slot : processor.shelf().filled())
    if (processor.shelf().entry(slot).title == title) return static_cast<int>(slot);
  return -1;
}

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
  const auto piece = held();
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
  while (done < 2) host.block(64);
  reloads.join();
  switches.join();
  for (int i = 0; i < 2000; ++i) host.block(64);
  host.send({0xB0, 123, 0});
  host.block(64);
  CHECK(noteOns(host.heard()).size() > 10);
  CHECK(stillSounding(host.heard()) == "");
}
