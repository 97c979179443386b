// A round that is kept going: the chords come by themselves, in time, and only the tune need be played. Glue: what the
// round is stands in rounds.h, what a chord does in the player.
#include "dsp/engine_parts.h"

namespace seguente {

namespace {
void keepRound(EngineParts& p, Samples at) noexcept {
  p.roundAsked = false;
  if (!p.player.playsChord() || !p.clock.playing() || !p.player.hasIdiom()) return;
  const Ticks now = p.clock.tickAt(at), bar = p.clock.bar();
  p.foresight.rounds().keep(now, p.player.barAt(now, p.stage) + bar, bar);
  p.handIsHeard = true;
}

void playChordOfRound(EngineParts& p, Samples at, const Sink& sink) noexcept {
  const Rounds::Coming coming = p.foresight.rounds().coming();
  p.readings = {};
  p.readings.count = 1;
  p.readings.ranked[0].chord = *coming.chord;
  p.readings.ranked[0].complete = true;
  const Chord& chord = p.readings.best();
  const HeardChord heard{chord, degreesOf(chord), *coming.hand, ++p.chordId, 0, p.gather.force()};
  p.chordRevision = 0;
  p.handIsHeard = false;
  p.player.chordOfRound(heard, coming.at, at, p.stage);
  tellChord(p, FactStatus::final, false, at, sink);
}

}  // namespace

void askRound(EngineParts& p, Samples at, const Sink& sink) noexcept {
  if (p.foresight.rounds().kept())
    leaveRound(p, at, sink);
  else if (p.player.awaitsChord())
    p.roundAsked = true;  // the chord that was struck early is part of it
  else
    keepRound(p, at);
}

void leaveRound(EngineParts& p, Samples at, const Sink& sink) noexcept {
  p.roundAsked = false;
  if (!p.foresight.rounds().kept()) return;
  p.foresight.rounds().release();
  if (!p.gather.keys().empty()) return;  // the hand holds one
  p.player.chordGone(at, p.stage);
  tellChord(p, FactStatus::final, true, at, sink);
}

void goRound(EngineParts& p, Samples at, const Sink& sink) noexcept {
  if (p.roundAsked && !p.player.awaitsChord()) keepRound(p, at);
  Rounds& rounds = p.foresight.rounds();
  if (!rounds.kept() || p.player.holding() || !p.clock.playing()) return;
  const auto behind = (p.clock.tickAt(at) - rounds.coming().at).value, bar = p.clock.bar().value;
  if (behind > bar) rounds.shift(Ticks{behind / bar * bar});  // time has leapt
  constexpr int mostAtOnce = 4;
  for (int i = 0; i < mostAtOnce && !p.player.holding(); ++i) {
    if (p.clock.sampleOf(rounds.coming().at) > at) return;
    playChordOfRound(p, at, sink);
  }
}

/// The chord that the hand held when it asked may still be put right; what it strikes after that with two keys or more
/// takes over. One key is a note of the tune that went low, and a hand that lets go is no news.
GatherEvent duringRound(EngineParts& p, GatherEvent event) noexcept {
  if (event == GatherEvent::gone) return GatherEvent::nothing;
  if (event != GatherEvent::struck && p.handIsHeard) return event;
  if (event == GatherEvent::closed) return GatherEvent::nothing;
  const PitchClassSet tones = p.gather.keys().pitchClasses();
  if ((tones.bits & (tones.bits - 1)) == 0) {
    p.player.nothingLanded(p.stage);
    p.handIsHeard = false;
    return GatherEvent::nothing;
  }
  p.foresight.rounds().release();
  p.roundAsked = false;
  return GatherEvent::struck;
}

/// On a jump a kept round goes on on the new bars; one that was only heard begins anew, so that the passes of a host's
/// loop are alike. When time stops it is over.
ClockChange moveClock(EngineParts& p, const TimeAnchor& anchor, Samples at, const Sink& sink) noexcept {
  const bool wasPlaying = p.clock.playing();
  const Ticks bar = p.clock.barAt(p.clock.tickAt(at));
  const auto change = p.clock.anchor(anchor, at);
  Rounds& rounds = p.foresight.rounds();
  if (change == ClockChange::jumped && wasPlaying && rounds.kept())
    rounds.shift(p.clock.barAt(p.clock.tickAt(at)) - bar);
  if (change == ClockChange::stopped) {
    leaveRound(p, at, sink);
    rounds.playingEnds(Ticks{-farTick.value});
  }
  p.player.clockChanged(change, at, p.stage);
  return change;
}

}  // namespace seguente
