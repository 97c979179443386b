// Writes what sounds, as it sounds, bar by bar: told of notes, chords and time in order, it keeps the last bars as
// values (score.h). The bar in progress is written provisionally each time it is asked for; a bar that has passed is
// written once more when a quarter note has gone by, and then stands.
//
// Thread: one owner, on the message thread; a ring brings what the audio thread says (Told is trivially copyable).
// Memory: `bars` bars and at most limits below of notes that are not yet written for good; more are dropped and
// counted.
#pragma once

#include <cstdint>
#include <deque>
#include <optional>
#include <set>
#include <vector>

#include "plugin/page/quantiser.h"
#include "plugin/page/rhythm.h"
#include "plugin/page/score.h"
#include "plugin/page/told.h"

namespace seguente::page {

/// A note of ours that is known and has not yet sounded. [any]
struct Foreseen {
  NoteNumber key{};
  PartKind part{};
  NoteReason reason{};  // dueTick: where it will be
  Ticks to{};
  friend bool operator==(const Foreseen& a, const Foreseen& b) {
    return a.key == b.key && a.reason.dueTick == b.reason.dueTick && a.to == b.to;
  }
};

class Writer {
 public:
  struct Options {
    std::size_t bars = 64;             // how many are kept, at least 4
    std::size_t notesInTheAir = 2048;  // not yet written for good
    std::optional<Key> key;            // a fixed signature; else the key that is found
  };
  Writer();
  explicit Writer(const Options& options);

  /// In order of time, but for ends and late facts. [message] may allocate.
  void tell(const Told& told);

  /// What will sound if nothing changes, in place of what was foreseen before. What lies behind now is left out when a
  /// bar is written. [message]
  void foresee(std::vector<Foreseen> notes);

  /// The bars kept, as ordinals: first <= o < end. [message]
  std::uint64_t first() const { return frames_.empty() ? 0 : frames_.front().bar.ordinal; }
  std::uint64_t end() const { return frames_.empty() ? 0 : frames_.back().bar.ordinal + 1; }
  /// A bar as it stands now; null when it is not kept (any more). Valid until the next call; copy it to freeze it.
  /// [message]
  const Bar* bar(std::uint64_t ordinal);
  /// Whether a bar may still change. [message]
  bool settled(std::uint64_t ordinal) const;
  Ticks now() const { return now_; }
  /// Notes that came when there was no room. [message]
  std::uint64_t dropped() const { return dropped_; }

 private:
  struct OurNote {
    std::uint32_t id = 0;
    NoteNumber key{};
    PartKind part{};
    NoteReason reason{};
    Ticks on{}, off{};
    bool sounding = true;
    bool coming = false;
  };
  struct HeardChord {
    std::uint32_t id = 0;
    Ticks at{}, to{};
    bool open = true;
    Chord chord{};
    Key key{};
  };
  struct Frame {
    Bar bar;
    Pulse pulse;
    std::size_t beatsPlaced = 0;
    bool final = false;
    bool dirty = true;
    std::set<std::uint64_t> tiedOver;  // notes that go on into the next bar, once final
    Ticks end() const { return bar.start + bar.length; }
    Ticks base() const { return bar.start - bar.before; }  // where the whole bar would begin
  };
  struct Piece {
    Span span;
    bool low = false;
  };

  void time(const Told& told);
  void advance(Ticks to);
  void open(Ticks start, Ticks length, Ticks before);
  void openAt(Ticks tick);
  void settle(Frame& frame, Frame* next);
  void write(std::size_t index);
  void placeBeats(Frame& frame, bool all);
  std::vector<Piece> tunePieces(std::size_t index);
  std::vector<Piece> ourPieces(std::size_t index, bool percussion);
  bool belongs(std::size_t index, std::uint64_t id, Ticks at, Ticks& to) const;
  void marks(Frame& frame);
  void forget();
  void dirty();
  const Chord* chordOf(std::uint32_t id) const;

  Options options_;
  std::deque<Frame> frames_;
  std::vector<Played> tune_;
  std::deque<OurNote> ours_;
  std::vector<Foreseen> foreseen_;
  std::vector<OurNote> coming_;
  std::deque<HeardChord> chords_;
  Quantiser quantiser_;
  Pulse pulse_;
  Ticks barStart_{};
  Ticks now_{};
  double quartersPerMinute_ = 120;
  Key key_{};
  std::uint64_t nextOrdinal_ = 0;
  std::uint64_t dropped_ = 0;
  bool started_ = false;
};

/// The lines of one staff out of pieces that may overlap: one voice where nothing does, else two, the first above.
/// [message]
struct StaffPieces {
  std::vector<Span> spans;
  std::vector<bool> low;
};
Staff arranged(const StaffPieces& pieces, const Bar& bar, Ticks playedUntil);

/// Names every note of a bar and sets its signs, by the bar's key and chords. after: the first note of the next bar's
/// tune, if known. [message]
void spellBar(Bar& bar, std::optional<NoteNumber> after);

/// A chord's symbol as it is printed: signs as signs, without the hand's own bass. [message]
std::string printedSymbol(const Chord& chord);
/// "\u266DVII7": a numeral's alterations as signs. [any]
std::string printedNumeral(std::string_view numeral);

}  // namespace seguente::page
