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
  p.hands.toldAs(m, ++p.lastNote);
  if (sink.fact == nullptr) return;
  Fact fact;
  fact.kind = FactKind::hand;
  fact.status = j.verdict == Verdict::lend ? FactStatus::provisional : FactStatus::final;
  fact.id = p.lastNote;
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

void tellRevision(EngineParts& p, const HandRevision& r, HandReason reason, Samples at, const Sink& sink) noexcept {
  if (sink.fact == nullptr) return;
  Fact fact;
  fact.kind = FactKind::hand;
  fact.status = r.was == Verdict::lend && r.changed ? FactStatus::withdrawn : FactStatus::final;
  fact.id = r.note.id;
  fact.revision = r.note.revision;
  fact.sample = at;
  fact.tick = p.clock.tickAt(r.note.at);
  fact.note = {r.note.key};
  fact.velocity = {r.note.velocity};
  fact.channel = r.note.channel;
  fact.hand = r.note.verdict == Verdict::take && !r.leftChord ? Hand::chord : Hand::melody;
  fact.verdict = r.note.verdict;
  fact.handReason = reason;
  sink.fact(sink.context, fact);
}

/// How long the chord outlives its last key: a beat, 250 to 700 ms (REFERENCES section 6: between two left-hand chords
/// the last key goes up a median of 300 ms before the next).
Samples bridge(const EngineParts& p, Samples at) noexcept {
  if (!p.clock.playing()) return {1};
  const Ticks now = p.clock.tickAt(at);
  const Samples beat = p.clock.sampleOf(now + p.clock.meter().beat()) - p.clock.sampleOf(now);
  return std::clamp(beat, p.clock.samplesFor(250), p.clock.samplesFor(700));
}

/// A felt beat: a quarter, or the three eighths of a compound meter.
Samples feltBeat(const EngineParts& p) noexcept {
  const Meter meter = p.clock.meter();
  const double quarters =
      compound(meter) && meter.numerator > 3 ? 12.0 / meter.denominator : std::max(1.0, 4.0 / meter.denominator);
  return p.clock.samplesFor(quarters * 60000 / p.clock.quartersPerMinute());
}

void tuneStruck(EngineParts& p, NoteNumber note, Velocity velocity, Samples at) noexcept {
  p.tune.struck(note, velocity, at, feltBeat(p));
  p.tuneStruck = p.tuneMoved = true;
}

void closeTuneNote(EngineParts& p, std::uint8_t channel, NoteNumber note, Samples at, const Sink& sink) noexcept {
  KeySet one;
  one.add(note);
  p.ledger.closeTune(channel, one, at, sink);
}

/// What a chord would be made of here: the tones of the key, and those of the chart.
PitchClassSet tonesExpected(const EngineParts& p, Samples at) noexcept {
  const Key& key = p.keyFinder.key();
  if (!key.known) return {0xFFF};
  PitchClassSet tones = scaleOf(key);
  if (p.foresight.silent()) return tones;
  const Expected e = p.foresight.inChart(p.clock.tickAt(at));  // a round that was guessed must not bend the ear
  if (e.chord != nullptr) tones.bits = static_cast<std::uint16_t>(tones.bits | tonesOf(*e.chord).bits);
  return tones;
}

bool hearNoteOn(EngineParts& p, const MidiMessage& m, std::uint32_t index, Samples at, const Sink& sink) noexcept {
  const auto judged = p.hands.noteOn(m, p.settings);
  const NoteNumber note{static_cast<std::uint8_t>(m.bytes[1] & 0x7F)};
  if (judged.ours) tellHand(p, m, judged, index, at, sink);
  if (judged.leavesChord) p.gather.keyUp(note, at, bridge(p, at));
  if (judged.leavesTune && !p.bypassed) closeTuneNote(p, m.channel(), note, at, sink);
  if (judged.ours && p.follower.on()) followNote(p, judged.verdict == Verdict::take, at);
  if (judged.verdict == Verdict::take) {
    if (!p.gather.open()) p.gather.expect(tonesExpected(p, at));  // once for all fingers of a chord
    p.gather.keyDown(note, {static_cast<std::uint8_t>(m.bytes[2] & 0x7F)}, at, p.gatherWindow);
    if (!sounds(p)) echo(p, m, at, sink);
    if (p.bypassed) p.ledger.tuneDown(m.channel(), note, at, sink);
    return p.bypassed;
  }
  p.ledger.tuneDown(m.channel(), note, at, sink);
  if (judged.ours) {
    p.melodyHeard = true;
    p.melodyStart[note.value] = at;
    tuneStruck(p, note, {static_cast<std::uint8_t>(m.bytes[2] & 0x7F)}, at);
  }
  return true;
}

/// Lent, and the chord hand's after all: one note-off ends it in the tune; the real one will be swallowed.
void withdraw(EngineParts& p, const HeardNote& n, Samples at, const Sink& sink) noexcept {
  const NoteNumber note{n.key};
  if (n.down && !p.bypassed) closeTuneNote(p, n.channel, note, at, sink);
  p.melodyStart[n.key] = {-1};
  p.tuneMoved = true;
  p.gather.keyDown(note, {n.velocity}, n.at, p.gatherWindow);
  if (!n.down) p.gather.keyUp(note, at, bridge(p, at));
  if (n.down && !sounds(p)) echo(p, {{static_cast<std::uint8_t>(0x90 | n.channel), n.key, n.velocity}, 3}, at, sink);
}

void leaveChord(EngineParts& p, NoteNumber note, Samples at) noexcept {
  p.gather.takeBack(note, at, bridge(p, at));
  if (!p.gather.landing()) p.player.nothingLanded(p.stage);
}

/// Taken, and the tune's after all: it is sent late, if it is still down.
void giveBack(EngineParts& p, const HeardNote& n, Samples at, const Sink& sink) noexcept {
  const NoteNumber note{n.key};
  leaveChord(p, note, at);
  p.ledger.releaseEcho(p.settings.outputChannel[1], note, at, sink);
  if (!n.down || p.bypassed) return;
  p.ledger.tuneDown(n.channel, note, at, sink);
  p.melodyHeard = true;
  p.melodyStart[n.key] = at;
  tuneStruck(p, note, {n.velocity}, at);
  if (p.lateCount < p.late.size())
    p.late[p.lateCount++] = {static_cast<std::uint8_t>(0x90 | n.channel), n.key, n.velocity};
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
  p.tuneMoved = true;
  const auto start = p.melodyStart[note.value];
  if (start.value >= 0 && p.clock.playing()) {
    const Ticks sounded = p.clock.tickAt(at) - p.clock.tickAt(start);
    if (sounded.value > 0) p.keyFinder.hear(note.pitchClass(), sounded);
  }
  p.melodyStart[note.value] = {-1};
  return true;
}

/// Time comes from somebody else from here on: it stands until they have begun.
void followAnew(EngineParts& p, Samples at) noexcept {
  p.follower.configure(p.settings.follow);
  p.beat = {.id = p.beat.id};
  TimeAnchor stopped;
  stopped.tick = p.clock.tickAt(at);
  stopped.meter = p.settings.follow.on ? p.settings.follow.meter : p.clock.meter();
  stopped.playing = false;
  p.player.clockChanged(p.clock.anchor(stopped, at), at, p.stage);
}

void applySettings(EngineParts& p, const Settings& s, Samples at, const Sink& sink) noexcept {
  const bool otherKey = !(s.key == p.settings.key);
  const bool otherTime = !(s.follow == p.settings.follow);
  const bool otherChannels = s.outputChannel != p.settings.outputChannel;
  p.settings = s;
  for (auto& c : p.settings.outputChannel) c &= 0x0F;
  p.gatherWindow = p.clock.samplesFor(std::clamp<int>(s.gatherMilliseconds, 1, 500));
  if (otherTime) followAnew(p, at);
  p.player.settingsChanged(at, p.stage);
  if (otherKey) p.keyFinder.fix(s.key);
  if (otherChannels) p.ledger.releaseAll(at, sink);
}

void hearPedal(EngineParts& p, const MidiMessage& m, Samples at) noexcept {
  const bool down = (m.bytes[2] & 0x7F) >= 64;  // 64 and more is on: MIDI 1.0
  p.hands.pedal(m.channel(), down);
  if ((p.settings.chordChannels >> m.channel() & 1) != 0) p.gather.pedal(down, at, bridge(p, at));
}

bool hearMidi(EngineParts& p, const MidiMessage& m, std::uint32_t index, Samples at, const Sink& sink) noexcept {
  if (m.noteOn()) return hearNoteOn(p, m, index, at, sink);
  if (m.noteOff()) return hearNoteOff(p, m, at, sink);
  if (m.controller(64)) hearPedal(p, m, at);
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
    p.player.silence(p.stage);
    leaveRound(p, at, sink);
    return;
  }
  for (std::size_t channel = 0; channel < limits::channels; ++channel)
    p.ledger.closeTune(static_cast<std::uint8_t>(channel), p.hands.taken(channel), at, sink);
  p.gather.strikeAgain(at);
  if (sounds(p)) return;
  p.gather.down().forEach([&](NoteNumber note) { echo(p, {{0x90, note.value, p.gather.force().value}, 3}, at, sink); });
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

bool hear(EngineParts& p, const Input& input, std::uint32_t index, Samples at, const Sink& sink) noexcept {
  switch (input.kind) {
    case InputKind::midi:
      return hearMidi(p, input.midi, index, at, sink);
    case InputKind::time: {
      if (p.follower.on()) break;
      if (moveClock(p, input.time, at, sink) == ClockChange::jumped) p.gather.doubt();
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
      if (input.gesture == Gesture::round) {
        askRound(p, at, sink);
        break;
      }
      p.player.gesture(input.gesture, at, p.stage);
      if (input.gesture == Gesture::end) leaveRound(p, at, sink);
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

namespace {
HandContext handContextAt(const EngineParts& p, Samples at) noexcept {
  const bool held = !p.gather.keys().empty() && p.readings.count > 0;
  return handContext(held ? &p.readings.best() : nullptr, p.keyFinder.key(), p.foresight, p.clock, at);
}
}  // namespace

bool foreseeHands(EngineParts& p, std::span<const Input> moment, Samples at) noexcept {
  // What is set in this very moment counts already: a file begins with both.
  const Settings* settings = &p.settings;
  for (const Input& input : moment)
    if (input.kind == InputKind::settings) settings = &input.settings;
  if (settings->handRule != HandRule::automatic) return false;
  return p.hands.foresee(moment, *settings, handContextAt(p, at), at, p.tenthsAt(at),
                         p.clock.samplesFor(std::clamp<int>(settings->gatherMilliseconds, 1, 500)));
}

void lookAgainAtHands(EngineParts& p, Samples at, const Sink& sink) noexcept {
  if (p.hands.deadline() == never) return;
  const HandContext context = p.hands.asksAgain(at) ? handContextAt(p, at) : HandContext{};
  for (const HandRevision& r : p.hands.lookAgain(at, p.tenthsAt(at), context)) {
    const bool chord = r.note.verdict == Verdict::take && !r.leftChord;
    const bool tune = r.leftChord || r.changed;
    tellRevision(p, r,
                 chord  ? HandReason::joinedChord
                 : tune ? HandReason::wasTune
                        : HandReason::stayedWithTune,
                 at, sink);
    if (r.leftChord) leaveChord(p, {r.note.key}, at);
    if (!r.changed) continue;
    if (chord)
      withdraw(p, r.note, at, sink);
    else
      giveBack(p, r.note, at, sink);
  }
}

void leaveTuneRoom(EngineParts& p, Samples at) noexcept {
  p.tune.holds(p.hands.melodyHeld(), at);
  p.tune.settle(at);
  p.player.tuneMoved(p.tuneStruck, at, p.stage);
  p.tuneMoved = p.tuneStruck = false;
}

void sendLate(EngineParts& p, Samples at, const Sink& sink) noexcept {
  for (std::size_t i = 0; i < p.lateCount; ++i) {
    Output out;
    out.sample = at;
    out.kind = OutputKind::noteOn;
    out.bytes = p.late[i];
    out.tick = p.clock.tickAt(at);
    sink.midi(sink.context, out);
  }
  p.lateCount = 0;
}

void settleChord(EngineParts& p, Samples at, const Sink& sink) noexcept {
  GatherEvent event = p.gather.settle(at);
  if (event == GatherEvent::nothing || p.bypassed) return;
  if (p.foresight.rounds().kept()) event = duringRound(p, event);
  if (event == GatherEvent::nothing) return;
  if (event == GatherEvent::gone) {
    p.foresight.rounds().playingEnds(p.clock.tickAt(at) + p.clock.bar());
    p.player.chordGone(at, p.stage);
    p.melodyHeard = p.melodyHeard && !p.hands.melodyHeld().empty();
    tellChord(p, FactStatus::final, true, at, sink);
    return;
  }
  if (event == GatherEvent::closed) {
    tellChord(p, FactStatus::final, false, at, sink);
    return;
  }
  const Expected e = p.foresight.inChart(p.clock.tickAt(p.gather.firstFinger()));
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
  if (!refined && p.follower.on()) followChord(p, at, sink);
  if (refined)
    p.player.chordRefined(heard, at, p.stage);
  else
    p.player.chordStruck(heard, p.gather.firstFinger(), at, p.stage);
  tellChord(p, p.gather.deadline() == never ? FactStatus::final : FactStatus::provisional, false, at, sink);
}

void silenceAll(EngineParts& p, Samples at, const Sink& sink) noexcept {
  p.ledger.releaseAll(at, sink);
  p.player.silence(p.stage);
  p.gather.reset();
  leaveRound(p, at, sink);
}

}  // namespace seguente
