// Judges of each note, at its note-on, which hand played it, and looks again while its gather window is open.
// Beliefs shape what is believed of later notes, so each is kept, and revised, in one memory.
#pragma once

#include <span>

#include "dsp/channel_habit.h"
#include "dsp/hand_model.h"

namespace seguente {

/// Whoever gives the odds of a described note (64ths, right hand positive): the shipped nets, or a teacher in training.
struct HandOpinion {
  void* context = nullptr;
  int (*odds)(void* context, const HandFeatures& features, const HeardNote& note, bool again) = nullptr;
};

/// A verdict that was changed while the window was open, or that has become final. [audio]
struct HandRevision {
  HeardNote note{};
  Verdict was = Verdict::pass;
  bool changed = false;    // the verdict; false: a lent note stays where it went, or leftChord
  bool leftChord = false;  // taken, and too late for the tune: it is silent, but no tone of the chord either
};

/// From which odds on (64ths) what is done; measured, see DEVELOPERS.md. [any]
struct HandBounds {
  int pass = 330;           // chance 0.994: passes for good
  int take = 62;            // below, chance 0.72: taken
  int withdraw = -80;       // a lent note below this at the end of its window: chance 0.22
  int withdrawEarly = -80;  // the same before
  int leaveChord = -50;     // a taken note above this at the end of its window is no tone of the chord
  int giveBack = 1024;      // and above this it would be sent late: never (DEVELOPERS.md, decision 15)
  int certain = 330;        // so sure of the tune, chance 0.994: not looked at again
  int certainChord = 250;   // and of the chord, chance 0.98: what was taken can only leave it
};

/// [audio] throughout; no errors; bounded by the memory's room.
class HandJudge {
 public:
  static constexpr std::size_t mostRevisions = HandMemory::room;
  explicit HandJudge(HandOpinion opinion = {}) : opinion_(opinion) {}
  void reset() noexcept;

  /// All note-ons of one moment arrive before the first is judged: none is at a disadvantage by its place in the cable.
  void arrive(const HeardNote& note) noexcept;
  /// Judges what has arrived. mayLend: bit a channel. window: how long a note may be looked at again.
  void judgeArrivals(const HandContext& context, std::uint16_t mayLend, Samples window) noexcept;
  /// The newest note on that key: what was judged of it; nullptr when it was forgotten.
  HeardNote* newest(std::uint8_t channel, std::uint8_t key) noexcept;
  /// What speaks most for the verdict, in a word.
  HandReason reasonOf(const HeardNote& note) const noexcept;
  void up(std::uint8_t channel, std::uint8_t key, Tenths now) noexcept { memory_.release(channel, key, now); }
  /// Every key is up.
  void allUp() noexcept;
  /// Whether lookAgain will need its context now.
  bool asksAgain(Samples at) const noexcept;
  /// Looks again at notes whose window is open; those whose window is over become final.
  std::span<const HandRevision> lookAgain(Samples at, Tenths now, const HandContext& context) noexcept;
  /// When the oldest open window ends, or no finger has landed for a quarter of it; never when none is open.
  Samples nextEnd() const noexcept { return quietEnd_ < nextEnd_ ? quietEnd_ : nextEnd_; }
  const HandMemory& memory() const noexcept { return memory_; }
  HandBounds bounds{};

 private:
  int ask(std::size_t place, Tenths now, const HandContext& context, bool again, bool closing) noexcept;
  bool asksAbout(std::size_t place, Samples at) const noexcept;
  void revise(HeardNote& note, int odds, bool closing) noexcept;
  Samples endOf(const HeardNote& note) const noexcept;
  void findEnd() noexcept;

  HandMemory memory_;
  ChannelHabit channels_;
  HandOpinion opinion_;
  alignas(16) HandFeatures features_{};
  std::array<HandRevision, mostRevisions> revisions_{};
  std::size_t revisionCount_ = 0;
  Samples window_{2400};
  Samples nextEnd_ = never;
  Samples quietEnd_ = never;  // a lent note is looked at again then: what landed with it has landed
};

}  // namespace seguente
