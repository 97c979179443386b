// What each input does to the parts. Glue: no music here.
#include <algorithm>

#include "dsp/engine_parts.h"

namespace seguente {

namespace {

bool sounds(const EngineParts& p) noexcept { return p.bypassed || (p.clock.playing() && p.player.hasIdiom()); }

/// The transport stands (or there is no idiom): the chord hand's keys sound as they are held.
void echo(EngineParts& p, const MidiMessage& m, Samples at, const Sink& sink) noexcept {
  Strike strike;
  strike.channel = p.settings.outputChannel[1];
  strike.note = {static_cast<std::uint8_t>(m.bytes[1] & 0x7F)};
  strike.velocity = Velocity::clamped(m.bytes[2] & 0x7F);
  strike.off = untilReleased;
  strike.tick = p.clock.tickAt(at);
  strike.reason.part = 1;
  strike.reason.play = PlayKind::heldAll;
  strike.reason.reason = Reason::asHeld;
  strike.reason.due = at;
  strike.reason.dueTick = strike.tick;
  p.ledger.strike(strike, p.clock, at, sink);
}

void tellHand(EngineParts& p, const MidiMessage& m, const HandJudgement& j, std::uint32_t index, Samples at,
              const Sink& sink) noexcept {
  if (sink.fact == nullptr) return;
  Fact fact;
  fact.kind = FactKind::hand;
  fact.status = FactStatus::final;
  fact.id = ++p.lastNote;
  fact.sample = at;
  fact.tick = p.clock.tickAt(at);
  fact.note = {static_cast<std::uint8_t>(m.bytes[1] & 0x7F)};
  fact.velocity = {static_cast<std::uint8_t>(m.bytes[2] & 0x7F)};
  fact.channel = m.channel();
  fact.hand = j.hand;
  fact.verdict = j.verdict;
  fact.handReason = j.reason;
  fact.inputIndex = index;
  sink.fact(sink.context, fact);
}

bool hearNoteOn(EngineParts& p, const MidiMessage& m, std::uint32_t index, Samples at, const Sink& sink) noexcept {
  const auto judged = p.hands.noteOn(m, p.settings);
  const NoteNumber note{static_cast<std::uint8_t>(m.bytes[1] & 0x7F)};
  if (judged.ours) tellHand(p, m, judged, index, at, sink);
  if (judged.verdict == Verdict::take) {
    p.gather.keyDown(note, {static_cast<std::uint8_t>(m.bytes[2] & 0x7F)}, at, p.gatherWindow);
    if (!sounds(p)) echo(p, m, at, sink);
    if (p.bypassed) p.ledger.tuneDown(m.channel(), note, at, sink);
    return p.bypassed;
  }
  p.ledger.tuneDown(m.channel(), note, at, sink);
  if (judged.ours) {
    p.melodyHeard = true;
    p.melodyStart[note.value] = at;
  }
  return true;
}

/// How long the chord outlives its last key: a beat, 250 to 700 ms (REFERENCES section 6: between two left-hand chords
/// the last key goes up a median of 300 ms before the next).
Samples bridge(const EngineParts& p, Samples at) noexcept {
  if (!p.clock.playing()) return {1};
  const Ticks now = p.clock.tickAt(at);
  const Samples beat = p.clock.sampleOf(now + p.clock.meter().beat()) - p.clock.sampleOf(now);
  return std::clamp(beat, p.clock.samplesFor(250), p.clock.samplesFor(700));
}

bool hearNoteOff(EngineParts& p, const MidiMessage& m, Samples at, const Sink& sink) noexcept {
  const NoteNumber note{static_cast<std::uint8_t>(m.bytes[1] & 0x7F)};
  if (p.hands.noteOff(m) == Verdict::take) {
    p.gather.keyUp(note, at, bridge(p, at));
    if (p.settings.keep) p.gather.keepOn();
    p.ledger.releaseEcho(p.settings.outputChannel[1], note, at, sink);
    return p.ledger.tuneUp(m.channel(), note);  // it had passed, while bypassed
  }
  p.ledger.tuneUp(m.channel(), note);
  const auto start = p.melodyStart[note.value];
  if (start.value >= 0 && p.clock.playing()) {
    const Ticks sounded = p.clock.tickAt(at) - p.clock.tickAt(start);
    if (sounded.value > 0) p.keyFinder.hear(note.pitchClass(), sounded);
  }
  p.melodyStart[note.value] = {-1};
  return true;
}

void applySettings(EngineParts& p, const Settings& s, Samples at, const Sink& sink) noexcept {
  const bool otherKey = !(s.key == p.settings.key);
  const bool otherChannels = s.outputChannel != p.settings.outputChannel;
  p.settings = s;
  for (auto& c : p.settings.outputChannel) c &= 0x0F;
  p.gatherWindow = p.clock.samplesFor(std::clamp<int>(s.gatherMilliseconds, 1, 500));
  p.player.settingsChanged();
  if (otherKey) p.keyFinder.fix(s.key);
  if (otherChannels) p.ledger.releaseAll(at, sink);
}

bool hearMidi(EngineParts& p, const MidiMessage& m, std::uint32_t index, Samples at, const Sink& sink) noexcept {
  if (m.noteOn()) return hearNoteOn(p, m, index, at, sink);
  if (m.noteOff()) return hearNoteOff(p, m, at, sink);
  // All sound off and all notes off silence ours too (MIDI 1.0 channel mode messages).
  const bool mine = ((p.settings.chordChannels | p.settings.melodyChannels) >> m.channel() & 1) != 0;
  if (mine && (m.controller(120) || m.controller(123))) silenceAll(p, at, sink);
  return true;
}

/// What passed of the chord hand while bypassed is closed when it is taken up again.
void bypass(EngineParts& p, bool on, Samples at, const Sink& sink) noexcept {
  if (on == p.bypassed) return;
  p.bypassed = on;
  if (on) {
    p.ledger.releaseAll(at, sink);
    p.player.silence();
    return;
  }
  for (std::size_t channel = 0; channel < limits::channels; ++channel)
    p.ledger.closeTune(static_cast<std::uint8_t>(channel), p.hands.taken(channel), at, sink);
  p.gather.strikeAgain(at);
  if (sounds(p)) return;
  p.gather.down().forEach([&](NoteNumber note) { echo(p, {{0x90, note.value, p.gather.force().value}, 3}, at, sink); });
}

void tellChord(EngineParts& p, FactStatus status, bool none, Samples at, const Sink& sink) noexcept {
  if (sink.fact == nullptr) return;
  Fact fact;
  fact.kind = FactKind::chord;
  fact.status = status;
  fact.id = p.chordId;
  fact.revision = p.chordRevision;
  fact.sample = at;
  fact.tick = none ? p.clock.tickAt(at) : p.player.chordSince();
  fact.readings = none ? nullptr : &p.readings;
  fact.key = p.keyFinder.key();
  sink.fact(sink.context, fact);
}

void tellKey(EngineParts& p, Samples at, const Sink& sink) noexcept {
  if (sink.fact == nullptr) return;
  Fact fact;
  fact.kind = FactKind::key;
  fact.revision = ++p.keyRevision;  // one key fact, revised as the piece goes
  fact.sample = at;
  fact.tick = p.clock.tickAt(at);
  fact.key = p.keyFinder.key();
  sink.fact(sink.context, fact);
}

}  // namespace

bool hear(EngineParts& p, const Input& input, std::uint32_t index, Samples at, const Sink& sink) noexcept {
  switch (input.kind) {
    case InputKind::midi:
      return hearMidi(p, input.midi, index, at, sink);
    case InputKind::time: {
      const auto change = p.clock.anchor(input.time, at);
      if (change == ClockChange::jumped) p.gather.doubt();
      p.player.clockChanged(change, at, p.stage);
      break;
    }
    case InputKind::settings:
      applySettings(p, input.settings, at, sink);
      break;
    case InputKind::idiom:
      p.player.setIdiom(input.idiom, at, p.stage);
      break;
    case InputKind::chart:
      p.foresight.setChart(input.chart);
      break;
    case InputKind::gesture:
      p.player.gesture(input.gesture, at, p.stage);
      break;
    case InputKind::silence:
      silenceAll(p, at, sink);
      p.ledger.closeTune(at, sink);
      break;
    case InputKind::bypass:
      bypass(p, input.bypassed, at, sink);
      break;
  }
  return false;
}

void settleChord(EngineParts& p, Samples at, const Sink& sink) noexcept {
  const GatherEvent event = p.gather.settle(at);
  if (event == GatherEvent::nothing || p.bypassed) return;
  if (event == GatherEvent::gone) {
    p.player.chordGone(at, p.stage);
    p.melodyHeard = p.melodyHeard && !p.hands.melodyHeld().empty();
    tellChord(p, FactStatus::final, true, at, sink);
    return;
  }
  if (event == GatherEvent::closed) {
    tellChord(p, FactStatus::final, false, at, sink);
    return;
  }
  const Expected e = p.foresight.expected(p.clock.tickAt(p.gather.firstFinger()));
  p.readings = nameChord(p.gather.keys(), p.keyFinder.key(), e.chord);
  if (p.readings.count == 0) return;
  const bool refined = event == GatherEvent::refined;
  if (!refined) p.keyFinder.hearChord(p.readings.best(), Ticks{2 * quarter.value});
  const Key before = p.keyFinder.key();
  if (!refined && !(p.keyFinder.update() == before)) {
    for (std::size_t i = 0; i < p.readings.count; ++i) spell(p.readings.ranked[i].chord, p.keyFinder.key());
    tellKey(p, at, sink);
  }
  if (!refined) ++p.chordId;
  p.chordRevision = refined ? static_cast<std::uint16_t>(p.chordRevision + 1) : std::uint16_t{0};
  const HeardChord heard{p.readings.best(), degreesOf(p.readings.best()), p.gather.keys(), p.chordId, p.chordRevision,
                         p.gather.force()};
  if (refined)
    p.player.chordRefined(heard, at, p.stage);
  else
    p.player.chordStruck(heard, p.gather.firstFinger(), at, p.stage);
  tellChord(p, p.gather.deadline() == never ? FactStatus::final : FactStatus::provisional, false, at, sink);
}

void silenceAll(EngineParts& p, Samples at, const Sink& sink) noexcept {
  p.ledger.releaseAll(at, sink);
  p.player.silence();
  p.gather.reset();
}

}  // namespace seguente
