// The engine's parts as one block of memory, taken at prepare, and what they have heard so far.
#pragma once

#include <array>

#include "dsp/clock.h"
#include "dsp/expected.h"
#include "dsp/gather.h"
#include "dsp/hands.h"
#include "dsp/harmony.h"
#include "dsp/ledger.h"
#include "dsp/player.h"
#include "dsp/voicing.h"

namespace seguente {

struct EngineParts {
  Settings settings{};
  Hands hands;
  Gather gather;
  KeyFinder keyFinder;
  Clock clock;
  Player player;
  Voicing voicing;
  Ledger ledger;
  Foresight foresight;

  Readings readings{};                                                 // of the chord in force
  std::array<Samples, limits::keys> melodyStart{};                     // for the key: how long a tune note lasted
  std::array<std::uint64_t, limits::inputsAtOneSample / 64> passes{};  // which inputs of this moment go straight out
  double rate = 48000;
  Samples now{};
  Samples next = never;    // the next moment in which anything is due
  Samples gatherWindow{};  // from the settings, at this rate
  std::uint32_t lastNote = 0;
  std::uint32_t chordId = 0;
  std::uint16_t chordRevision = 0;
  std::uint16_t keyRevision = 0;
  bool melodyHeard = false;
  bool bypassed = false;

  Stage stage{clock,  ledger,      voicing, foresight, settings, keyFinder.key(), hands.melodyHeld(),
              gather, melodyHeard, {}};

  void findNext() noexcept {
    next = ledger.nextOff();
    if (gather.deadline() < next) next = gather.deadline();
    if (player.next() < next) next = player.next();
  }
};

/// One input enters the parts; returns whether its message passes. [audio]
bool hear(EngineParts& parts, const Input& input, std::uint32_t index, Samples at, const Sink& sink) noexcept;

/// The chord hand has moved, or its deadline fell: names what it holds and tells the player. [audio]
void settleChord(EngineParts& parts, Samples at, const Sink& sink) noexcept;

/// Ends all that sounds and forgets what is held. [audio]
void silenceAll(EngineParts& parts, Samples at, const Sink& sink) noexcept;

}  // namespace seguente
