// One stamped input stream: everything that can happen to the engine enters as {sample, what}.
#pragma once

#include <array>
#include <cstdint>
#include <span>

#include "dsp/chord.h"
#include "dsp/idiom.h"
#include "dsp/time.h"

namespace seguente {

/// A MIDI message as it came. Longer ones (sysex) are known by their first three bytes; whoever adapts keeps the rest
/// and finds it again by the input's index. [any]
struct MidiMessage {
  std::array<std::uint8_t, 3> bytes{};
  std::uint32_t length = 0;  // of the whole message
  constexpr std::uint8_t kind() const { return bytes[0] & 0xF0; }
  constexpr std::uint8_t channel() const { return bytes[0] & 0x0F; }  // 0..15
  constexpr bool noteOn() const { return length >= 3 && kind() == 0x90 && (bytes[2] & 0x7F) > 0; }
  constexpr bool noteOff() const {
    return length >= 3 && (kind() == 0x80 || (kind() == 0x90 && (bytes[2] & 0x7F) == 0));
  }
  constexpr bool controller(int number) const { return length >= 3 && kind() == 0xB0 && bytes[1] == number; }
};

/// Where a tick, a sample and a bar line coincide, from the host, a file, or our own tempo. Sent on change only. [any]
struct TimeAnchor {
  Ticks tick{};                    // at the input's sample
  double quartersPerMinute = 120;  // NaN, infinite or outside 5..1000 is ignored and the last good one kept
  Meter meter{};
  Ticks barStart{};  // some bar line; may lie before or after the tick
  bool playing = true;
};

/// The player's signals to a running figure. [any]
/// turnaround: at the next bar line the idiom's way back to the beginning of the form is played once, over the chord
/// that is held. tag: from the next bar line the last four bars are expected once more, and the close on their last
/// chord. round: the round just played goes on by itself, until chords are held again, `end`, or `round` again.
enum class Gesture : std::uint8_t { hold, goOn, end, turnaround, tag, round };

/// How notes are told apart into hands. [any]
/// automatic: by listening (dsp/hand_judge.h); the others are fixed.
enum class HandRule : std::uint8_t { byKey, byChannel, noMelody, automatic };

/// Time from the hands instead of from anchors: see follower.h. What is not known is 0. [any]
struct FollowSettings {
  bool on = false;           // then time anchors are passed over
  bool guessMeter = false;   // two (as 4/4) or three (as 3/4), by where the chords fall; `meter` until that is clear
  Meter meter{};             // given
  std::uint16_t tempo = 0;   // about how many quarters a minute, to start with
  std::uint8_t countIn = 0;  // so many even strokes are a count before the first downbeat, 2..8
  friend constexpr bool operator==(const FollowSettings&, const FollowSettings&) = default;
};

/// Everything that can be set, as one value, so that density and swing always agree. [any]
struct Settings {
  Density density = Density::medium;
  std::int32_t swingPermille = 0;  // 0: the idiom's own
  HandRule handRule = HandRule::byKey;
  NoteNumber split{60};  // byKey: keys below are the chord hand's
  std::uint16_t chordChannels =
      0xFDFF;  // byKey, automatic: read both hands from these (bit 0 = channel 1); byChannel: chord hand
  std::uint16_t melodyChannels = 0xFDFF;                              // byChannel: the tune; all else passes untouched
  std::array<std::uint8_t, limits::parts> outputChannel{1, 2, 3, 9};  // 0..15, a part each
  bool waitForChord = false;
  bool keep = false;                      // the chord stays after the keys are let go
  bool changeIdiomAtOnce = false;         // else at the next bar
  std::int8_t registerShift = 0;          // octaves, -2..2
  std::uint8_t level = 85;                // per cent of the parts' own level, 0..150
  std::uint8_t force = 60;                // per cent by which the accompaniment follows the hand, 0..100
  std::uint8_t handSpan = 12;             // semitones, 10..16: what a lean figure may span
  std::uint16_t gatherMilliseconds = 50;  // REFERENCES section 6: 99 % of left-hand chords land within 60 ms; by ear
  std::uint8_t partsOff = 0;              // bit a part of the idiom: silent (it found no channel)
  std::uint8_t kindsOff = 0;              // bit a PartKind: silent in whatever idiom
  std::uint8_t kindsOn = 0;               // bit a PartKind: sounds though the idiom leaves it off until asked
  Key key{};                              // fixed key; unknown = find it
  FollowSettings follow{};                // the clock from the hands
};

/// One chord of a chart: from `from` until `to`. Sorted, not overlapping. `hold` marks a fermata, `end` a fine,
/// `turnaround` a bar line from which the idiom's turnaround is played. [any]
struct Expectation {
  Ticks from{}, to{};
  Chord chord{};
  bool hold = false;
  bool end = false;
  bool turnaround = false;
};

/// bypass on: nothing of ours sounds and everything passes, but hands, chord and clock are followed on; off: the chord
/// that the hand holds is taken up again.
enum class InputKind : std::uint8_t { midi, time, settings, idiom, chart, gesture, silence, bypass };

/// A chart that somebody else owns and keeps unchanged until another is sent. [any]
struct ChartRef {
  const Expectation* data = nullptr;
  std::size_t count = 0;
};

/// An idiom that somebody else owns; see handoff.h for when it may be freed. [any]
struct IdiomRef {
  const Idiom* idiom = nullptr;
  std::uint32_t generation = 0;
};

/// One stamped input. sample: from prepare; inputs of a call are in order and inside [now, until). [any]
struct Input {
  Samples sample{};
  InputKind kind = InputKind::midi;
  union {
    MidiMessage midi;
    TimeAnchor time;
    Settings settings;
    IdiomRef idiom;
    ChartRef chart;
    Gesture gesture;
    bool bypassed;
  };
  Input() : midi{} {}
  static Input of(Samples s, const MidiMessage& m) {
    Input i;
    i.sample = s;
    i.midi = m;
    return i;
  }
  static Input of(Samples s, const TimeAnchor& t) {
    Input i;
    i.sample = s;
    i.kind = InputKind::time;
    i.time = t;
    return i;
  }
  static Input of(Samples s, const Settings& v) {
    Input i;
    i.sample = s;
    i.kind = InputKind::settings;
    i.settings = v;
    return i;
  }
  static Input of(Samples s, IdiomRef r) {
    Input i;
    i.sample = s;
    i.kind = InputKind::idiom;
    i.idiom = r;
    return i;
  }
  static Input of(Samples s, ChartRef r) {
    Input i;
    i.sample = s;
    i.kind = InputKind::chart;
    i.chart = r;
    return i;
  }
  static Input of(Samples s, Gesture g) {
    Input i;
    i.sample = s;
    i.kind = InputKind::gesture;
    i.gesture = g;
    return i;
  }
  static Input bypassAt(Samples s, bool on) {
    Input i;
    i.sample = s;
    i.kind = InputKind::bypass;
    i.bypassed = on;
    return i;
  }
  static Input silenceAt(Samples s) {
    Input i;
    i.sample = s;
    i.kind = InputKind::silence;
    return i;
  }
};

}  // namespace seguente
