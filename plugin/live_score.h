// The page as it is being written: reads the ring of the view, tells the writer, and remembers what the screen asks
// about: what sounded last and why, and what is due next. Lives with the processor, so that a window that is opened
// later finds the page written.
#pragma once

#include <optional>
#include <vector>

#include "plugin/page/writer.h"
#include "plugin/rehearsal.h"
#include "plugin/view.h"

namespace seguente {

/// [message] throughout.
class LiveScore {
 public:
  explicit LiveScore(ViewBox& box) : box_(box) {}

  /// Takes what has been told since. Called by a timer even with no window, so that the audio thread always does the
  /// same.
  void read();
  const View& view() const { return view_; }
  page::Writer& writer() { return writer_; }
  /// Goes up with every reading that brought something.
  std::uint64_t changes() const { return changes_; }
  /// Notes that found no room, in the ring or on the page.
  std::uint64_t dropped() const { return box_.told().dropped() + writer_.dropped(); }
  /// Of the newest note of ours; empty before the first, and when the hand let go.
  const std::optional<NoteReason>& last() const { return last_; }
  /// The chords held so far, the present one last; at most four.
  const std::vector<KeySet>& chords() const { return chords_; }

  /// What follows by this rehearsal of the present chord, to the end of the next bar: on the page up to the bar line.
  void foresee(const Rehearsal& rehearsal);
  /// The keys that are due next, all at one place; empty when nobody knows.
  KeySet next() const;

 private:
  ViewBox& box_;
  View view_;
  page::Writer writer_;
  std::uint64_t changes_ = 0;
  std::optional<NoteReason> last_;
  std::vector<KeySet> chords_;
  std::vector<page::Foreseen> foreseen_;
  std::uint64_t lost_ = 0;
};

}  // namespace seguente
