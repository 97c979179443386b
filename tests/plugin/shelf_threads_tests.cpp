// Reloading, switching, restoring and playing all at once: the audio thread plays what it was lent, and the others free
// only what it has let go of. Under the thread sanitizer this is the proof; without it, a quick look. Iterations are
// counted, no clock is read.
#include <atomic>
#include <thread>

#include "dsp/engine.h"
#include "plugin/parameters.h"
#include "plugin/shelf.h"
#include "plugin/signals.h"
#include "tests/catch.h"
#include "tests/plugin/own_files.h"
#include "tests/support/random.h"

using namespace seguente;
using namespace seguente::test;

namespace {

#if defined(__SANITIZE_THREAD__)
constexpr int reloads = 8000, fewestBlocks = 250000;  // more than a minute
#elif defined(SEGUENTE_SANITIZED)
constexpr int reloads = 500, fewestBlocks = 10000;
#else
constexpr int reloads = 150, fewestBlocks = 2000;
#endif

/// What a plugin's audio thread does, in blocks of 64 samples: takes a table, switches slots, plays chords.
struct Audio {
  Shelf& shelf;
  ParameterValues& values;
  SignalMap& signals;
  Engine engine;
  Lent<SlotTable> table;
  Random random{1};
  std::int64_t now = 0;
  int tables = 0, notes = 0;

  void prepare() { engine.prepare(48000); }

  void block(int number) {
    std::array<Input, 8> inputs;
    std::size_t count = 0;
    const Samples at{now};
    if (number == 0) inputs[count++] = Input::of(at, TimeAnchor{{}, 240, {4, 4}, {}, true});
    if (number % 100 == 0) inputs[count++] = Input::of(at, settingsFrom(values));
    const bool fresh = shelf.lent().take(table);
    if (fresh) ++tables;
    if (table.value != nullptr && (fresh || number % 17 == 0)) {
      const auto slot = fresh ? 127 : static_cast<std::size_t>(random.between(120, 127));
      if (const auto* idiom = table.value->idioms[slot])
        inputs[count++] = Input::of(at, IdiomRef{idiom, table.generation});
    }
    for (const int key : {48, 52, 55})
      if (number % 500 == 0 || number % 500 == 450) inputs[count++] = Input::of(at, key_(key, number % 500 == 0));
    signals.hear(key_(random.between(30, 40), random.oneIn(2)));
    now += 64;
    engine.process({inputs.data(), count}, Samples{now}, sink());
    shelf.lent().acknowledge(engine.releasedGeneration());
  }

  static MidiMessage key_(std::int64_t key, bool down) {
    return {{static_cast<std::uint8_t>(down ? 0x90 : 0x80), static_cast<std::uint8_t>(key), 80}, 3};
  }
  Sink sink() {
    return {this,
            [](void* self, const Output& o) {
              if (o.kind == OutputKind::noteOn) ++static_cast<Audio*>(self)->notes;
            },
            nullptr};
  }
};

}  // namespace

TEST_CASE("Idioms are reloaded, sessions restored and lists read while the music plays", "[plugin]") {
  OwnFiles own("threads");
  own.write("a.toml", smallIdiom("a", "A", "\"2/4\" = \"b\""));
  own.write("b.toml", smallIdiom("b", "B", "\"2/4\" = \"a\"\n\"3/4\" = \"waltz\""));
  Shelf shelf(own.path);
  shelf.open();
  ParameterValues values;
  SignalMap signals;
  Audio audio{shelf, values, signals, {}, {}};
  audio.prepare();
  std::atomic<int> working{2};
  std::atomic<int> blocks{0};

  std::thread playing([&] {
    for (int n = 0; n < fewestBlocks || working.load(std::memory_order_relaxed) > 0; ++n) {
      audio.block(n);
      blocks.store(n, std::memory_order_relaxed);
    }
  });
  std::thread timer([&] {  // saves files, looks, lists
    for (int n = 0; n < reloads; ++n) {
      own.write(
          n % 3 == 0 ? "a.toml" : "b.toml",
          n % 7 == 0 ? "broken" : smallIdiom(n % 3 == 0 ? "a" : "b", "Take " + std::to_string(n), "\"2/4\" = \"a\""));
      shelf.look();
      shelf.takeMessages();
      for (const auto slot : shelf.filled()) shelf.entry(slot);
      values.set(ParameterId::transpose, n % 24);
      signals.learn(static_cast<Signal>(n % static_cast<int>(signalCount)));
      signals.set(Signal::hold, {GiverKind::key, 0, static_cast<std::uint8_t>(n % 128)});
    }
    working.fetch_sub(1);
  });
  std::thread host([&] {  // saves and restores states
    for (int n = 0; n < reloads / 10; ++n) {
      auto state = shelf.save();
      state.push_back({120 + n % 5, "s", smallIdiom("s", "Session " + std::to_string(n), "\"2/4\" = \"a\"")});
      shelf.restore(state);
      for (std::size_t i = 0; i < signalCount; ++i) signals.get(static_cast<Signal>(i));
    }
    working.fetch_sub(1);
  });
  timer.join();
  host.join();
  playing.join();
  INFO(audio.tables << " tables taken in " << blocks.load() << " blocks, " << audio.notes << " notes");
  CHECK(audio.tables > 10);
  CHECK(audio.notes > 10);
  for (int n = 17; n < 4017; ++n) audio.block(n);  // five bars: the newest idiom has entered
  audio.engine.silence(audio.sink());
  shelf.look();
  CHECK(shelf.lent().kept() == 1);
}
