#include "dsp/engine.h"

#include <algorithm>

#include "dsp/engine_parts.h"

namespace seguente {

namespace {

/// Hears the inputs of one moment, and marks those that pass; false when none does.
bool hearAll(EngineParts& p, std::span<const Input> inputs, std::size_t first, Samples at, const Sink& sink) noexcept {
  bool anyPasses = false;
  const bool landed = foreseeHands(p, inputs, at);
  for (std::size_t i = 0; i < inputs.size(); ++i) {
    const bool passes = hear(p, inputs[i], static_cast<std::uint32_t>(first + i), at, sink);
    const std::uint64_t bit = std::uint64_t{1} << (i & 63);
    p.passes[i >> 6] = passes ? p.passes[i >> 6] | bit : p.passes[i >> 6] & ~bit;
    anyPasses = anyPasses || passes;
  }
  if (landed || p.hands.deadline() <= at) lookAgainAtHands(p, at, sink);
  return anyPasses;
}

void passAll(EngineParts& p, std::span<const Input> inputs, std::size_t first, Samples at, const Sink& sink) noexcept {
  for (std::size_t i = 0; i < inputs.size(); ++i)
    if ((p.passes[i >> 6] >> (i & 63)) & 1u) {
      Output out;
      out.sample = at;
      out.inputIndex = static_cast<std::uint32_t>(first + i);
      out.bytes = inputs[i].midi.bytes;
      sink.midi(sink.context, out);
    }
}

// At one sample: our note-offs, then what passes in its order of arrival, then our note-ons.

void runPlayer(EngineParts& p, Samples at, const Sink& sink) noexcept {
  if (p.roundGoes()) goRound(p, at, sink);
  if (p.player.next() <= at) p.player.run(at, p.stage);
  if (!p.roundGoes()) return;
  goRound(p, at, sink);  // a chord that has just come, or a signal just obeyed, may have let it go on
  if (p.player.next() <= at) p.player.run(at, p.stage);
}

/// A moment at which something is heard.
void hearMoment(EngineParts& p, std::span<const Input> inputs, std::size_t first, Samples at,
                const Sink& sink) noexcept {
  p.now = at;
  p.stage.sink = sink;
  p.ledger.releaseDue(at, sink);
  const bool anyPasses = hearAll(p, inputs, first, at, sink);
  if (p.tuneMoved || p.tune.deadline() <= at) leaveTuneRoom(p, at);
  if (p.follower.on()) follow(p, at, sink);
  settleChord(p, at, sink);
  runPlayer(p, at, sink);
  if (p.ledger.correcting()) p.ledger.endCorrection(at, sink);
  if (anyPasses) passAll(p, inputs, first, at, sink);
  if (p.lateCount > 0) sendLate(p, at, sink);
  p.ledger.sendStaged(at, sink);
  p.findNextOfAll();
}

/// A moment at which nothing is heard, but something is to be made of what was.
[[gnu::noinline]] void listen(EngineParts& p, Samples at, const Sink& sink) noexcept {
  if (p.hands.deadline() <= at) lookAgainAtHands(p, at, sink);
  if (p.tuneMoved || p.tune.deadline() <= at) leaveTuneRoom(p, at);
  if (p.follower.on()) follow(p, at, sink);
  if (p.gather.deadline() <= at) settleChord(p, at, sink);
  runPlayer(p, at, sink);
  if (p.ledger.correcting()) p.ledger.endCorrection(at, sink);
  if (p.lateCount > 0) sendLate(p, at, sink);
  p.ledger.sendStaged(at, sink);
  p.findNextOfAll();
}

/// The moments before `end`, of which there is one, in which nothing is heard. Out of line, so that a call with nothing
/// to do is short.
[[gnu::noinline]] void playMoments(EngineParts& p, Samples end, const Sink& sink) noexcept {
  p.stage.sink = sink;
  do {
    const Samples at = std::max(p.next, p.now);
    p.now = at;
    if (p.ledger.nextOff() <= at) p.ledger.endDue(at, sink);
    if (p.askAt <= at) {
      listen(p, at, sink);
      continue;
    }
    if (p.player.next() <= at) p.player.run(at, p.stage);
    if (p.ledger.anyStaged()) p.ledger.sendAttacks(at, sink);
    p.findNext();
  } while (p.next < end);
}

inline void playUntil(EngineParts& p, Samples end, const Sink& sink) noexcept {
  if (p.next < end) playMoments(p, end, sink);
}

[[gnu::noinline]] void hearInputs(EngineParts& p, std::span<const Input> inputs, Samples until,
                                  const Sink& sink) noexcept {
  const Samples last = until - Samples{1};
  for (std::size_t i = 0; i < inputs.size();) {
    // One stamped too late counts as the call's last moment, one stamped too early as now.
    const Samples at = std::clamp(inputs[i].sample, p.now, std::max(p.now, last));
    playUntil(p, at, sink);
    std::size_t end = i;
    while (end < inputs.size() && end - i < limits::inputsAtOneSample && (inputs[end].sample <= at || at >= last))
      ++end;
    hearMoment(p, inputs.subspan(i, end - i), i, at, sink);
    i = end;
  }
}

}  // namespace

Engine::Engine() = default;
Engine::~Engine() = default;

void Engine::prepare(double rate) {
  parts_ = std::make_unique<EngineParts>();
  parts_->rate = std::clamp(rate, 8000.0, 768000.0);
  parts_->melodyStart.fill(Samples{-1});
  parts_->clock.reset(parts_->rate);
  parts_->follower.reset(parts_->rate);
  parts_->gatherWindow = parts_->clock.samplesFor(parts_->settings.gatherMilliseconds);
}

void Engine::process(std::span<const Input> inputs, Samples until, const Sink& sink) noexcept {
  auto& p = *parts_;
  if (!inputs.empty()) hearInputs(p, inputs, until, sink);
  playUntil(p, until, sink);
  p.now = std::max(p.now, until);
}

void Engine::silence(const Sink& sink) noexcept {
  silenceAll(*parts_, parts_->now, sink);
  parts_->ledger.closeTune(parts_->now, sink);
}

Samples Engine::now() const noexcept { return parts_->now; }
EngineTime Engine::time() const noexcept {
  const Clock& clock = parts_->clock;
  const Ticks tick = clock.tickAt(parts_->now);
  return {tick, clock.barAt(tick), clock.meter(), clock.quartersPerMinute(), clock.playing()};
}
RoundNow Engine::round() const noexcept {
  const Rounds& rounds = parts_->foresight.rounds();
  if (!rounds.kept()) return {};
  return {true, rounds.beginsAgain(), rounds.length()};
}
NextChord Engine::nextChord() const noexcept {
  const auto& p = *parts_;
  const bool early = p.player.awaitsChord();
  // Where nothing plays, a round that was heard is over; a chart is not.
  if (!p.clock.playing() || !(early || p.player.playsChord() || p.foresight.charted())) return {};
  const Expected e =
      early ? p.foresight.expected(p.player.awaitedAt()) : p.foresight.changeAfter(p.clock.tickAt(p.now));
  if (e.chord == nullptr) return {};
  return {true, *e.chord, e.from};
}
bool Engine::holding() const noexcept { return parts_->player.holding(); }
std::uint32_t Engine::releasedGeneration() const noexcept { return parts_->player.releasedGeneration(); }

}  // namespace seguente
