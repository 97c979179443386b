// Knows every note of ours that sounds and pairs each note-on with its note-off by identity; knows which keys the tune
// holds, so that we never strike one of them on the same channel; can silence all at once.
#pragma once

#include <array>
#include <span>

#include "dsp/clock.h"
#include "dsp/output.h"
#include "dsp/voicing.h"

namespace seguente {

/// What the notes of one step have in common, that are to be struck in this moment. Alone: one note. [audio]
struct Strike {
  std::uint8_t channel = 0;
  NoteNumber note{};  // of one alone
  Velocity velocity{};
  Ticks off{};   // where it ends; untilReleased when somebody will end it
  Ticks tick{};  // where it lies in musical time
  NoteReason reason{};
};

inline constexpr Ticks untilReleased{std::int64_t{1} << 60};

/// A step on its way out: its keys, and what they have in common. Their ids go up by one from key to key. [audio]
struct alignas(64) Attack {  // 128 bytes: found by a shift
  Strike each{};
  VoicedKeys keys{};
  std::uint32_t firstId = 0;
  std::uint32_t live = 0;  // bit a key: struck, and not taken back in the same moment
};

/// [audio] throughout; no errors: a note for which there is no room is refused, a note-off never is.
class Ledger {
 public:
  void reset() noexcept { *this = Ledger{}; }
  /// Ends what is due at or before `at`.
  void releaseDue(Samples at, const Sink& sink) noexcept;
  /// Ends every note and lifts every pedal of ours.
  void releaseAll(Samples at, const Sink& sink) noexcept;
  /// Presses the sustain pedal on a channel of ours, unless it is down (CC 64, 64 and more is on: MIDI 1.0).
  void pressPedal(std::uint8_t channel, Samples at, const Sink& sink) noexcept;
  void liftPedals(Samples at, const Sink& sink) noexcept;
  /// Ends a key that sounds only because the hand holds it (transport stopped).
  void releaseEcho(std::uint8_t channel, NoteNumber note, Samples at, const Sink& sink) noexcept;
  /// Lets every note sound until somebody ends it (hold).
  void sustainAll() noexcept;
  void shortenTo(Ticks tick, const Clock& clock) noexcept;

  /// A tune note goes down or up on a channel: ours on that key goes off first and does not return.
  void tuneDown(std::uint8_t channel, NoteNumber note, Samples at, const Sink& sink) noexcept;
  /// The tune comes down into what sounds: ours from `low` to `high` end, but for our lowest.
  void giveWay(int low, int high, Samples at, const Sink& sink) noexcept;
  /// Whether it was open.
  bool tuneUp(std::uint8_t channel, NoteNumber note) noexcept {
    const bool open = (down_[note.value] & tuneBit(channel)) != 0;
    down_[note.value] &= ~tuneBit(channel);
    return open;
  }
  /// Note-offs for every tune note that is open (silence).
  void closeTune(Samples at, const Sink& sink) noexcept;
  /// Note-offs for those of these keys that are open on a channel (what passed while bypassed).
  void closeTune(std::uint8_t channel, const KeySet& keys, Samples at, const Sink& sink) noexcept;

  /// Stages a note for this moment; a note of ours on that key ends first. Returns its id, 0 when refused.
  std::uint32_t strike(const Strike& strike, const Clock& clock, Samples at, const Sink& sink) noexcept;
  /// The same for a step of several keys, in two movements, so that nothing is copied on its way out: an attack
  /// is asked for and all of it filled, then struck.
  Attack& newAttack() noexcept {
    if (stagedCount_ == staged_.size()) forgetTakenBack();
    return staged_[stagedCount_++];
  }
  void strike(Attack& attack, const Clock& clock, Samples at, const Sink& sink) noexcept;
  /// The same for one key, of which it is known when it ends.
  void strikeOne(Attack& attack, VoicedKey key, Samples off, Samples at, const Sink& sink) noexcept;
  /// Sends the staged notes, after all that passes at this sample.
  void sendStaged(Samples at, const Sink& sink) noexcept;
  /// The same two, in place: where nothing is staged and something is due; where something is staged.
  void endDue(Samples at, const Sink& sink) noexcept;
  void sendAttacks(Samples at, const Sink& sink) noexcept;
  bool anyStaged() const noexcept { return stagedCount_ > 0; }
  /// What was sent last, all of one moment; nothing while something is staged.
  std::span<const Attack> lastSent() const noexcept { return std::span(staged_).first(anyStaged() ? 0 : sentCount_); }

  /// The id of the note struck last.
  std::uint32_t lastId() const noexcept { return lastId_; }
  /// What was struck after that note may turn out to be wrong, all else ends now: until the correction is over, a key
  /// that is to be struck and sounds already sounds on, and a pedal is not pressed.
  void beginCorrection(std::uint32_t after, Samples at, const Sink& sink) noexcept;
  bool correcting() const noexcept { return correcting_; }
  /// What was not asked for again ends; what it left in a pedal with it.
  void endCorrection(Samples at, const Sink& sink) noexcept;
  /// Whether a note of ours of one of these pitch classes sounds that was struck after that note.
  bool sounds(PitchClassSet tones, std::uint32_t after) const noexcept;

  /// The map of time has changed: every note-off is placed anew.
  void placeAnew(const Clock& clock) noexcept;
  Samples nextOff() const noexcept { return nextOff_; }
  std::size_t sounding() const noexcept { return count_; }
  /// Lowest key of ours that sounds, 128 when none.
  int lowestSounding() const noexcept;

 private:
  struct Note {
    Samples offSample = never;
    Ticks off{};
    std::uint32_t id = 0;
    std::uint8_t channel = 0;
    NoteNumber note{};
    bool echo = false;
    bool doubtful = false;  // in a correction: not asked for again so far
  };
  static constexpr std::uint32_t ourBit(std::size_t channel) noexcept { return 1u << channel; }
  static constexpr std::uint32_t tuneBit(std::size_t channel) noexcept { return 1u << (limits::channels + channel); }
  bool staged(const Note& note) const noexcept { return static_cast<std::int32_t>(note.id - sentId_) > 0; }
  /// Sends the note-off and forgets the note.
  void sendOff(std::size_t index, Output& out, const Sink& sink) noexcept {
    Note& note = notes_[index];
    down_[note.note.value] &= ~ourBit(note.channel);
    out.bytes = {static_cast<std::uint8_t>(0x80 | note.channel), note.note.value, 64};
    out.noteId = note.id;
    out.tick = note.off;
    sink.midi(sink.context, out);
    note = notes_[--count_];
  }
  /// The same; one that is not sent yet is taken back instead.
  void end(std::size_t index, Output& out, const Sink& sink) noexcept {
    Note& note = notes_[index];
    if (!staged(note)) return sendOff(index, out, sink);
    down_[note.note.value] &= ~ourBit(note.channel);
    takeBack(note.id);
    note = notes_[--count_];
  }
  bool strikeKey(const Strike& each, NoteNumber key, Samples off, bool echo, Samples at, const Sink& sink) noexcept;
  void endKey(std::uint8_t channel, NoteNumber note, Samples at, const Sink& sink) noexcept;
  std::size_t find(std::uint8_t channel, NoteNumber note) const noexcept {
    std::size_t i = 0;
    while (notes_[i].channel != channel || notes_[i].note != note) ++i;
    return i;
  }
  void soundsOn(const Strike& each, NoteNumber key, Samples off) noexcept;
  void takeBack(std::uint32_t id) noexcept;
  void forgetTakenBack() noexcept;
  void findNext() noexcept;

  std::array<Note, limits::soundingNotes> notes_{};
  std::array<Attack, limits::soundingNotes + 1> staged_{};  // one more: for a step that finds no room
  std::size_t count_ = 0;
  std::size_t stagedCount_ = 0;
  std::size_t sentCount_ = 0;                       // of staged_, which keeps them until the next step is staged
  std::array<std::uint32_t, limits::keys> down_{};  // by key: who sounds it, ourBit and tuneBit of each channel
  std::uint16_t pedals_ = 0;                        // bit a channel
  std::uint16_t pedalsAsked_ = 0;                   // while correcting
  bool correcting_ = false;
  Samples nextOff_ = never;
  std::uint32_t lastId_ = 0;
  std::uint32_t sentId_ = 0;  // every note up to this one has left
};

// Here rather than in ledger.cpp because every step comes through it. False: the key is not to be struck.
[[gnu::always_inline]] inline bool Ledger::strikeKey(const Strike& each, NoteNumber key, Samples off, bool echo,
                                                     Samples at, const Sink& sink) noexcept {
  const std::uint32_t id = ++lastId_;
  const std::uint32_t ours = ourBit(each.channel);
  std::uint32_t& down = down_[key.value];
  if ((down & (ours | ours << limits::channels)) != 0) {
    if ((down & tuneBit(each.channel)) != 0) return false;
    if (correcting_) {
      soundsOn(each, key, off);
      return false;
    }
    endKey(each.channel, key, at, sink);
  }
  if (count_ == limits::soundingNotes) return false;
  down |= ours;
  Note& note = notes_[count_++];
  note.offSample = off;
  note.off = each.off;
  note.id = id;
  note.channel = each.channel;
  note.note = key;
  note.echo = echo;
  note.doubtful = false;
  if (off < nextOff_) nextOff_ = off;
  return true;
}

// A note whose end has come before it could begin still sounds for a sample, so that on and off stay in order.
[[gnu::always_inline]] inline void Ledger::strikeOne(Attack& attack, VoicedKey key, Samples off, Samples at,
                                                     const Sink& sink) noexcept {
  attack.keys.count = 1;
  attack.keys.keys[0] = key.key;
  attack.keys.degrees[0] = key.degree;
  attack.firstId = lastId_ + 1;
  if (off <= at) [[unlikely]]
    off = {at.value + 1};
  attack.live = strikeKey(attack.each, key.key, off, false, at, sink) ? 1 : 0;
}

[[gnu::always_inline]] inline void Ledger::endDue(Samples at, const Sink& sink) noexcept {
  Output out;
  out.sample = at;
  out.kind = OutputKind::noteOff;
  nextOff_ = never;
  for (std::size_t i = 0; i < count_;) {
    if (notes_[i].offSample <= at)
      sendOff(i, out, sink);
    else
      nextOff_ = std::min(nextOff_, notes_[i++].offSample);
  }
}

[[gnu::always_inline]] inline void Ledger::sendAttacks(Samples at, const Sink& sink) noexcept {
  Output out;
  out.sample = at;
  out.kind = OutputKind::noteOn;
  for (Attack& attack : std::span(staged_).first(stagedCount_)) {
    NoteReason& reason = attack.each.reason;
    out.reason = &reason;
    out.tick = attack.each.tick;
    out.bytes[0] = static_cast<std::uint8_t>(0x90 | attack.each.channel);
    out.bytes[2] = attack.each.velocity.value;
    for (auto live = attack.live; live != 0; live &= live - 1) {
      const auto place = static_cast<std::uint32_t>(__builtin_ctz(live));
      out.bytes[1] = attack.keys.keys[place].value;
      out.noteId = reason.noteId = attack.firstId + place;
      reason.degree = attack.keys.degrees[place];
      sink.midi(sink.context, out);
    }
  }
  sentCount_ = stagedCount_;
  stagedCount_ = 0;
  sentId_ = lastId_;
}

}  // namespace seguente
