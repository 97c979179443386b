#include "dsp/hands.h"

namespace seguente {

namespace {

NoteNumber noteOf(const MidiMessage& m) noexcept { return {static_cast<std::uint8_t>(m.bytes[1] & 0x7F)}; }

bool readsBoth(const MidiMessage& m, const Settings& s) noexcept {
  return ((s.chordChannels & s.melodyChannels) >> m.channel() & 1) != 0;
}

HandJudgement judgeByRule(const MidiMessage& m, const Settings& s) noexcept {
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
    case HandRule::automatic:  // a channel that only one hand plays on
      if (mayBeChord) return {Verdict::take, Hand::chord, HandReason::channel, true};
      return mayBeMelody ? HandJudgement{Verdict::pass, Hand::melody, HandReason::channel, true} : outside;
    case HandRule::byKey:
      break;
  }
  if (mayBeChord && (m.bytes[1] & 0x7F) < s.split.value)
    return {Verdict::take, Hand::chord, HandReason::belowSplit, true};
  return mayBeMelody ? HandJudgement{Verdict::pass, Hand::melody, HandReason::aboveSplit, true} : outside;
}

HandJudgement given(Verdict verdict, HandReason reason) noexcept {
  return {verdict, verdict == Verdict::take ? Hand::chord : Hand::melody, reason, true};
}

}  // namespace

bool Hands::foresee(std::span<const Input> moment, const Settings& settings, const HandContext& context, Samples at,
                    Tenths now, Samples window) noexcept {
  const bool listens = settings.handRule == HandRule::automatic;
  if (listens && !listens_) judge_.reset();
  listens_ = listens;
  if (!listens) return false;
  bool any = false;
  for (const Input& input : moment) {
    if (input.kind != InputKind::midi || !readsBoth(input.midi, settings)) continue;
    const MidiMessage& m = input.midi;
    if (m.noteOff()) judge_.up(m.channel(), noteOf(m).value, now);
    if (!m.noteOn()) continue;
    HeardNote note;
    note.on = now;
    note.at = at;
    note.key = noteOf(m).value;
    note.velocity = m.bytes[2] & 0x7F;
    note.channel = m.channel();
    judge_.arrive(note);
    any = true;
  }
  if (any) judge_.judgeArrivals(context, static_cast<std::uint16_t>(~pedals_), window);
  return any;
}

HandJudgement Hands::listened(const MidiMessage& m) noexcept {
  const NoteNumber note = noteOf(m);
  HeardNote* heard = judge_.newest(m.channel(), note.value);
  // More keys at once than hands have fingers: some were forgotten.
  auto judged = heard != nullptr ? given(heard->verdict, judge_.reasonOf(*heard))
                                 : given(note.value < 60 ? Verdict::take : Verdict::pass, HandReason::registerAlone);
  judged.leavesTune = judged.verdict == Verdict::take && tune_[m.channel()].has(note);
  judged.leavesChord = judged.verdict != Verdict::take && taken_[m.channel()].has(note);
  if (judged.leavesTune) tuneUp(m.channel(), note);
  if (judged.leavesChord) taken_[m.channel()].remove(note);
  return judged;
}

void Hands::tuneDown(std::size_t channel, NoteNumber note) noexcept {
  tune_[channel].add(note);
  melodyHeld_.add(note);
}

void Hands::tuneUp(std::size_t channel, NoteNumber note) noexcept {
  if (!tune_[channel].has(note)) return;
  tune_[channel].remove(note);
  for (const KeySet& keys : tune_)
    if (keys.has(note)) return;
  melodyHeld_.remove(note);
}

HandJudgement Hands::noteOn(const MidiMessage& m, const Settings& s) noexcept {
  const bool listen = listens_ && s.handRule == HandRule::automatic && readsBoth(m, s);
  const auto judged = listen ? listened(m) : judgeByRule(m, s);
  if (judged.verdict == Verdict::take)
    taken_[m.channel()].add(noteOf(m));
  else if (judged.ours)
    tuneDown(m.channel(), noteOf(m));
  return judged;
}

void Hands::toldAs(const MidiMessage& m, std::uint32_t id) noexcept {
  if (HeardNote* heard = judge_.newest(m.channel(), noteOf(m).value); heard != nullptr) heard->id = id;
}

Verdict Hands::noteOff(const MidiMessage& m) noexcept {
  const NoteNumber note = noteOf(m);
  auto& taken = taken_[m.channel()];
  if (taken.has(note)) {
    taken.remove(note);
    return Verdict::take;
  }
  tuneUp(m.channel(), note);
  return Verdict::pass;
}

void Hands::pedal(std::size_t channel, bool down) noexcept {
  const auto bit = static_cast<std::uint16_t>(1u << channel);
  pedals_ = static_cast<std::uint16_t>(down ? pedals_ | bit : pedals_ & ~bit);
}

std::span<const HandRevision> Hands::lookAgain(Samples at, Tenths now, const HandContext& context) noexcept {
  const auto revisions = judge_.lookAgain(at, now, context);
  for (const HandRevision& r : revisions) {
    if (!r.changed || !r.note.down) continue;
    const NoteNumber note{r.note.key};
    if (r.note.verdict == Verdict::take) {
      tuneUp(r.note.channel, note);
      taken_[r.note.channel].add(note);
    } else {
      taken_[r.note.channel].remove(note);
      tuneDown(r.note.channel, note);
    }
  }
  return revisions;
}

}  // namespace seguente
