#include "dsp/ledger.h"

#include <algorithm>
#include <span>

namespace seguente {

void Ledger::findNext() noexcept {
  nextOff_ = never;
  for (std::size_t i = 0; i < count_; ++i) nextOff_ = std::min(nextOff_, notes_[i].offSample);
}

namespace {
Output noteOffAt(Samples at) noexcept {
  Output out;
  out.sample = at;
  out.kind = OutputKind::noteOff;
  return out;
}
}  // namespace

/// Struck and taken back in one moment: neither is sent.
void Ledger::takeBack(std::uint32_t id) noexcept {
  for (std::size_t i = 0; i < stagedCount_; ++i) {
    const std::uint32_t place = id - staged_[i].firstId;
    if (place < staged_[i].keys.count) staged_[i].live &= ~(1u << place);
  }
}

/// Ends the note of ours on a key, if there is one.
void Ledger::endKey(std::uint8_t channel, NoteNumber note, Samples at, const Sink& sink) noexcept {
  if ((down_[note.value] & ourBit(channel)) == 0) return;
  Output out = noteOffAt(at);
  end(find(channel, note), out, sink);
}

void Ledger::releaseDue(Samples at, const Sink& sink) noexcept {
  if (nextOff_ > at) return;
  if (!anyStaged()) return endDue(at, sink);
  Output out = noteOffAt(at);
  for (std::size_t i = 0; i < count_;)
    if (notes_[i].offSample <= at)
      end(i, out, sink);
    else
      ++i;
  findNext();
}

void Ledger::releaseAll(Samples at, const Sink& sink) noexcept {
  Output out = noteOffAt(at);
  while (count_ > 0) end(count_ - 1, out, sink);
  nextOff_ = never;
  correcting_ = false;
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
  if (correcting_) pedalsAsked_ = static_cast<std::uint16_t>(pedalsAsked_ | bit);
  if (correcting_ || (pedals_ & bit) != 0) return;
  pedals_ = static_cast<std::uint16_t>(pedals_ | bit);
  sendPedal(channel, 127, at, sink);
}

void Ledger::liftPedals(Samples at, const Sink& sink) noexcept {
  for (std::size_t channel = 0; pedals_ != 0; ++channel, pedals_ = static_cast<std::uint16_t>(pedals_ >> 1))
    if ((pedals_ & 1u) != 0) sendPedal(channel, 0, at, sink);
}

void Ledger::beginCorrection(std::uint32_t after, Samples at, const Sink& sink) noexcept {
  Output out = noteOffAt(at);
  for (std::size_t i = 0; i < count_;) {
    notes_[i].doubtful = static_cast<std::int32_t>(notes_[i].id - after) > 0 && !notes_[i].echo;
    if (notes_[i].doubtful)
      ++i;
    else
      end(i, out, sink);
  }
  pedalsAsked_ = 0;
  correcting_ = true;
}

/// In a correction: the note that sounds on a key is the one that is to be struck.
void Ledger::soundsOn(const Strike& each, NoteNumber key, Samples off) noexcept {
  Note& note = notes_[find(each.channel, key)];
  note.off = each.off;
  note.offSample = off;
  note.doubtful = false;
  if (off < nextOff_) nextOff_ = off;
}

void Ledger::endCorrection(Samples at, const Sink& sink) noexcept {
  correcting_ = false;
  Output out = noteOffAt(at);
  for (std::size_t i = 0; i < count_;)
    if (notes_[i].doubtful)
      end(i, out, sink);
    else
      ++i;
  findNext();
  liftPedals(at, sink);
  for (std::uint8_t channel = 0; channel < limits::channels; ++channel)
    if ((pedalsAsked_ >> channel & 1) != 0) pressPedal(channel, at, sink);
}

bool Ledger::sounds(PitchClassSet tones, std::uint32_t after) const noexcept {
  for (std::size_t i = 0; i < count_; ++i)
    if (static_cast<std::int32_t>(notes_[i].id - after) > 0 && tones.has(notes_[i].note.pitchClass())) return true;
  return false;
}

void Ledger::releaseEcho(std::uint8_t channel, NoteNumber note, Samples at, const Sink& sink) noexcept {
  for (std::size_t i = 0; i < count_; ++i)
    if (notes_[i].echo && notes_[i].channel == channel && notes_[i].note == note) {
      // Struck and let go within one moment: it still sounds for a sample.
      if (staged(notes_[i])) {
        notes_[i].offSample = {at.value + 1};
        nextOff_ = std::min(nextOff_, notes_[i].offSample);
        return;
      }
      endKey(channel, note, at, sink);
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
  down_[note.value] |= tuneBit(channel);
  if ((down_[note.value] & ourBit(channel)) == 0) return;
  endKey(channel, note, at, sink);
  findNext();
}

void Ledger::giveWay(int low, int high, Samples at, const Sink& sink) noexcept {
  constexpr int middle =
      55;  // G3: from here on our lowest is no bass, but what is left for a moment between two of its notes
  const int ours = lowestSounding();
  const int lowest = ours < middle ? ours : -1;
  Output out = noteOffAt(at);
  bool any = false;
  for (std::size_t i = 0; i < count_;) {
    const int key = notes_[i].note.value;
    if (key < low || key > high || key == lowest || notes_[i].echo) {
      ++i;
      continue;
    }
    end(i, out, sink);
    any = true;
  }
  if (any) findNext();
}

void Ledger::closeTune(Samples at, const Sink& sink) noexcept {
  std::array<KeySet, limits::channels> open{};
  for (std::size_t key = 0; key < limits::keys; ++key)
    for (auto channels = down_[key] >> limits::channels; channels != 0; channels &= channels - 1)
      open[static_cast<std::size_t>(__builtin_ctz(channels))].add({static_cast<std::uint8_t>(key)});
  for (std::size_t channel = 0; channel < limits::channels; ++channel)
    closeTune(static_cast<std::uint8_t>(channel), open[channel], at, sink);
}

void Ledger::closeTune(std::uint8_t channel, const KeySet& keys, Samples at, const Sink& sink) noexcept {
  keys.forEach([&](NoteNumber note) {
    if (!tuneUp(channel, note)) return;
    Output out;
    out.sample = at;
    out.kind = OutputKind::noteOff;
    out.bytes = {static_cast<std::uint8_t>(0x80 | channel), note.value, 64};
    sink.midi(sink.context, out);
  });
}

/// Makes room for one more step. Only what was taken back can have filled it: of the rest there is no more than of
/// notes.
void Ledger::forgetTakenBack() noexcept {
  auto* const end = std::remove_if(staged_.begin(), staged_.end(), [](const Attack& a) { return a.live == 0; });
  stagedCount_ = static_cast<std::size_t>(end - staged_.begin());
}

void Ledger::strike(Attack& attack, const Clock& clock, Samples at, const Sink& sink) noexcept {
  Samples off = attack.each.off == untilReleased ? never : clock.sampleOf(attack.each.off);
  if (off <= at) off = {at.value + 1};
  attack.firstId = lastId_ + 1;
  const bool echo = attack.each.reason.reason == Reason::asHeld;
  attack.live = 0;
  for (std::uint32_t place = 0; place < attack.keys.count; ++place)
    if (strikeKey(attack.each, attack.keys.keys[place], off, echo, at, sink)) attack.live |= 1u << place;
}

std::uint32_t Ledger::strike(const Strike& strike, const Clock& clock, Samples at, const Sink& sink) noexcept {
  Attack& attack = newAttack();
  attack.each = strike;
  attack.keys.count = 0;
  attack.keys.add(strike.note, strike.reason.degree);
  this->strike(attack, clock, at, sink);
  return attack.live != 0 ? attack.firstId : 0;
}

void Ledger::sendStaged(Samples at, const Sink& sink) noexcept {
  if (anyStaged()) sendAttacks(at, sink);
}

void Ledger::placeAnew(const Clock& clock) noexcept {
  for (std::size_t i = 0; i < count_; ++i)
    if (notes_[i].off != untilReleased) notes_[i].offSample = clock.sampleOf(notes_[i].off);
  findNext();
}

int Ledger::lowestSounding() const noexcept {
  int lowest = 128;
  for (std::size_t i = 0; i < count_; ++i)
    if (!notes_[i].doubtful) lowest = std::min(lowest, static_cast<int>(notes_[i].note.value));
  return lowest;
}

}  // namespace seguente
