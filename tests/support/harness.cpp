#include "tests/support/harness.h"

#include <tuple>

#include "tests/guard/audio_thread.h"
#include "tests/support/random.h"

namespace seguente::test {

namespace {

auto tied(const NoteReason& r) {
  return std::tuple(r.noteId, r.part, r.figure, r.row, r.play, r.degree.number, r.degree.alteration, r.chordId,
                    r.chordRevision, r.reason, r.cause, r.due, r.dueTick);
}
auto tied(const Event& e) {
  return std::tuple(e.sample, e.kind, e.inputIndex, e.bytes, e.noteId, e.tick, tied(e.reason));
}
auto tied(const Fact& f) {
  return std::tuple(f.kind, f.status, f.id, f.revision, f.sample, f.tick, f.note, f.velocity, f.channel, f.hand,
                    f.verdict, f.handReason, f.inputIndex, f.key.tonic, f.key.mode, f.key.known);
}

/// Room for a long run, taken before it: the sink runs on the audio thread and must not ask for memory.
constexpr std::size_t room = 1u << 18;

struct Collector {
  Rendering& rendering;
  std::uint32_t firstInput = 0;  // of the call, in the whole stream

  static void midi(void* context, const Output& o) {
    auto& self = *static_cast<Collector*>(context);
    if (self.rendering.events.size() == room) {
      self.rendering.overflowed = true;
      return;
    }
    Event e{o.sample, o.kind, 0, o.bytes, o.noteId, {}, o.tick};
    if (o.kind == OutputKind::passed) e.inputIndex = o.inputIndex + self.firstInput;
    if (o.reason != nullptr) e.reason = *o.reason;
    self.rendering.events.push_back(e);
  }
  static void fact(void* context, const Fact& f) {
    auto& self = *static_cast<Collector*>(context);
    if (self.rendering.facts.size() == room) {
      self.rendering.overflowed = true;
      return;
    }
    HeardFact heard{f, std::nullopt, false};
    heard.fact.readings = nullptr;
    if (f.kind == FactKind::hand && f.revision == 0) heard.fact.inputIndex += self.firstInput;
    if (f.readings != nullptr && f.readings->count > 0) {
      heard.chord = f.readings->best();
      heard.complete = f.readings->ranked[0].complete;
    }
    self.rendering.facts.push_back(heard);
  }
};

/// The end of the next call.
Samples nextEnd(Samples now, Samples end, const Blocks& blocks, std::size_t& turn, Random& random) {
  if (blocks.sizes.empty()) return end;
  const auto size = blocks.seed ? random.oneOf(blocks.sizes) : blocks.sizes[turn++ % blocks.sizes.size()];
  return std::min(end, now + Samples{size});
}

}  // namespace

bool operator==(const Event& a, const Event& b) { return tied(a) == tied(b); }
bool operator==(const HeardFact& a, const HeardFact& b) { return tied(a.fact) == tied(b.fact) && a.chord == b.chord; }

std::string Blocks::text() const {
  std::string out = sizes.empty() ? "one whole block" : seed ? "random blocks of" : "blocks of";
  for (const auto size : sizes) out += " " + std::to_string(size);
  if (seed) out += ", seed " + std::to_string(*seed);
  return out;
}

Rendering renderInBlocks(const std::vector<Input>& inputs, const Blocks& blocks, double rate, Samples end,
                         bool silenceAtEnd) {
  Rendering rendering;
  rendering.events.reserve(room);
  rendering.facts.reserve(room);
  Collector collector{rendering};
  const Sink sink{&collector, Collector::midi, Collector::fact};
  Random random(blocks.seed.value_or(0));
  Engine engine;
  engine.prepare(rate);
  guard::violations();
  std::size_t turn = 0;
  std::size_t taken = 0;
  for (Samples now{}; now < end;) {
    const auto until = nextEnd(now, end, blocks, turn, random);
    auto last = taken;
    while (last < inputs.size() && inputs[last].sample < until) ++last;
    collector.firstInput = static_cast<std::uint32_t>(taken);
    {
      const guard::AudioThread audioThread;
      engine.process(std::span(inputs).subspan(taken, last - taken), until, sink);
    }
    taken = last;
    now = until;
  }
  if (silenceAtEnd) {
    const guard::AudioThread audioThread;
    engine.silence(sink);
  }
  rendering.violations = guard::violations();
  return rendering;
}

Rendering render(const Score& score, Ticks end, const Blocks& blocks) {
  return renderInBlocks(score.inputs(), blocks, score.rate(), score.sampleOf(end));
}

}  // namespace seguente::test
