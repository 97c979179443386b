// The engine's parts as one block of memory, taken at prepare, and what they have heard so far.
#pragma once

#include <algorithm>
#include <array>

#include "dsp/clock.h"
#include "dsp/expected.h"
#include "dsp/follower.h"
#include "dsp/gather.h"
#include "dsp/hand_context.h"
#include "dsp/hands.h"
#include "dsp/harmony.h"
#include "dsp/ledger.h"
#include "dsp/player.h"
#include "dsp/tune.h"
#include "dsp/voicing.h"

namespace seguente {

/// The next beat of a followed clock, as it has been told so far.
struct BeatToTell {
  Ticks tick{};
  Samples falls = never;
  Samples lastFell{-never.value};  // the one before
  std::uint32_t id = 0;
  std::uint16_t revision = 0;
  bool told = false;
};

struct EngineParts {
  Settings settings{};
  Hands hands;
  Gather gather;
  KeyFinder keyFinder;
  Clock clock;
  Follower follower;
  Player player;
  Voicing voicing;
  Ledger ledger;
  Foresight foresight;
  Tune tune;

  Readings readings{};                                                 // of the chord in force
  std::array<Samples, limits::keys> melodyStart{};                     // for the key: how long a tune note lasted
  std::array<std::uint64_t, limits::inputsAtOneSample / 64> passes{};  // which inputs of this moment go straight out
  std::array<std::array<std::uint8_t, 3>, HandMemory::room>
      late{};  // notes of the tune to be sent late, in this moment
  std::size_t lateCount = 0;
  double rate = 48000;
  Samples now{};
  Samples next = never;      // the next moment in which anything is due
  Samples listenAt = never;  // the next in which hands, gather or follower are to be asked
  Samples askAt = never;     // from when on a moment asks them: with the clock from the hands, each does
  Samples gatherWindow{};    // from the settings, at this rate
  std::uint32_t lastNote = 0;
  std::uint32_t chordId = 0;
  std::uint16_t chordRevision = 0;
  std::uint16_t keyRevision = 0;
  BeatToTell beat{};
  bool roundAsked = false;  // to be kept once a chord that was struck early has come
  bool handIsHeard = true;  // while a round goes by itself: false when the chord hand has told nothing
  bool melodyHeard = false;
  bool tuneStruck = false;  // in this moment
  bool tuneMoved = false;
  bool bypassed = false;

  Stage stage{clock,  ledger,      voicing, foresight, settings, keyFinder.key(), hands.melodyHeld(),
              gather, melodyHeard, tune,    {}};

  Tenths tenthsAt(Samples s) const noexcept {
    return {static_cast<std::int64_t>(static_cast<double>(s.value) * 10000.0 / rate)};
  }
  /// A round is kept going, or is to be.
  bool roundGoes() const noexcept { return foresight.rounds().kept() || roundAsked; }
  Samples roundDue() const noexcept {
    if (roundAsked || player.holding()) return player.next();  // until it takes the chord up, or goes on
    return clock.playing() ? clock.sampleOf(foresight.rounds().coming().at) : never;
  }
  void findNext() noexcept { next = std::min({ledger.nextOff(), player.next(), listenAt}); }
  /// After hands, gather or follower have moved.
  void findNextOfAll() noexcept {
    listenAt = std::min({hands.deadline(), gather.deadline(), tune.deadline()});
    if (follower.on()) listenAt = std::min({listenAt, follower.deadline(), beat.falls});
    if (roundGoes()) listenAt = std::min(listenAt, roundDue());
    askAt = follower.on() ? Samples{-never.value} : listenAt;
    findNext();
  }
};

/// One input enters the parts; returns whether its message passes. [audio]
bool hear(EngineParts& parts, const Input& input, std::uint32_t index, Samples at, const Sink& sink) noexcept;

/// Before the inputs of one moment are heard: their notes are judged together. True when any landed. [audio]
bool foreseeHands(EngineParts& parts, std::span<const Input> moment, Samples at) noexcept;

/// Notes have landed, or a window is over: verdicts that may be changed are looked at again. [audio]
void lookAgainAtHands(EngineParts& parts, Samples at, const Sink& sink) noexcept;

/// The tune has moved in this moment, or has stopped moving: the accompaniment leaves it room. [audio]
void leaveTuneRoom(EngineParts& parts, Samples at) noexcept;

/// Sends what the tune is given late: after all that passes in this moment. [audio]
void sendLate(EngineParts& parts, Samples at, const Sink& sink) noexcept;

/// The chord hand has moved, or its deadline fell: names what it holds and tells the player. [audio]
void settleChord(EngineParts& parts, Samples at, const Sink& sink) noexcept;

/// The clock from the hands: a note of theirs, whatever is due of it, and a chord that has been struck. [audio]
void followNote(EngineParts& parts, bool chord, Samples at) noexcept;
void follow(EngineParts& parts, Samples at, const Sink& sink) noexcept;
void followChord(EngineParts& parts, Samples at, const Sink& sink) noexcept;

/// A round that is kept going (engine_round.cpp): asked for or let go of; its chords, when they are due; what is to be
/// made of what the chord hand does meanwhile; and a clock that moves on, jumps or stops. [audio]
void askRound(EngineParts& parts, Samples at, const Sink& sink) noexcept;
void goRound(EngineParts& parts, Samples at, const Sink& sink) noexcept;
GatherEvent duringRound(EngineParts& parts, GatherEvent event) noexcept;
ClockChange moveClock(EngineParts& parts, const TimeAnchor& anchor, Samples at, const Sink& sink) noexcept;
void leaveRound(EngineParts& parts, Samples at, const Sink& sink) noexcept;
void tellChord(EngineParts& parts, FactStatus status, bool none, Samples at, const Sink& sink) noexcept;

/// Ends all that sounds and forgets what is held. [audio]
void silenceAll(EngineParts& parts, Samples at, const Sink& sink) noexcept;

}  // namespace seguente
