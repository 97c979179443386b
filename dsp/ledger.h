// Knows every note of ours that sounds and pairs each note-on with its note-off by identity; knows which keys the tune
// holds, so that we never strike one of them on the same channel; can silence all at once.
#pragma once

#include <array>

#include "dsp/clock.h"
#include "dsp/output.h"

namespace seguente {

/// A note of ours that is to be struck in this moment. [audio]
struct Strike {
  std::uint8_t channel = 0;
  NoteNumber note{};
  Velocity velocity{};
  Ticks off{};   // where it ends; untilReleased when somebody will end it
  Ticks tick{};  // where it lies in musical time
  NoteReason reason{};
};

inline constexpr Ticks untilReleased{std::int64_t{1} << 60};

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
  /// Whether it was open.
  bool tuneUp(std::uint8_t channel, NoteNumber note) noexcept {
    const bool open = tune_[channel].has(note);
    tune_[channel].remove(note);
    return open;
  }
  /// Note-offs for every tune note that is open (silence).
  void closeTune(Samples at, const Sink& sink) noexcept;
  /// Note-offs for those of these keys that are open on a channel (what passed while bypassed).
  void closeTune(std::uint8_t channel, const KeySet& keys, Samples at, const Sink& sink) noexcept;

  /// Stages a note for this moment; a note of ours on that key ends first. Returns its id, 0 when refused.
  std::uint32_t strike(const Strike& strike, const Clock& clock, Samples at, const Sink& sink) noexcept;
  /// Sends the staged notes, after all that passes at this sample.
  void sendStaged(Samples at, const Sink& sink) noexcept;

  /// The map of time has changed: every note-off is placed anew.
  void placeAnew(const Clock& clock) noexcept;
  Samples nextOff() const noexcept { return nextOff_; }
  std::size_t sounding() const noexcept { return count_; }
  /// Lowest key of ours that sounds, 128 when none.
  int lowestSounding() const noexcept;

 private:
  struct Note {
    std::uint32_t id = 0;
    std::uint8_t channel = 0;
    NoteNumber note{};
    bool staged = false;
    bool echo = false;
    Ticks off{};
    Samples offSample = never;
  };
  void end(std::size_t index, Samples at, const Sink& sink) noexcept;
  void findNext() noexcept;

  std::array<Note, limits::soundingNotes> notes_{};
  std::array<Strike, limits::soundingNotes> staged_{};
  std::size_t count_ = 0;
  std::size_t stagedCount_ = 0;
  std::array<KeySet, limits::channels> tune_{};
  std::uint16_t pedals_ = 0;  // bit a channel
  Samples nextOff_ = never;
  std::uint32_t lastId_ = 0;
};

}  // namespace seguente
