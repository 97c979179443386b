// The clock from the hands: glue between what is heard, the follower, the clock and the player; and the beats as facts.
#include "dsp/engine_parts.h"

namespace seguente {

namespace {

void tellBeat(EngineParts& p, FactStatus status, Samples at, const Sink& sink) noexcept {
  if (sink.fact == nullptr) return;
  const Clock& clock = p.clock;
  Fact fact;
  fact.kind = FactKind::beat;
  fact.status = status;
  fact.id = p.beat.id;
  fact.revision = p.beat.revision;
  fact.sample = at;
  fact.tick = p.beat.tick;
  fact.falls = p.beat.falls;
  fact.meter = clock.meter();
  fact.beatOfBar =
      static_cast<std::uint8_t>(1 + (p.beat.tick - clock.barAt(p.beat.tick)).value / clock.meter().beat().value);
  fact.confidence = static_cast<std::uint8_t>(p.follower.confidence() * 100);
  sink.fact(sink.context, fact);
}

/// The beat ahead is told, or told anew when it has moved by more than a millisecond.
void foretell(EngineParts& p, Samples at, const Sink& sink) noexcept {
  const Samples falls = p.clock.playing() ? p.clock.sampleOf(p.beat.tick) : never;
  if (falls == never) {
    if (p.beat.told) tellBeat(p, FactStatus::withdrawn, at, sink);
    p.beat.told = false;
    p.beat.falls = never;
    return;
  }
  const Samples little = p.clock.samplesFor(1);
  const bool asTold = falls - p.beat.falls <= little && p.beat.falls - falls <= little;
  p.beat.falls = falls;
  if (p.beat.told && asTold) return;
  if (p.beat.told) ++p.beat.revision;
  p.beat.told = true;
  if (falls > at) tellBeat(p, FactStatus::provisional, at, sink);
}

/// The clock was set anew: which beat comes next?
void nextBeat(EngineParts& p, Samples at, bool elsewhere, const Sink& sink) noexcept {
  Ticks next = p.clock.beatAt(p.beat.tick);
  if (elsewhere) {
    next = p.clock.beatAt(p.clock.tickAt(at));
    // A chord tells of its downbeat a few fingers late.
    if (at - p.clock.sampleOf(next) > p.clock.samplesFor(100)) next = next + p.clock.meter().beat();
    // The same beat a moment later is not told twice.
    const Samples beat = p.clock.sampleOf(next + p.clock.meter().beat()) - p.clock.sampleOf(next);
    if ((p.clock.sampleOf(next) - p.beat.lastFell).value * 3 < beat.value) next = next + p.clock.meter().beat();
  }
  if (next != p.beat.tick || elsewhere) {
    if (p.beat.told) tellBeat(p, FactStatus::withdrawn, at, sink);
    p.beat = {next, never, p.beat.lastFell, p.beat.id + 1, 0, false};
  }
  foretell(p, at, sink);
}

/// The beats from the first chord on, which are known only now that a beat is found.
void tellPast(EngineParts& p, Samples at, const Sink& sink) noexcept {
  const Ticks beat = p.clock.meter().beat();
  const Ticks now = p.clock.tickAt(at);
  Ticks tick = p.follower.firstBeat();
  for (int told = 0; told < 32 && tick < now && p.clock.sampleOf(tick) < at; ++told, tick = tick + beat) {
    const Samples falls = p.clock.sampleOf(tick);
    if (falls < Samples{}) continue;
    p.beat = {tick, falls, falls, p.beat.id + 1, 0, false};
    tellBeat(p, FactStatus::final, at, sink);
  }
}

void take(EngineParts& p, const FollowStep& step, Samples at, const Sink& sink) noexcept {
  if (step.kind == FollowStep::Kind::standStill) {
    p.clock.standStill(step.ceiling);
    p.player.clockChanged(ClockChange::moved, at, p.stage);
    foretell(p, at, sink);
    return;
  }
  const auto change = moveClock(p, step.anchor, at, sink);
  if (change == ClockChange::nothing) return;
  if (change == ClockChange::started) tellPast(p, at, sink);
  nextBeat(p, at, change == ClockChange::jumped || change == ClockChange::started, sink);
}

}  // namespace

void followNote(EngineParts& p, bool chord, Samples at) noexcept { p.follower.noteOn(chord, at); }

void follow(EngineParts& p, Samples at, const Sink& sink) noexcept {
  p.follower.held(!p.gather.lifted() || !p.hands.melodyHeld().empty(), p.settings.waitForChord && p.player.searching());
  for (int turns = 0; turns < 4; ++turns) {
    const FollowStep step = p.follower.step(at, p.clock);
    if (step.kind == FollowStep::Kind::nothing) break;
    take(p, step, at, sink);
  }
  if (p.beat.falls > at || !p.beat.told) return;
  tellBeat(p, FactStatus::final, at, sink);
  p.beat = {p.beat.tick + p.clock.meter().beat(), never, p.beat.falls, p.beat.id + 1, 0, false};
  foretell(p, at, sink);
}

void followChord(EngineParts& p, Samples at, const Sink& sink) noexcept {
  const FollowStep step = p.follower.chordStruck(p.gather.firstFinger(), at, p.clock);
  if (step.kind != FollowStep::Kind::nothing) take(p, step, at, sink);
}

}  // namespace seguente
