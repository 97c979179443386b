// What the values in force ask of the engine.
#include <algorithm>
#include <cmath>
#include <utility>

#include "plugin/parameters.h"

namespace seguente {
namespace {

using Id = ParameterId;

constexpr std::uint8_t percussionChannel = 9;       // General MIDI 1: channel 10
constexpr std::uint16_t allButPercussion = 0xFDFF;  // bit 0 = channel 1

int wholeOf(const ParameterValues& values, ParameterId which) noexcept {
  return static_cast<int>(std::lround(values.get(which)));
}
bool isOn(const ParameterValues& values, ParameterId which) noexcept { return values.get(which) >= 0.5; }

void setHands(Settings& s, const ParameterValues& values) noexcept {
  constexpr std::array rules{HandRule::automatic, HandRule::byKey, HandRule::byChannel, HandRule::noMelody};
  s.handRule = rules[static_cast<std::size_t>(wholeOf(values, Id::handSplit))];
  const int split = wholeOf(values, Id::splitKey) + wholeOf(values, Id::transpose);
  s.split = {static_cast<std::uint8_t>(std::clamp(split, 0, 127))};
  if (s.handRule == HandRule::byChannel) {
    s.chordChannels = static_cast<std::uint16_t>(1u << (wholeOf(values, Id::chordChannel) - 1));
    s.melodyChannels = static_cast<std::uint16_t>(allButPercussion & ~s.chordChannels);
  }
}

void setParts(Settings& s, const ParameterValues& values) noexcept {
  constexpr std::array<std::pair<Id, PartKind>, 4> kinds{{{Id::bass, PartKind::bass},
                                                          {Id::chords, PartKind::chords},
                                                          {Id::counterLine, PartKind::counterLine},
                                                          {Id::percussion, PartKind::percussion}}};
  for (const auto& [id, kind] : kinds) {
    const auto bit = 1u << static_cast<unsigned>(kind);
    const int asked = wholeOf(values, id);  // as written, on, off
    if (asked == 1) s.kindsOn = static_cast<std::uint8_t>(s.kindsOn | bit);
    if (asked == 2) s.kindsOff = static_cast<std::uint8_t>(s.kindsOff | bit);
  }
}

void setChannels(Settings& s, const ParameterValues& values, const Idiom* plays) noexcept {
  const bool one = wholeOf(values, Id::outputChannels) == 0;
  for (std::size_t i = 0; i < s.outputChannel.size(); ++i) {
    const bool percussion = plays != nullptr && i < plays->parts.size()
                                ? plays->parts[i].kind == PartKind::percussion
                                : plays == nullptr && i == s.outputChannel.size() - 1;
    s.outputChannel[i] = percussion ? percussionChannel : static_cast<std::uint8_t>(one ? 0 : i + 1);
  }
}

TimeSource sourceIn(const ParameterValues& values) noexcept {
  return static_cast<TimeSource>(wholeOf(values, Id::time));
}

/// Time from the hands: about as fast as the own tempo, if somebody has moved it. Where it stands unasked it says
/// nothing, as a file's 120 does on the command line.
void setFollow(Settings& s, const ParameterValues& values, const Idiom* asked) noexcept {
  if (sourceIn(values) != TimeSource::hands) return;
  s.follow.on = true;
  s.follow.guessMeter = asked == nullptr || asked->anyMeter || !asked->meter.valid();
  s.follow.meter = s.follow.guessMeter ? Meter{} : asked->meter;
  const double tempo = values.get(Id::ownTempo);
  const bool moved = tempo != static_cast<float>(parameter(Id::ownTempo).standard);
  s.follow.tempo = static_cast<std::uint16_t>(moved ? std::lround(tempo) : 0);
  const int strokes = wholeOf(values, Id::countIn);  // none, 2, 3 ...
  s.follow.countIn = static_cast<std::uint8_t>(strokes > 0 ? strokes + 1 : 0);
}

}  // namespace

Settings settingsFrom(const ParameterValues& values, const Idiom* plays, const Idiom* asked) noexcept {
  Settings s;
  s.density = static_cast<Density>(wholeOf(values, Id::density));
  const double swing = values.get(Id::swing);
  s.swingPermille = swing < 0.975 ? 0 : static_cast<std::int32_t>(std::lround(swing * 1000));
  setHands(s, values);
  setParts(s, values);
  setChannels(s, values, plays);
  setFollow(s, values, asked);
  s.waitForChord = isOn(values, Id::waitForChord);
  s.keep = isOn(values, Id::keep);
  s.changeIdiomAtOnce = wholeOf(values, Id::idiomEnters) == 1;
  s.registerShift = static_cast<std::int8_t>(wholeOf(values, Id::registerShift));
  s.level = static_cast<std::uint8_t>(wholeOf(values, Id::level));
  s.force = static_cast<std::uint8_t>(wholeOf(values, Id::force));
  s.handSpan = static_cast<std::uint8_t>(wholeOf(values, Id::handSpan));
  return s;
}

TimeSettings timeFrom(const ParameterValues& values, Meter meter) noexcept {
  return {sourceIn(values), values.get(Id::ownTempo), meter};
}

}  // namespace seguente
