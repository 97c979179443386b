#include "dsp/hands.h"

namespace seguente {

namespace {
HandJudgement judge(const MidiMessage& m, const Settings& s) noexcept {
  const auto channel = static_cast<std::uint16_t>(1u << m.channel());
  const bool mayBeChord = (s.chordChannels & channel) != 0;
  const bool mayBeMelody = (s.melodyChannels & channel) != 0;
  constexpr HandJudgement outside{};
  switch (s.handRule) {
    case HandRule::byChannel:
      if (mayBeChord) return {Verdict::take, Hand::chord, HandReason::channel, true};
      return mayBeMelody ? HandJudgement{Verdict::pass, Hand::melody, HandReason::channel, true} : outside;
    case HandRule::noMelody:
      return mayBeChord ? HandJudgement{Verdict::take, Hand::chord, HandReason::noMelodyAsked, true} : outside;
    case HandRule::byKey:
      break;
  }
  if (mayBeChord && (m.bytes[1] & 0x7F) < s.split.value)
    return {Verdict::take, Hand::chord, HandReason::belowSplit, true};
  return mayBeMelody ? HandJudgement{Verdict::pass, Hand::melody, HandReason::aboveSplit, true} : outside;
}
}  // namespace

HandJudgement Hands::noteOn(const MidiMessage& m, const Settings& s) noexcept {
  const NoteNumber note{static_cast<std::uint8_t>(m.bytes[1] & 0x7F)};
  const auto judged = judge(m, s);
  if (judged.verdict == Verdict::take)
    taken_[m.channel()].add(note);
  else if (judged.ours)
    melodyHeld_.add(note);
  return judged;
}

Verdict Hands::noteOff(const MidiMessage& m) noexcept {
  const NoteNumber note{static_cast<std::uint8_t>(m.bytes[1] & 0x7F)};
  auto& taken = taken_[m.channel()];
  if (taken.has(note)) {
    taken.remove(note);
    return Verdict::take;
  }
  melodyHeld_.remove(note);
  return Verdict::pass;
}

}  // namespace seguente
