#include "dsp/ledger.h"

#include <algorithm>

namespace seguente {

void Ledger::findNext() noexcept {
  nextOff_ = never;
  for (std::size_t i = 0; i < count_; ++i) nextOff_ = std::min(nextOff_, notes_[i].offSample);
}

void Ledger::end(std::size_t index, Samples at, const Sink& sink) noexcept {
  const Note gone = notes_[index];
  notes_[index] = notes_[--count_];
  if (gone.staged) {  // struck and taken back in one moment: neither is sent
    auto* const last = staged_.data() + stagedCount_;
    auto* const found = std::find_if(staged_.data(), last, [&](const Strike& s) { return s.reason.noteId == gone.id; });
    if (found != last) {
      std::move(found + 1, last, found);
      --stagedCount_;
    }
    return;
  }
  Output out;
  out.sample = at;
  out.kind = OutputKind::noteOff;
  out.bytes = {static_cast<std::uint8_t>(0x80 | gone.channel), gone.note.value, 64};
  out.noteId = gone.id;
  out.tick = gone.off;
  sink.midi(sink.context, out);
}

void Ledger::releaseDue(Samples at, const Sink& sink) noexcept {
  if (nextOff_ > at) return;
  for (std::size_t i = 0; i < count_;) {
    if (notes_[i].offSample <= at)
      end(i, at, sink);
    else
      ++i;
  }
  findNext();
}

void Ledger::releaseAll(Samples at, const Sink& sink) noexcept {
  while (count_ > 0) end(count_ - 1, at, sink);
  nextOff_ = never;
  liftPedals(at, sink);
}

namespace {
void sendPedal(std::size_t channel, std::uint8_t value, Samples at, const Sink& sink) noexcept {
  Output out;
  out.sample = at;
  out.kind = OutputKind::controller;
  out.bytes = {static_cast<std::uint8_t>(0xB0 | channel), 64, value};
  sink.midi(sink.context, out);
}
}  // namespace

void Ledger::pressPedal(std::uint8_t channel, Samples at, const Sink& sink) noexcept {
  const auto bit = static_cast<std::uint16_t>(1u << channel);
  if ((pedals_ & bit) != 0) return;
  pedals_ = static_cast<std::uint16_t>(pedals_ | bit);
  sendPedal(channel, 127, at, sink);
}

void Ledger::liftPedals(Samples at, const Sink& sink) noexcept {
  for (std::size_t channel = 0; pedals_ != 0; ++channel, pedals_ = static_cast<std::uint16_t>(pedals_ >> 1))
    if ((pedals_ & 1u) != 0) sendPedal(channel, 0, at, sink);
}

void Ledger::releaseEcho(std::uint8_t channel, NoteNumber note, Samples at, const Sink& sink) noexcept {
  for (std::size_t i = 0; i < count_; ++i)
    if (notes_[i].echo && notes_[i].channel == channel && notes_[i].note == note) {
      // Struck and let go within one moment: it still sounds for a sample.
      if (notes_[i].staged) {
        notes_[i].offSample = {at.value + 1};
        nextOff_ = notes_[i].offSample < nextOff_ ? notes_[i].offSample : nextOff_;
        return;
      }
      end(i, at, sink);
      findNext();
      return;
    }
}

void Ledger::sustainAll() noexcept {
  for (std::size_t i = 0; i < count_; ++i) {
    notes_[i].off = untilReleased;
    notes_[i].offSample = never;
  }
  nextOff_ = never;
}

void Ledger::shortenTo(Ticks tick, const Clock& clock) noexcept {
  for (std::size_t i = 0; i < count_; ++i)
    if (notes_[i].off > tick) {
      notes_[i].off = tick;
      notes_[i].offSample = clock.sampleOf(tick);
    }
  findNext();
}

void Ledger::tuneDown(std::uint8_t channel, NoteNumber note, Samples at, const Sink& sink) noexcept {
  tune_[channel].add(note);
  for (std::size_t i = 0; i < count_; ++i)
    if (notes_[i].channel == channel && notes_[i].note == note) {
      end(i, at, sink);
      findNext();
      return;
    }
}

void Ledger::closeTune(Samples at, const Sink& sink) noexcept {
  for (std::size_t channel = 0; channel < limits::channels; ++channel)
    closeTune(static_cast<std::uint8_t>(channel), tune_[channel], at, sink);
}

void Ledger::closeTune(std::uint8_t channel, const KeySet& keys, Samples at, const Sink& sink) noexcept {
  const KeySet open = tune_[channel];
  tune_[channel] = open.without(keys);
  open.without(tune_[channel]).forEach([&](NoteNumber note) {
    Output out;
    out.sample = at;
    out.kind = OutputKind::noteOff;
    out.bytes = {static_cast<std::uint8_t>(0x80 | channel), note.value, 64};
    sink.midi(sink.context, out);
  });
}

std::uint32_t Ledger::strike(const Strike& strike, const Clock& clock, Samples at, const Sink& sink) noexcept {
  if (tune_[strike.channel].has(strike.note)) return 0;
  for (std::size_t i = 0; i < count_; ++i)
    if (notes_[i].channel == strike.channel && notes_[i].note == strike.note) {
      end(i, at, sink);
      break;
    }
  if (count_ == limits::soundingNotes) return 0;
  const Samples off = strike.off == untilReleased ? never : clock.sampleOf(strike.off);
  Note& note = notes_[count_++];
  const bool echo = strike.reason.reason == Reason::asHeld;
  note = {++lastId_, strike.channel, strike.note, true, echo, strike.off, off};
  // A note whose end has come before it could begin still sounds for a sample, so that on and off stay in order.
  if (note.offSample <= at) note.offSample = {at.value + 1};
  nextOff_ = std::min(nextOff_, note.offSample);
  auto& staged = staged_[stagedCount_++];
  staged = strike;
  staged.reason.noteId = lastId_;
  return lastId_;
}

void Ledger::sendStaged(Samples at, const Sink& sink) noexcept {
  if (stagedCount_ == 0) return;
  for (std::size_t i = 0; i < stagedCount_; ++i) {
    const Strike& s = staged_[i];
    Output out;
    out.sample = at;
    out.kind = OutputKind::noteOn;
    out.bytes = {static_cast<std::uint8_t>(0x90 | s.channel), s.note.value, s.velocity.value};
    out.noteId = s.reason.noteId;
    out.reason = &s.reason;
    out.tick = s.tick;
    sink.midi(sink.context, out);
  }
  stagedCount_ = 0;
  for (std::size_t i = 0; i < count_; ++i) notes_[i].staged = false;
}

void Ledger::placeAnew(const Clock& clock) noexcept {
  for (std::size_t i = 0; i < count_; ++i)
    if (notes_[i].off != untilReleased) notes_[i].offSample = clock.sampleOf(notes_[i].off);
  findNext();
}

int Ledger::lowestSounding() const noexcept {
  int lowest = 128;
  for (std::size_t i = 0; i < count_; ++i) lowest = std::min(lowest, static_cast<int>(notes_[i].note.value));
  return lowest;
}

}  // namespace seguente
