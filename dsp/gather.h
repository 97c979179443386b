// Waits for the fingers of one chord to land and says "struck": which keys, when, how hard.
//
// A set that is already a whole chord is struck at once, and refined when it has become another whole chord (a root or
// a seventh that lands last) or when the window closes; an unclear set waits for the window, or, when it has as few
// keys (one or two) as both chords before, until no finger has landed for a quarter of it. Keys of the old chord that
// are still down may be common tones or late to leave (legato): where the new keys alone are a whole chord the others
// are left aside, and join when they have stayed three windows; where the new keys need them, a quarter of a window
// goes by, and while all of them are down the whole of it. Left aside in the same way is a neighbour of another key
// without which all is a whole chord: a slip, for the time being. Releases never change the chord, except that an old
// key let go soon after the strike was overlap, not a common tone, and is taken out; and so is a slip: a neighbour of
// another key of the chord that is let go soon while the others, a whole chord without it, stay.
#pragma once

#include <array>

#include "dsp/pitch.h"
#include "dsp/time.h"

namespace seguente {

/// closed: what was struck before its window ended is now certain, and is as it was.
enum class GatherEvent : std::uint8_t { nothing, struck, refined, closed, gone };

/// [audio] throughout; no errors.
class Gather {
 public:
  void reset() noexcept { *this = Gather{}; }
  /// The tones that a chord would be made of here (the key's, or those of the chart); all twelve when nobody knows.
  /// From now on chords are weighed: one of other tones, or one that is no triad or dominant seventh, is given a moment
  /// more, and of two neighbours the one that makes the plainer chord of likelier tones is taken for the one meant.
  void expect(PitchClassSet tones) noexcept {
    expected_ = tones;
    weighs_ = true;
  }
  /// at: when the finger landed; earlier than now for a key that was lent to the tune and is withdrawn.
  void keyDown(NoteNumber note, Velocity velocity, Samples at, Samples window) noexcept;
  /// bridge: how long the chord outlives its last key.
  void keyUp(NoteNumber note, Samples at, Samples bridge) noexcept;
  /// A key that had been taken for the chord's was the tune's after all: as if it had never come.
  void takeBack(NoteNumber note, Samples at, Samples bridge) noexcept;
  /// The sustain pedal of the chord hand's channel: what it holds is held, so the chord outlives its last key.
  void pedal(bool down, Samples at, Samples bridge) noexcept;
  /// Called at a moment in which keys moved or the deadline fell: what has become of the chord.
  GatherEvent settle(Samples at) noexcept;
  /// The next moment at which settle must be called even if no key moves.
  Samples deadline() const noexcept { return deadline_; }
  /// Forget that the hand let go (hold, keep).
  void keepOn() noexcept;
  /// The host jumped: it may have swallowed the note-offs of the keys that are down (a loop does). The first note-off
  /// of one of them shows that it has not; as many new keys, or one of them struck again, show that it has.
  void doubt() noexcept { doubtful_ = down_; }
  /// The keys that are down are to be struck anew (after a bypass); nothing when none is.
  void strikeAgain(Samples at) noexcept;

  const KeySet& keys() const noexcept { return keys_; }  // of the chord, as struck
  const KeySet& down() const noexcept { return down_; }  // in this instant
  bool lifted() const noexcept { return down_.empty(); }
  /// Fingers are landing that belong together.
  bool open() const noexcept { return windowEnd_ != never; }
  /// The same, and no chord is heard from them yet.
  bool landing() const noexcept { return windowEnd_ != never && !struckInWindow_; }
  /// Keys are down, and none is landing: nobody has to be asked about the figure's way.
  bool atRest() const noexcept { return atRest_; }
  Samples firstFinger() const noexcept { return first_; }
  Velocity force() const noexcept;

 private:
  /// What has landed, as a chord; and whether nothing is gained by waiting, at all or once no finger lands any more.
  struct Landed {
    KeySet keys{}, aside{};
    PitchClassSet tones{};
    bool clear = false, clearOnceQuiet = false;
  };
  Landed landed(Samples at, bool closing) const noexcept;
  bool leavesSlipAside(KeySet all, const KeySet& suspects, Landed& landed, bool plainOnly) const noexcept;
  bool leavesSlipAside(KeySet all, Landed& landed) const noexcept;
  bool leavesTwoAside(const KeySet& all, Landed& landed) const noexcept;
  int evidence(NoteNumber slip, const KeySet& all, const KeySet& rest, PitchClassSet tones) const noexcept;
  bool brushed(NoteNumber note) const noexcept;
  bool landedFirst(NoteNumber note, const KeySet& all) const noexcept;
  void whole(const KeySet& old, Landed& landed, bool closing, Samples at) const noexcept;
  bool holdsPlainChords() const noexcept { return plain_ >= 2 && clusters_ < 2; }
  bool likely(PitchClassSet tones) const noexcept { return (tones.bits & ~expected_.bits) == 0; }
  void close() noexcept;
  bool joinFromAside(Samples at) noexcept;
  bool completes(Samples at) const noexcept;
  void schedule() noexcept;
  void dropDoubtful() noexcept;
  void suspectSlip(NoteNumber note, Samples at) noexcept;
  bool dropSlip(Samples at) noexcept;

  KeySet down_{};          // keys in this instant
  KeySet gathered_{};      // keys that landed in this window
  PitchClassSet tones_{};  // of gathered_
  KeySet old_{};           // keys of the chord before, still down when the window opened
  KeySet keys_{};          // the chord
  KeySet aside_{};         // of down_: late to leave, or slips; else they join at asideEnd_
  KeySet doubtful_{};      // of down_: perhaps let go while the host jumped
  PitchClassSet expected_{0xFFF};
  Samples first_{}, lastFinger_{};
  Samples windowEnd_ = never;
  Samples quietEnd_ = never;  // no finger has landed for a while
  Samples asideEnd_ = never;
  Samples overlapEnd_ = never;
  Samples goneAt_ = never;
  Samples slipAt_ = never;  // when it is clear whether slips_ were some
  KeySet slips_{};
  std::array<std::uint8_t, 8> order_{};  // keys of gathered_ as they landed
  std::uint8_t ordered_ = 0;
  Samples deadline_ = never;
  Samples window_{};
  int lastSize_ = 0, sizeBefore_ = 0;  // keys that landed for the last two chords
  int plain_ = 0;                      // how often this hand has held a plain chord, 0 to 2
  int clusters_ = 0;                   // how usual it is for it to hold neighbours in another, 0 to 4
  int velocitySum_ = 0;
  int velocityCount_ = 0;
  NoteNumber softest_{};  // of gathered_
  int softestVelocity_ = 128;
  int force_ = 64;
  bool struckInWindow_ = false;
  bool weighs_ = false;
  bool pedal_ = false;
  bool atRest_ = false;
  bool overlapTaken_ = false;
  bool oldGone_ = false;   // some keys of the chord before have been let go
  bool restruck_ = false;  // a doubtful key was struck again
};

/// True when these pitch classes alone make one whole common chord (a triad or a seventh, or a seventh's shell), so
/// that nothing is gained by waiting. [audio] constant time.
bool wholeChord(PitchClassSet set) noexcept;

}  // namespace seguente
