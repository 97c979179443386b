// GUARD: nothing is asked of the system inside our processBlock, in the built bundles too. Scenarios: SCENARIOS.md.
#include <dlfcn.h>

#include "tests/catch.h"
#include "tests/guard/audio_thread.h"
#include "tests/host/audio_thread_hook.h"
#include "tests/host/direct.h"
#include "tests/host/plain_lv2.h"

using namespace seguente;
using namespace seguente::host;
using seguente::test::quarters;

#ifndef SEGUENTE_SANITIZED  // the sanitizers take the same calls as the guard

namespace {

/// Every kind of thing at once: idioms change, parameters move, the transport steps, loops and stops, notes pass.
Piece busy() {
  Piece piece(48000, {4, 4}, 120);
  piece.set(ParameterId::density, 2).set(ParameterId::waitForChord, 1, Samples{130000});
  piece.score().tempo(140, quarters(6)).meter({3, 4}, quarters(8));
  const char* const shapes[] = {"C3 E3 G3", "B2 F3 G3", "C3 F3 A3"};
  for (int i = 0; i < 6; ++i) {
    piece.score().chord(shapes[i % 3], quarters(i * 2 + 0.05), quarters(i * 2 + 1.7));
    piece.score().tune("E4 G4 C5", quarters(i * 2 + 0.3), quarters(i * 2 + 1.9));
  }
  piece.choose("bossa-nova", Samples{50000})
      .choose("waltz", Samples{150000})
      .set(ParameterId::transpose, 2, Samples{90000})
      .set(ParameterId::time, 2, Samples{170000})
      .set(ParameterId::handSplit, 1, Samples{190000})
      .set(ParameterId::handSplit, 0, Samples{215000})
      .set(ParameterId::time, 0, Samples{220000});
  piece.score().message({0xB0, 64, 127}, quarters(3)).message({0xB0, 64, 0}, quarters(5));
  piece.score().message({0xC0, 5}, quarters(7));
  piece.score().jump(Samples{240000}, quarters(2)).stop(piece.score().tickAt(Samples{280000}));
  piece.endsAt(Samples{300000});
  return piece;
}

std::string objectOf(const void* address) {
  Dl_info info{};
  return dladdr(address, &info) != 0 && info.dli_fname != nullptr ? info.dli_fname : "";
}

}  // namespace

TEST_CASE("GUARD-1: a busy passage asks for no memory and takes no lock inside our processBlock") {
  const auto piece = busy();
  for (const auto format : formats)
    for (const std::int64_t size : {16, 256, 4096}) {
      Bundle bundle(format);
      Performing how;
      how.blocks = {{size}, {}};
      Host host(bundle, piece, how);
      const WatchProcessBlock watch;
      host.playUntil(piece.end());
      INFO(nameOf(format) << ", blocks of " << size << ", first by " << objectOf(guard::culprit()));
      CHECK(noteOns(host.heard()).size() > 20);
      CHECK(watch.blocks() >= piece.end().value / size);
      CHECK(guard::violations() == 0);
    }
  Processor processor;
  Host host(processor, setterOf(processor), piece);
  const WatchProcessBlock watch;
  host.playUntil(piece.end());
  CHECK(watch.blocks() > 500);
  CHECK(guard::violations() == 0);
}

/// So many keys of the tune down, on all channels but 10, a few a block: no host's buffer grows by them. `send` takes a
/// message for the next block, `next` is that block.
template <class Send, class Next>
void holdMany(int most, Send&& send, Next&& next) {
  int down = 0;
  for (int key = 64; key < 128; ++key) {
    for (int channel = 0; channel < 16 && down < most; ++channel)
      if (channel != 9) send({static_cast<std::uint8_t>(0x90 | channel), static_cast<std::uint8_t>(key), 90}), ++down;
    next();
  }
}

TEST_CASE("GUARD-4: all is ended at once while hundreds of keys are down: far more goes out than came in") {
  const auto quiet = [](const std::vector<Heard>& heard) {
    INFO("asked for by " << objectOf(guard::culprit()));
    CHECK(stillSounding(heard) == "");
    CHECK(guard::violations() == 0);
  };
  const Piece piece;
  Bundle bundle(Format::vst3);
  Processor processor;
  // No two hands hold so many keys: who listens would give them to both.
  bundle.set(ParameterId::handSplit, 1);
  processor.values().set(ParameterId::handSplit, 1);
  for (const bool built : {true, false}) {
    Host host(
        built ? static_cast<juce::AudioProcessor&>(bundle.plugin()) : processor, [](ParameterId, double) {}, piece);
    holdMany(
        900, [&](std::vector<std::uint8_t> bytes) { host.send(std::move(bytes)); }, [&] { host.block(64); });
    REQUIRE(noteOns(host.heard()).size() == 900);
    host.prepareAgain(48000, 512);
    const WatchProcessBlock watch;
    host.block(64);
    quiet(host.heard());
  }
  processor.signals().set(Signal::silenceAll, {GiverKind::controller, 0, 67});
  juce::MemoryBlock state;
  processor.getStateInformation(state);
  PlainLv2 lv2;
  REQUIRE(lv2.restore(state.toBase64Encoding().toStdString()));
  holdMany(
      950, [&](const std::vector<std::uint8_t>& bytes) { lv2.midi(0, bytes); }, [&] { lv2.run(64); });
  REQUIRE(noteOns(lv2.heard()).size() == 950);
  const WatchProcessBlock watch;
  lv2.midi(0, {0xB0, 67, 127});
  lv2.run(64);
  quiet(lv2.heard());
}

TEST_CASE("GUARD-2: the guard sees memory that is asked for inside our processBlock") {
  for (const auto format : formats) {
    Bundle bundle(format);
    const auto piece = busy();
    Host host(bundle, piece);
    const WatchProcessBlock watch(true);
    for (int i = 0; i < 10; ++i) host.block(64);
    INFO(nameOf(format));
    CHECK(watch.blocks() == 10);
    CHECK(guard::violations() == 20);  // taken and given back
  }
}

TEST_CASE("GUARD-3: the guard sees into the bundles: armed around the formats' wrappers it finds their locks") {
  for (const auto format : formats) {
    Bundle bundle(format);
    const auto piece = busy();
    Host host(bundle, piece);
    const auto bundles = objectOf(dlsym(dlopen(libraryOf(format).c_str(), RTLD_NOW | RTLD_NOLOAD),
                                        format == Format::vst3 ? "GetPluginFactory" : "lv2_descriptor"));
    REQUIRE(bundles != "");
    int seen = 0;
    for (int i = 0; i < 100; ++i) {
      guard::violations();
      {
        const guard::AudioThread whole;
        host.block(512);
      }
      for (int n = 0; guard::culprit(n) != nullptr; ++n) seen += objectOf(guard::culprit(n)) == bundles;
    }
    guard::violations();
    INFO(nameOf(format));
    CHECK(seen >= 100);
  }
}

#endif
