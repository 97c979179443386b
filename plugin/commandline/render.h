// Runs the engine over a performance and collects what comes out: notes of ours, what passed, and the facts.
#pragma once

#include <cstdint>
#include <vector>

#include "dsp/harmony.h"
#include "dsp/output.h"
#include "plugin/commandline/options.h"
#include "plugin/commandline/performance.h"

namespace seguente {

/// One message of ours at its place in the file and in samples. [any]
struct OurEvent {
  std::int64_t fileTick = 0;
  Samples sample{};
  Ticks tick{};
  OutputKind kind = OutputKind::noteOn;
  std::array<std::uint8_t, 3> bytes{};
  std::uint32_t noteId = 0;
  NoteReason reason{};  // noteOn only
};

/// A chord as it was heard in the end, from `from` until `to`. [any]
struct HeardRow {
  std::uint32_t id = 0;
  Ticks from{}, to{};
  Samples fromSample{}, toSample{};
  bool open = true;
  bool letGo = false;  // it ended because the hand let go, not because another chord came
  Chord chord;
  Key key;
  std::size_t readingCount = 0;
  std::array<Chord, limits::readings> readings{};
};

/// A note of the hands and where it was sent. [any]
struct HandRow {
  std::uint32_t id = 0;
  std::int64_t fileTick = 0;
  NoteNumber note{};
  Velocity velocity{};
  Hand hand = Hand::melody;
  Verdict verdict = Verdict::pass;             // at the note-on
  HandReason reason = HandReason::aboveSplit;  // of the verdict
  bool revised = false;                        // looked at again: then this came of it
  Verdict revisedTo = Verdict::pass;
  HandReason revisedFor = HandReason::aboveSplit;
  std::uint32_t inputIndex = 0;
};

/// A beat of a followed clock, as it fell. [any]
struct HeardBeat {
  Ticks tick{};
  Samples falls{};
  Meter meter{};
  std::uint8_t beatOfBar = 0;
};

struct Rendering {
  std::vector<OurEvent> ours;    // in order
  std::vector<char> passed;      // one an input of the performance
  std::vector<HeardRow> chords;  // in order, none of no length
  std::vector<HandRow> hands;
  std::vector<HeardBeat> beats;  // in the order in which they were told; only of a followed clock
  Key key;                       // the one that was given, or the last that was found
  Samples end{};                 // everything of ours is silent from here on
};

/// block: samples a call, 0 = all in one; it changes nothing that is heard. Where the tempo is followed, the
/// performance stands in the bars that were heard afterwards. [message]
Rendering render(Performance& performance, std::int64_t rate, std::size_t block);

/// The given file with the chord hand's notes taken out and our parts added as named tracks of their own. [message]
MidiFile arrangedFile(const Performance& performance, const Rendering& rendering, const TimeWishes& wishes);

}  // namespace seguente
