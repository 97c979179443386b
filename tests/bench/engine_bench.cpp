// What the engine costs, in instructions, counted by callgrind: the scenarios of the project's "Bars". Run by bench.py;
// without valgrind it does the same work and counts nothing. Each measured stretch writes one line "name key=value ..."
// to stdout and one dump named alike; only calls into the engine are counted. Seeds are fixed.
#include <valgrind/callgrind.h>

#include <algorithm>
#include <array>
#include <cstdio>
#include <cstdlib>
#include <new>
#include <string>

#include "dsp/engine.h"
#include "tests/support/hands.h"

using namespace seguente;
using namespace seguente::test;

namespace {

std::size_t allocated = 0;  // bytes asked for since the program began

}  // namespace

void* operator new(std::size_t size) {
  allocated += size;
  void* memory = std::malloc(size);
  if (memory == nullptr) std::abort();
  return memory;
}
void* operator new(std::size_t size, std::align_val_t alignment) {  // the engine's parts ask for whole cache lines
  allocated += size;
  void* memory = std::aligned_alloc(static_cast<std::size_t>(alignment), size);
  if (memory == nullptr) std::abort();
  return memory;
}
void operator delete(void* memory) noexcept { std::free(memory); }
void operator delete(void* memory, std::align_val_t) noexcept { std::free(memory); }
void operator delete(void* memory, std::size_t, std::align_val_t) noexcept { std::free(memory); }
void operator delete(void* memory, std::size_t) noexcept { std::free(memory); }

namespace {

constexpr double rate = 48000;

/// As little work as a sink can do: it is counted with the engine's.
struct Counts {
  std::array<int, 4> kinds{};  // by OutputKind
  int of(OutputKind kind) const { return kinds[static_cast<std::size_t>(kind)]; }
  static void midi(void* context, const Output& o) {
    auto& counts = *static_cast<Counts*>(context);
    counts.ids[counts.count++] = o.noteId;
    ++counts.kinds[static_cast<std::size_t>(o.kind)];
  }
  std::array<std::uint32_t, 256> ids{};  // of the notes of ours that began or ended, while they are few
  std::uint8_t count = 0;                // comes round of itself
  int chords = 0;                        // that were taken up: one corrected to another root is two
  std::uint32_t lastChord = 0;
  int lastRoot = -1;
  static void fact(void* context, const Fact& fact) {
    auto& counts = *static_cast<Counts*>(context);
    if (fact.kind != FactKind::chord || fact.readings == nullptr) return;
    const int root = fact.readings->ranked[0].chord.root.value;
    if (fact.id != counts.lastChord || root != counts.lastRoot) ++counts.chords;
    counts.lastChord = fact.id;
    counts.lastRoot = root;
  }
};

/// Runs a stream through one engine and counts calls.
class Run {
 public:
  explicit Run(std::vector<Input> inputs) : inputs_(std::move(inputs)) { engine_.prepare(rate); }

  /// One call that is not counted.
  void quietly(Samples until) { call(until, false); }
  /// One call that is counted into the dump in the making.
  void counted(Samples until) { call(until, true); }
  /// One call with a dump of its own.
  void dumped(Samples until, const char* name) {
    const Counts before = counts_;
    counts_ = {};
    counts_.lastChord = before.lastChord;
    counts_.lastRoot = before.lastRoot;
    CALLGRIND_ZERO_STATS;
    counted(until);
    dump(name);
  }
  void dump(const char* name) const {
    CALLGRIND_DUMP_STATS_AT(name);
    std::printf("%s notesIn=%d otherIn=%d noteOns=%d noteOffs=%d passed=%d chords=%d notes:", name, notesIn_, otherIn_,
                counts_.of(OutputKind::noteOn), counts_.of(OutputKind::noteOff), counts_.of(OutputKind::passed),
                counts_.chords);
    for (std::size_t i = 0; i < counts_.count; ++i)
      if (counts_.ids[i] != 0) std::printf(" %u", counts_.ids[i]);
    std::printf("\n");
  }
  Samples now() const { return engine_.now(); }

 private:
  void call(Samples until, bool count) {
    const auto first = next_;
    notesIn_ = otherIn_ = 0;
    for (; next_ < inputs_.size() && inputs_[next_].sample < until; ++next_) {
      const auto& i = inputs_[next_];
      const bool note = i.kind == InputKind::midi && (i.midi.noteOn() || i.midi.noteOff());
      ++(note ? notesIn_ : otherIn_);
    }
    const auto span = std::span(inputs_).subspan(first, next_ - first);
    if (count) CALLGRIND_TOGGLE_COLLECT;
    engine_.process(span, until, sink_);
    if (count) CALLGRIND_TOGGLE_COLLECT;
  }

  std::vector<Input> inputs_;
  Counts counts_;
  Sink sink_{&counts_, Counts::midi, Counts::fact};
  Engine engine_;
  std::size_t next_ = 0;
  int notesIn_ = 0, otherIn_ = 0;
};

void zero() { CALLGRIND_ZERO_STATS; }

Score heldChord(const std::string& id, double seconds) {
  Score score(rate, idiom(id).meter, 120);
  score.with(idiom(id)).chord("C3 E3 G3", quarters(0.1), quarters(seconds * 2));
  return score;
}

/// The counting itself: taken off every other figure.
void nothing() {
  zero();
  CALLGRIND_TOGGLE_COLLECT;
  CALLGRIND_TOGGLE_COLLECT;
  CALLGRIND_DUMP_STATS_AT("nothing");
  std::printf("nothing\n");
}

void idle() {
  for (const std::int64_t size : {1, 64, 512, 8192, 1000000}) {
    Score score(rate, {4, 4}, 120);
    score.with(idiom("rocking-bass"));
    Run run(score.inputs());
    run.quietly(Samples{5000});
    for (int i = 0; i < 50; ++i) run.dumped(run.now() + Samples{size}, "idle");
  }
}

/// One chord held under a running figure, call by call: rocking bass, the plainest, and then every installed idiom; or
/// those alone that were named after it, to see where one of them spends its time.
std::span<char*> named;
void held() {
  auto ids = named.empty() ? idiomIds() : std::vector<std::string>(named.begin(), named.end());
  if (named.empty()) ids.insert(ids.begin(), "rocking-bass");
  for (const auto& id : ids) {
    Run run(heldChord(id, 30).inputs());
    run.quietly(Samples{100000});  // the first bar: its upper notes are sought anew, which is a chord change's cost
    const auto name = &id == &ids.front() ? "held" : "held " + id;
    for (int i = 0; i < 2000; ++i) run.dumped(run.now() + Samples{512}, name.c_str());
  }
}

void changesUnder(const char* id) {
  Random random(3);
  Score score(rate, {4, 4}, 120);
  score.with(idiom(id));
  const std::vector<std::string> kinds = {"C3 E3 G3",     "C3 F3 A3",  "B2 F3 G3",         "C3 Eb3 G3 Bb3",
                                          "D3 F#3 A3 C4", "E3 G#3 D4", "C3 D3 E3 G3 A3 B3"};
  std::vector<Samples> starts;
  for (int i = 0; i < 200; ++i) {
    const auto at = Samples{24000 + i * 30000 + random.between(0, 4000)};
    starts.push_back(at);
    const int up = static_cast<int>(random.between(-5, 0));
    for (const auto k : keys(random.oneOf(kinds))) {
      const auto key = static_cast<std::uint8_t>(k.value + up > 59 ? k.value + up - 12 : k.value + up);
      score.message({0x80, key, 64}, at + Samples{26000});
      score.message({0x90, key, 70}, at + Samples{random.between(0, 1500)});
    }
  }
  Run run(score.inputs());
  const std::string name = std::string("change ") + id;
  for (const auto at : starts) {
    run.quietly(at);
    run.dumped(at + Samples{4800}, name.c_str());  // the gather window, 50 ms, and more
  }
}

/// held-chords: the new chord's upper notes are sought in the same call.
void changes() {
  for (const char* id : {"rocking-bass", "held-chords"}) changesUnder(id);
}

void hostile() {
  HandsOptions options{rate, 90};
  options.rubbish = true;
  options.tuneChannel = true;
  auto score = randomHands(77, options).score;
  Random random(9);
  for (int burst = 0; burst < 60; ++burst) {
    const auto at = Samples{random.between(0, 4000000)};
    const auto count = random.between(10, 600);
    for (int i = 0; i < count; ++i)
      score.message(
          {static_cast<std::uint8_t>(random.oneIn(2)   ? 0x90
                                     : random.oneIn(2) ? 0x80
                                                       : 0xB0),
           static_cast<std::uint8_t>(random.between(0, 127)), static_cast<std::uint8_t>(random.between(0, 127))},
          at + Samples{random.between(0, 40)});
  }
  Run run(score.inputs());
  for (int i = 0; i < 10000; ++i) run.dumped(run.now() + Samples{random.between(1, 840)}, "hostile");
}

/// A pianist who never tires: a chord a bar, now and then two, a tune in eighths, at 120.
Score playing(double minutes, const std::vector<std::string>& ids, int barsAnIdiom, HandRule rule = HandRule::byKey) {
  Random random(12);
  Score score(rate, {4, 4}, 120);
  Settings settings;
  settings.handRule = rule;
  score.with(settings);
  score.with(idiom(ids.front()));
  const std::vector<std::string> shapes = {"C3 E3 G3", "C3 F3 A3", "B2 F3 G3", "C3 E3 A3", "D3 F3 A3"};
  const auto spread = [&](Ticks place) { return score.sampleOf(place) + Samples{random.between(-900, 1400)}; };
  for (int bar = 0; bar < static_cast<int>(minutes * 30); ++bar) {
    if (bar > 0 && bar % barsAnIdiom == 0)
      score.with(idiom(ids[static_cast<std::size_t>(bar / barsAnIdiom) % ids.size()]), quarters(bar * 4 - 1));
    const int chords = bar % 4 == 3 ? 2 : 1;
    for (int c = 0; c < chords; ++c)
      for (const auto k : keys(random.oneOf(shapes))) {
        const auto from = quarters(bar * 4 + c * 2 + 0.05), to = quarters(bar * 4 + c * 2 + 4.0 / chords - 0.5);
        score.message({0x90, k.value, 70}, spread(from)).message({0x80, k.value, 64}, spread(to));
      }
    for (int eighth = 0; eighth < 8; ++eighth) {
      const auto key = static_cast<std::uint8_t>(random.between(62, 81));
      const auto down = spread(quarters(bar * 4 + eighth * 0.5 + 0.05));
      score.message({0x90, key, 80}, down).message({0x80, key, 64}, down + Samples{9000});
    }
  }
  return score;
}

void minutesOfPlaying(Run& run, double minutes) {
  const auto end = run.now() + Samples{static_cast<std::int64_t>(minutes * 60 * rate)};
  while (run.now() < end) run.counted(std::min(end, run.now() + Samples{512}));
}

void tenMinutes() {
  for (const auto* id : {"waltz", "rocking-bass", "walking-bass"}) {
    Run run(playing(10, {id}, 1000000).inputs());
    zero();
    minutesOfPlaying(run, 10);
    run.dump((std::string("tenMinutes ") + id).c_str());
  }
}

/// The same minutes with the hands told apart by a fixed key and by listening: the difference is what listening costs.
void hands() {
  for (const auto rule : {HandRule::byKey, HandRule::automatic}) {
    const auto inputs = playing(4, {"held-chords"}, 1000000, rule).inputs();
    const auto struck = std::count_if(inputs.begin(), inputs.end(),
                                      [](const Input& i) { return i.kind == InputKind::midi && i.midi.noteOn(); });
    Run run(inputs);
    run.quietly(Samples{1});
    zero();
    minutesOfPlaying(run, 4);
    run.dump(("hands struck=" + std::to_string(struck)).c_str());
  }
}

/// Each minute of a long session alone.
void session() {
  Run run(playing(32, {"rocking-bass"}, 1000000).inputs());
  for (int minute = 1; minute <= 32; ++minute) {
    zero();
    minutesOfPlaying(run, 1);
    if ((minute & (minute - 1)) == 0) run.dump(("session " + std::to_string(minute)).c_str());
  }
}

/// Ten seconds of one chord, after it has been held for so long.
void hold() {
  Run run(heldChord("rocking-bass", 1100).inputs());
  for (int minute = 0, next = 0; minute <= 16; ++minute) {
    run.quietly(Samples{minute * 60 * 48000 + 1000});
    if (minute != next) continue;
    next = next == 0 ? 1 : next * 2;
    zero();
    minutesOfPlaying(run, 1.0 / 6);
    run.dump(("hold " + std::to_string(minute)).c_str());
  }
}

/// Four minutes in which 1, 2, 4 or all the installed idioms take turns, another every fourth bar.
void shelf() {
  const auto ids = idiomIds();
  for (std::size_t count = 1; count <= ids.size(); count *= 2) {
    for (const auto& id : ids) idiom(id);  // all compiled and there
    std::vector<std::string> some;
    for (std::size_t i = 0; i < 64; ++i) some.push_back(ids[i % count]);
    Run run(playing(4, some, 4).inputs());
    zero();
    minutesOfPlaying(run, 4);
    run.dump(("shelf " + std::to_string(count)).c_str());
  }
}

void memory() {
  const auto before = allocated;
  Engine engine;
  engine.prepare(rate);
  std::printf("memory bytes=%zu\n", allocated - before + sizeof(Engine));
}

}  // namespace

int main(int argc, char** argv) {
  struct Scenario {
    const char* name;
    void (*run)();
  };
  const Scenario all[] = {{"nothing", nothing}, {"memory", memory},        {"idle", idle},
                          {"held", held},       {"changes", changes},      {"hostile", hostile},
                          {"hold", hold},       {"session", session},      {"shelf", shelf},
                          {"hands", hands},     {"tenMinutes", tenMinutes}};
  named = std::span(argv, static_cast<std::size_t>(argc)).subspan(static_cast<std::size_t>(std::min(argc, 2)));
  for (const auto& scenario : all)
    if (argc > 1 && std::string(argv[1]) == scenario.name) scenario.run();
  return 0;
}
