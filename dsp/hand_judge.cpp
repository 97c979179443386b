#include "dsp/hand_judge.h"

#include <algorithm>

namespace seguente {

void HandJudge::reset() noexcept {
  memory_.reset();
  channels_ = {};
  revisionCount_ = 0;
  nextEnd_ = quietEnd_ = never;
}

void HandJudge::arrive(const HeardNote& note) noexcept {
  HeardNote fresh = note;
  fresh.judged = fresh.settled = false;
  fresh.down = true;
  memory_.release(note.channel, note.key, note.on);  // struck again: the key is the new note's
  memory_.add(fresh);
}

int HandJudge::ask(std::size_t place, Tenths now, const HandContext& context, bool again, bool closing) noexcept {
  describe(memory_, place, now, context, again, closing, features_);
  const HandNets& nets = shippedHandNets();
  const int played = opinion_.odds != nullptr ? opinion_.odds(opinion_.context, features_, memory_[place], again)
                                              : rightOdds(again ? nets.again : nets.first, features_);
  return std::clamp(played + channels_.odds(memory_[place].channel), -1023, 1023);
}

void HandJudge::judgeArrivals(const HandContext& context, std::uint16_t mayLend, Samples window) noexcept {
  window_ = window;
  std::size_t first = memory_.count();
  while (first > 0 && !memory_[first - 1].judged) --first;
  const std::size_t count = memory_.count() - first;
  // Twice when several land in one moment: the first was judged before its neighbours were.
  for (int round = 0; round < (count > 1 ? 2 : 1); ++round)
    for (std::size_t i = first; i < memory_.count(); ++i) {
      HeardNote& note = memory_[i];
      const int odds = ask(i, note.on, context, false, false);
      note.right = note.firstRight = static_cast<std::int16_t>(odds);
      note.judged = true;
      if (context.clock)
        note.offBeat256 = static_cast<std::int16_t>(context.offBeat256 < 0 ? -context.offBeat256 : context.offBeat256);
      const bool lend = (mayLend >> note.channel & 1) != 0;
      note.verdict = odds < bounds.take ? Verdict::take : odds < bounds.pass && lend ? Verdict::lend : Verdict::pass;
      note.hand = note.verdict == Verdict::take ? Hand::chord : Hand::melody;
    }
  if (count == 0) return;
  findEnd();
  quietEnd_ = never;
  for (std::size_t i = 0; i + 1 < memory_.count(); ++i)
    if (!memory_[i].settled && memory_[i].verdict == Verdict::lend)
      quietEnd_ = memory_[memory_.count() - 1].at + Samples{window.value / 4};
}

HeardNote* HandJudge::newest(std::uint8_t channel, std::uint8_t key) noexcept {
  for (std::size_t i = memory_.count(); i-- > 0;)
    if (memory_[i].key == key && memory_[i].channel == channel) return &memory_[i];
  return nullptr;
}

void HandJudge::allUp() noexcept {
  for (std::size_t i = 0; i < memory_.count(); ++i) memory_[i].down = false;
}

HandReason HandJudge::reasonOf(const HeardNote& note) const noexcept {
  constexpr std::int64_t together = 600;  // tenths: as in hand_features.cpp
  const bool take = note.verdict == Verdict::take;
  bool landsTogether = false, sameKey = false, over = false;
  Tenths strike{-1};
  for (std::size_t i = memory_.count(); i-- > 0;) {
    const HeardNote& n = memory_[i];
    if (&n == &note || !n.judged || n.hand != Hand::chord) continue;
    const bool near = note.on - n.on <= together;
    over = over || (n.key < note.key && (near || n.down));
    if (near) {
      landsTogether = true;
      continue;
    }
    if (strike.value < 0) strike = n.on;
    sameKey = sameKey || (strike - n.on <= together && n.key == note.key);
  }
  if (take && landsTogether) return HandReason::landsTogether;
  if (take && sameKey) return HandReason::sameKeys;
  if (!take && over) return HandReason::overChord;
  const bool known = memory_.habit(take ? Hand::chord : Hand::melody).notes > 0;
  if (!known) return HandReason::registerAlone;
  return take ? HandReason::whereChordWas : HandReason::whereTuneWas;
}

/// Of a lent note a quarter earlier: what has to be withdrawn is heard so much less long, and 95 of 100 chords have
/// landed (REFERENCES section 6: three keys and more within 41 ms).
Samples HandJudge::endOf(const HeardNote& note) const noexcept {
  return note.at + Samples{note.verdict == Verdict::lend ? 3 * window_.value / 4 : window_.value};
}

void HandJudge::findEnd() noexcept {
  nextEnd_ = never;
  for (std::size_t i = 0; i < memory_.count(); ++i)
    if (memory_[i].judged && !memory_[i].settled) nextEnd_ = std::min(nextEnd_, endOf(memory_[i]));
}

void HandJudge::revise(HeardNote& note, int odds, bool closing) noexcept {
  note.right = static_cast<std::int16_t>(odds);
  const Verdict was = note.verdict;
  if (was == Verdict::lend) {
    if (odds < (closing ? bounds.withdraw : bounds.withdrawEarly))
      note.verdict = Verdict::take;
    else if (closing)
      note.verdict = Verdict::pass;
  } else if (was == Verdict::take && closing && odds > bounds.giveBack) {
    note.verdict = Verdict::pass;
  }
  note.hand = odds < 0 ? Hand::chord : Hand::melody;  // the belief; what has sounded stays
  const bool leftChord = note.verdict == Verdict::take && was == Verdict::take && closing && odds > bounds.leaveChord;
  if (note.verdict == was && !leftChord) return;
  ++note.revision;
  HandRevision& r = revisions_[revisionCount_++];
  r.note = note;
  r.was = was;
  r.leftChord = leftChord;
  r.changed = note.verdict != was && !(was == Verdict::lend && note.verdict == Verdict::pass);
}

/// Before its window is over only a lent note can be acted on; the others are looked at again once, at its end.
bool HandJudge::asksAbout(std::size_t place, Samples at) const noexcept {
  const HeardNote& note = memory_[place];
  if (!note.judged || note.settled || note.at >= at) return false;
  if (note.right > bounds.certain || note.right < -bounds.certainChord) return false;
  return endOf(note) <= at || (note.verdict == Verdict::lend && place + 1 < memory_.count());
}

bool HandJudge::asksAgain(Samples at) const noexcept {
  for (std::size_t i = 0; i < memory_.count(); ++i)
    if (asksAbout(i, at)) return true;
  return false;
}

std::span<const HandRevision> HandJudge::lookAgain(Samples at, Tenths now, const HandContext& context) noexcept {
  revisionCount_ = 0;
  for (std::size_t i = 0; i < memory_.count(); ++i) {
    HeardNote& note = memory_[i];
    if (!note.judged || note.settled) continue;
    const bool closing = endOf(note) <= at;
    if (asksAbout(i, at))
      revise(note, ask(i, now, context, true, closing), closing);
    else if (closing && note.verdict == Verdict::lend)
      revise(note, note.right, true);
    if (!closing) continue;
    memory_.settle(i);
    const bool right = note.right > channels_.odds(note.channel);  // by how it was played alone
    channels_.learn(note.channel, right ? Hand::melody : Hand::chord);
  }
  if (quietEnd_ <= at) quietEnd_ = never;
  findEnd();
  return {revisions_.data(), revisionCount_};
}

}  // namespace seguente
