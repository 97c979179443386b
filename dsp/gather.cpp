#include "dsp/gather.h"

#include <algorithm>
#include <array>
#include <cstdint>

namespace seguente {

namespace {
// A diminished triad is not among them: it may be a seventh whose root is still on its way (C-F#-A, and then the D).
// Triads and sevenths as masks above the root, and the shells 1-3-b7 (B-F-G: beginners' seventh), 1-b3-b7, 1-3-7.
constexpr std::array<std::uint16_t, 15> wholeMasks = {0b000010010001, 0b000010001001, 0b000100010001, 0b000010100001,
                                                      0b010010010001, 0b100010010001, 0b010010001001, 0b010001001001,
                                                      0b001001001001, 0b001010010001, 0b001010001001, 0b010000010001,
                                                      0b010000001001, 0b100000010001, 0b000010000101};

/// Triads and dominant sevenths: what most left hands hold most of the time (common practice, no source).
constexpr std::array<std::uint16_t, 4> plainMasks = {0b000010010001, 0b000010001001, 0b010010010001, 0b010000010001};

constexpr bool hasThird(std::uint16_t mask) { return mask != 0b000010100001 && mask != 0b000010000101; }

/// Every mask over every root.
template <class Masks, class Keep>
constexpr std::array<std::uint64_t, 64> tableOf(const Masks& masks, Keep keep) {
  std::array<std::uint64_t, 64> table{};
  for (const auto mask : masks)
    for (int root = 0; root < 12 && keep(mask); ++root) {
      const auto turned = ((mask << root) | (mask >> (12 - root))) & 0xFFF;
      table[static_cast<std::size_t>(turned >> 6)] |= std::uint64_t{1} << (turned & 63);
    }
  return table;
}
constexpr auto wholeTable = tableOf(wholeMasks, [](std::uint16_t) { return true; });
constexpr auto withThirdTable = tableOf(wholeMasks, hasThird);
constexpr auto plainTable = tableOf(plainMasks, hasThird);

bool hasBit(const std::array<std::uint64_t, 64>& table, PitchClassSet set) noexcept {
  return (table[set.bits >> 6] >> (set.bits & 63)) & 1u;
}

constexpr int mostWithSlip = 6;  // keys of one hand, a slip among them

/// Pitch classes of keys, and what is left of them without one or two: asked for each key that may be a slip.
class Tones {
 public:
  explicit Tones(const KeySet& keys) noexcept {
    keys.forEach([&](NoteNumber n) {
      const auto bit = bitOf(n);
      twice_ = static_cast<std::uint16_t>(twice_ | (once_ & bit));
      once_ = static_cast<std::uint16_t>(once_ | bit);
    });
  }
  PitchClassSet without(NoteNumber n) const noexcept { return {static_cast<std::uint16_t>(once_ & ~gone(n))}; }
  /// Of two keys of one pitch class a third is counted on.
  PitchClassSet without(NoteNumber a, NoteNumber b) const noexcept {
    return {static_cast<std::uint16_t>(once_ & ~(gone(a) | gone(b)))};
  }

 private:
  static std::uint16_t bitOf(NoteNumber n) noexcept { return static_cast<std::uint16_t>(1u << n.pitchClass().value); }
  unsigned gone(NoteNumber n) const noexcept { return bitOf(n) & ~static_cast<unsigned>(twice_); }
  std::uint16_t once_ = 0, twice_ = 0;
};

KeySet only(NoteNumber note) noexcept {
  KeySet one;
  one.add(note);
  return one;
}

KeySet bothOf(const KeySet& a, const KeySet& b) noexcept {
  return {{a.words[0] & b.words[0], a.words[1] & b.words[1]}};
}

/// Those of the keys with another of them a semitone or two off.
KeySet withNeighbours(const KeySet& keys) noexcept {
  const auto [low, high] = keys.words;
  const std::uint64_t up0 = low << 1 | low << 2, up1 = high << 1 | high << 2 | low >> 63 | low >> 62;
  const std::uint64_t down0 = low >> 1 | low >> 2 | high << 63 | high << 62, down1 = high >> 1 | high >> 2;
  return {{low & (up0 | down0), high & (up1 | down1)}};
}
}  // namespace

bool wholeChord(PitchClassSet set) noexcept { return hasBit(wholeTable, set); }

void Gather::schedule() noexcept {
  deadline_ = windowEnd_;
  const auto consider = [this](Samples due) { deadline_ = due < deadline_ ? due : deadline_; };
  consider(quietEnd_);
  consider(asideEnd_);
  consider(overlapEnd_);
  consider(goneAt_);
  consider(slipAt_);
  atRest_ = !down_.empty() && !landing();
}

/// A finger of the chord that was struck a moment ago: a wide spread or a roll (REFERENCES section 6: 99 of 100 chords
/// of three keys and more land within 60 ms, rolls do not).
bool Gather::completes(Samples at) const noexcept {
  return struckInWindow_ && gathered_.without(down_).empty() && !gathered_.empty() && doubtful_.empty() &&
         at - lastFinger_ <= Samples{3 * window_.value / 2} && at - first_ <= Samples{6 * window_.value};
}

void Gather::keyDown(NoteNumber note, Velocity velocity, Samples at, Samples window) noexcept {
  if (windowEnd_ == never && completes(at)) {
    windowEnd_ = at + window_;
    asideEnd_ = overlapEnd_ = never;  // until it closes
  } else if (windowEnd_ == never) {
    first_ = at;
    windowEnd_ = at + window;
    window_ = window;
    gathered_ = {};
    tones_ = {};
    ordered_ = 0;
    slips_ = {};
    slipAt_ = asideEnd_ = never;
    aside_ = {};
    old_ = down_;
    oldGone_ = down_.count() < keys_.count();
    velocitySum_ = velocityCount_ = 0;
    softestVelocity_ = 128;
    struckInWindow_ = false;
  }
  first_ = std::min(first_, at);
  restruck_ = restruck_ || doubtful_.has(note);
  old_.remove(note);  // a key of the old chord that is struck again belongs to the new one
  if (!gathered_.has(note) && ordered_ < order_.size()) order_[ordered_++] = note.value;
  gathered_.add(note);
  tones_.add(note.pitchClass());
  down_.add(note);
  velocitySum_ += velocity.value;
  if (velocity.value < softestVelocity_) {
    softest_ = note;
    softestVelocity_ = velocity.value;
  }
  ++velocityCount_;
  goneAt_ = never;
  lastFinger_ = std::max(at, first_);
  quietEnd_ = lastFinger_ + Samples{window_.value / 4};
  schedule();
}

void Gather::keyUp(NoteNumber note, Samples at, Samples bridge) noexcept {
  if (!down_.has(note)) return;
  if (doubtful_.has(note)) doubtful_ = {};
  down_.remove(note);
  aside_.remove(note);
  suspectSlip(note, at);
  if (windowEnd_ != never) {
    oldGone_ = oldGone_ || old_.has(note);
    old_.remove(note);
  } else if (overlapEnd_ != never && old_.has(note)) {
    overlapTaken_ = overlapTaken_ || keys_.has(note);
    keys_.remove(note);
    old_.remove(note);
  }
  if (down_.empty() && !pedal_) goneAt_ = at + bridge;
  schedule();
}

void Gather::pedal(bool down, Samples at, Samples bridge) noexcept {
  if (down == pedal_) return;
  pedal_ = down;
  if (down)
    goneAt_ = never;
  else if (down_.empty() && !(keys_.empty() && gathered_.empty()))
    goneAt_ = at + bridge;
  schedule();
}

void Gather::takeBack(NoteNumber note, Samples at, Samples bridge) noexcept {
  down_.remove(note);
  gathered_.remove(note);
  tones_ = gathered_.pitchClasses();
  old_.remove(note);
  aside_.remove(note);
  const bool waiting = windowEnd_ != never && !gathered_.empty();  // settle will see what is left
  const bool nothingYet = windowEnd_ != never && !struckInWindow_;
  if (!waiting) windowEnd_ = quietEnd_ = never;
  if (!waiting && !nothingYet && keys_.has(note)) {
    keys_.remove(note);
    overlapTaken_ = true;
  }
  if (down_.empty() && goneAt_ == never && windowEnd_ == never && !(pedal_ && !keys_.empty()))
    goneAt_ = keys_.empty() ? at : at + bridge;
  schedule();
}

/// A slip is no shorter than some wanted notes, so length alone does not tell (REFERENCES section 6: a median of 77 ms,
/// a quarter over 350): it lies a semitone or two from a key of the chord and leaves within five windows, and the chord
/// stays.
void Gather::suspectSlip(NoteNumber note, Samples at) noexcept {
  if (!gathered_.has(note) || at - first_ > Samples{5 * window_.value}) return;
  KeySet with = down_;
  with.add(note);
  if (!withNeighbours(with).has(note) || (slipAt_ != never && !weighs_)) return;
  if (!weighs_) slips_ = {};
  slips_.add(note);
  slipAt_ = at + Samples{expected_.has(note.pitchClass()) ? window_.value : window_.value / 4};
}

bool Gather::dropSlip(Samples at) noexcept {
  if (slipAt_ > at || windowEnd_ != never) return false;
  slipAt_ = never;
  const KeySet slips = slips_.without(down_);
  KeySet rest = keys_.without(slips);
  if (rest == keys_) return false;
  KeySet whole = rest;
  aside_.forEach([&](NoteNumber n) { whole.add(n); });  // the wrong one of two neighbours was left aside
  const bool instead = !aside_.empty() && wholeChord(whole.pitchClasses());
  if (instead) rest = whole;
  const bool others = down_.count() > 2 && rest.without(down_).empty();
  if (!others || !wholeChord(rest.pitchClasses())) return false;
  keys_ = rest;
  if (instead) aside_ = {};
  clusters_ = std::max(0, clusters_ - 2);
  return true;
}

void Gather::dropDoubtful() noexcept {
  if (doubtful_.empty() || !(restruck_ || gathered_.count() >= std::min(3, doubtful_.count()))) return;
  const KeySet lost = doubtful_.without(gathered_);
  down_ = down_.without(lost);
  old_ = old_.without(lost);
  doubtful_ = {};
  restruck_ = false;
}

void Gather::strikeAgain(Samples at) noexcept {
  if (down_.empty()) return;
  keys_ = {};
  gathered_ = down_;
  tones_ = down_.pitchClasses();
  old_ = aside_ = {};
  asideEnd_ = overlapEnd_ = never;
  first_ = windowEnd_ = at;
  struckInWindow_ = false;
  velocitySum_ = force_;  // as hard as it was
  velocityCount_ = 1;
  schedule();
}

/// A slip comes first and the right key follows (REFERENCES section 6).
bool Gather::landedFirst(NoteNumber note, const KeySet& all) const noexcept {
  for (std::size_t i = 0; i < ordered_; ++i) {
    if (order_[i] == note.value) return true;
    const int off = order_[i] - note.value;
    if (off >= -2 && off <= 2 && all.has({order_[i]})) return false;
  }
  return false;
}

/// Most wrong keys are soft (Repp 1996, The Art of Inaccuracy, Music Perception 14; from memory): softer than three
/// quarters of the others' mean.
bool Gather::brushed(NoteNumber note) const noexcept {
  return note == softest_ && velocityCount_ > 2 &&
         4 * softestVelocity_ * (velocityCount_ - 1) < 3 * (velocitySum_ - softestVelocity_);
}

/// How much speaks for it that of these keys one was a slip: that it is up already, was brushed, that the rest is a
/// plainer chord, is of likelier tones, was struck before, and that its neighbour came after it.
int Gather::evidence(NoteNumber slip, const KeySet& all, const KeySet& rest, PitchClassSet tones) const noexcept {
  const int up = down_.has(slip) ? 0 : 32;
  if (!weighs_) return up;
  return up + (brushed(slip) ? 16 : 0) + (hasBit(plainTable, tones) ? 8 : 0) + (likely(tones) ? 4 : 0) +
         (rest == keys_ ? 2 : 0) + (landedFirst(slip, all) ? 1 : 0);
}

/// A slip leaves a whole chord behind, one with a third: C-E-F-G may be C and a slip, hardly Csus4 and a slip.
bool Gather::leavesSlipAside(KeySet all, const KeySet& suspects, Landed& found, bool plainOnly) const noexcept {
  int best = -1;
  const Tones tones(all);
  const auto& table = plainOnly ? plainTable : withThirdTable;
  bothOf(suspects, withNeighbours(all)).forEach([&](NoteNumber n) {
    const PitchClassSet left = tones.without(n);
    if (!hasBit(table, left)) return;
    KeySet rest = all;
    rest.remove(n);
    if (rest == keys_ && !struckInWindow_ && !(weighs_ && gathered_.count() > 1)) return;  // nothing new
    const int speaks = evidence(n, all, rest, left);
    if (speaks < best || (speaks == best && down_.has(n))) return;
    best = speaks;
    found.keys = rest;
    found.tones = left;
    found.aside = {};
    found.aside.add(n);
  });
  return best >= 0;
}

bool Gather::leavesSlipAside(KeySet all, Landed& found) const noexcept {
  return leavesSlipAside(all, gathered_, found, false) || (weighs_ && leavesTwoAside(all, found));
}

/// Two at once: without them a plain chord is left.
bool Gather::leavesTwoAside(const KeySet& all, Landed& found) const noexcept {
  int best = -1;
  if (all.count() != 5) return false;  // three meant: with more, too much could be meant
  const Tones tones(all);
  const KeySet beside = bothOf(gathered_, withNeighbours(all));
  beside.forEach([&](NoteNumber one) {
    beside.forEach([&](NoteNumber two) {
      const PitchClassSet left = tones.without(one, two);
      if (two.value <= one.value || !hasBit(plainTable, left)) return;
      KeySet rest = all;
      rest.remove(one);
      rest.remove(two);
      const int speaks = evidence(one, all, rest, left) + evidence(two, all, rest, left);
      if (speaks <= best) return;
      best = speaks;
      found = {rest, {}, left, found.clear, found.clearOnceQuiet};
      found.aside.add(one);
      found.aside.add(two);
    });
  });
  return best >= 0;
}

/// What has landed is a whole chord.
void Gather::whole(const KeySet& old, Landed& found, bool closing, Samples at) const noexcept {
  const bool plain = hasBit(plainTable, found.tones);
  const bool habit = holdsPlainChords();
  const bool usual = plain || (!habit && gathered_.count() > 3);
  const bool mayBeSlip = clusters_ < 2 && gathered_.count() > 3 && brushed(softest_);
  found.clear = !weighs_ || found.tones == keys_.pitchClasses() || (usual && !mayBeSlip && likely(found.tones));
  found.clearOnceQuiet = !found.clear;
  // A neighbour too many that was brushed, or any where plain chords are the habit: a slip, until it stays.
  if (!found.clear && (closing || quietEnd_ <= at)) {
    if (!plain && habit)
      leavesSlipAside(gathered_, gathered_, found, true);
    else if (mayBeSlip)
      leavesSlipAside(gathered_, only(softest_), found, true);
  }
  old.forEach([&](NoteNumber n) { (found.tones.has(n.pitchClass()) ? found.keys : found.aside).add(n); });
}

Gather::Landed Gather::landed(Samples at, bool closing) const noexcept {
  Landed found{gathered_, {}, tones_};
  if (wholeChord(found.tones)) {
    whole(old_, found, closing, at);
    return found;
  }
  // Keys of the old chord may be common tones once others of it have gone; while all are down it may be overlap.
  const bool maybe = old_.empty() || oldGone_;
  if (!old_.empty()) {
    old_.forEach([&](NoteNumber n) {
      found.keys.add(n);
      found.tones.add(n.pitchClass());
    });
    if (wholeChord(found.tones)) {
      found.clearOnceQuiet = maybe;
      const bool more = weighs_ && gathered_.count() > 1 && !hasBit(plainTable, found.tones);
      if (more && holdsPlainChords() && (closing || quietEnd_ <= at))
        leavesSlipAside(found.keys, gathered_, found, true);
      return found;
    }
  }
  const int size = gathered_.count();
  const bool first = maybe && !struckInWindow_;
  if (size <= 2) found.clearOnceQuiet = first && size == lastSize_ && size == sizeBefore_;
  const int most = weighs_ && (maybe || closing) ? found.keys.count() : size;
  const bool asks = first || (maybe && weighs_);
  if (most < 4 || most > mostWithSlip || !(closing || asks)) return found;
  found.clearOnceQuiet = asks;
  if ((closing || quietEnd_ <= at) && !leavesSlipAside(found.keys, found)) found.clearOnceQuiet = false;
  return found;
}

/// The window is over.
void Gather::close() noexcept {
  windowEnd_ = quietEnd_ = never;
  sizeBefore_ = lastSize_;
  lastSize_ = gathered_.count();
  // Overlap of the old chord: 5 % of changes overlap by 69 ms or more (REFERENCES section 6), so three windows in all.
  overlapEnd_ = old_.empty() ? never : Samples{first_.value + 3 * window_.value};
  aside_ = aside_.without(aside_.without(down_));
  // A quarter of the slips lasts longer than 350 ms (the same).
  const bool slip = !aside_.without(old_).empty();
  // With it all is a whole chord too: it may well have been meant.
  const bool fits = weighs_ && slip && wholeChord(tones_);
  asideEnd_ = aside_.empty()  ? never
              : slip && !fits ? Samples{first_.value + 8 * window_.value}
                              : Samples{first_.value + 3 * window_.value};
  const PitchClassSet tones = keys_.pitchClasses();
  if (slip) return;
  if (hasBit(plainTable, tones))
    plain_ = std::min(2, plain_ + 1);
  else if (keys_.count() > 3 && wholeChord(tones))
    clusters_ = std::min(4, clusters_ + 1);
}

/// What was left aside and has stayed belongs to the chord.
bool Gather::joinFromAside(Samples at) noexcept {
  if (asideEnd_ > at || windowEnd_ != never) return false;
  asideEnd_ = never;
  if (aside_.empty()) return false;
  aside_.forEach([&](NoteNumber n) { keys_.add(n); });
  aside_ = {};
  if (wholeChord(keys_.pitchClasses())) clusters_ = std::min(4, clusters_ + 2);
  return true;
}

GatherEvent Gather::settle(Samples at) noexcept {
  auto result = GatherEvent::nothing;
  if (windowEnd_ != never) {
    dropDoubtful();
    const bool closing = windowEnd_ <= at;
    const Landed now = landed(at, closing);
    const bool quiet = quietEnd_ <= at;
    if (quiet || !now.clearOnceQuiet) quietEnd_ = never;
    const bool certain = now.clear || (now.clearOnceQuiet && quiet);
    const bool clear = certain && (!struckInWindow_ || !(now.tones == keys_.pitchClasses()));
    if (closing || clear) {
      force_ = velocitySum_ / std::max(1, velocityCount_);
      if (!struckInWindow_)
        result = GatherEvent::struck;
      else
        result = now.keys == keys_ ? GatherEvent::closed : GatherEvent::refined;
      keys_ = now.keys;
      aside_ = now.aside;
      struckInWindow_ = true;
    }
    if (closing) close();
  } else if (overlapTaken_) {
    result = keys_.empty() ? GatherEvent::nothing : GatherEvent::refined;
  }
  if (joinFromAside(at) && result != GatherEvent::struck) result = GatherEvent::refined;
  if (dropSlip(at) && (result == GatherEvent::nothing || result == GatherEvent::closed)) result = GatherEvent::refined;
  if (slipAt_ <= at) slipAt_ = windowEnd_ == never ? never : windowEnd_;
  overlapTaken_ = false;
  if (overlapEnd_ <= at) {
    overlapEnd_ = never;
    old_ = {};
  }
  if (goneAt_ <= at && result == GatherEvent::nothing && windowEnd_ == never) {
    goneAt_ = never;
    keys_ = {};
    result = GatherEvent::gone;
  } else if (goneAt_ <= at) {
    goneAt_ = windowEnd_ != never ? windowEnd_ : Samples{at.value + 1};
  }
  schedule();
  return result;
}

void Gather::keepOn() noexcept {
  goneAt_ = never;
  schedule();
}

Velocity Gather::force() const noexcept { return Velocity::clamped(force_); }

}  // namespace seguente
