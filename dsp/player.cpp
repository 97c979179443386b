#include "dsp/player.h"

#include <algorithm>

namespace seguente {

namespace {
// How far before a beat a chord already belongs to it, and how far behind a beat it still does; never more than these
// shares of a beat. Common practice, no source: 150 ms is about the widest anticipation that is not heard as rhythm.
constexpr double earlyMilliseconds = 150;
constexpr double lateMilliseconds = 200;
constexpr double rolledMilliseconds = 150;

/// The same harmony for the figure: an inversion or a doubling changes nothing, a foreign bass does.
bool sameHarmony(const Chord& a, const Chord& b) noexcept {
  if (a.root != b.root || a.type.value != b.type.value || a.count != b.count || a.tones != b.tones) return false;
  const auto own = [](const Chord& c) {
    for (std::size_t i = 0; i < c.count; ++i)
      if (c.root + Interval{c.tones[i]} == c.bass) return true;
    return false;
  };
  return a.bass == b.bass || (own(a) && own(b));
}
}  // namespace

void Player::become(Mode mode) noexcept {
  mode_ = mode;
  downbeatWaits_ = landingWaits_ = false;
  asked_ = Asked::nothing;
  over_.figure = nullptr;
  if (mode == Mode::idle || mode == Mode::ended) base_.figure = nullptr;
}

void Player::adoptIdiom() noexcept {
  if (!hasNextIdiom_) return;
  // Everything before the one that is adopted is let go of, what was asked for and passed over included.
  if (nextIdiom_.generation > 0) released_ = nextIdiom_.generation - 1;
  idiom_ = nextIdiom_;
  hasNextIdiom_ = false;
  playBy(nullptr);
  base_.figure = over_.figure = nullptr;
}

void Player::setIdiom(IdiomRef idiom, Samples at, const Stage& stage) noexcept {
  if (idiom.idiom == idiom_.idiom && idiom.idiom != nullptr) {  // asked for again, or asked back: it plays on
    idiom_ = idiom;
    hasNextIdiom_ = false;
    if (idiom.generation > 0) released_ = idiom.generation - 1;
    schedule(stage);
    return;
  }
  nextIdiom_ = idiom;
  hasNextIdiom_ = true;
  idiomBar_ = barAt(stage.clock.tickAt(at), stage) + stage.clock.meter().bar();
  if (mode_ == Mode::holding || mode_ == Mode::waiting) {
    adoptIdiom();  // what is held stays; the new one plays when the figure goes on
  } else if (mode_ != Mode::running || stage.settings.changeIdiomAtOnce || idiom.idiom == nullptr) {
    const bool was = hasChord_ && mode_ != Mode::ended;
    adoptIdiom();
    stage.ledger.releaseAll(at, stage.sink);
    become(Mode::idle);
    if (was && idiom.idiom != nullptr && stage.clock.playing()) start(chord_, stage.clock.tickAt(at), at, stage);
  }
  schedule(stage);
}

Ticks Player::placeOf(Samples firstFinger, const Stage& stage) const noexcept {
  const Clock& clock = stage.clock;
  const Ticks t = clock.tickAt(firstFinger);
  const Ticks beat = clock.meter().beat();
  const Ticks behind = beatAt(t, stage);
  const Ticks ahead = behind + beat;
  const Ticks early{std::min(clock.ticksFor(earlyMilliseconds).value, beat.value * 2 / 5)};
  const Ticks late{std::min(clock.ticksFor(lateMilliseconds).value, beat.value / 2)};
  if (t - behind <= late) return behind;
  if (ahead - t <= early) return ahead;
  return t;
}

void Player::chordStruck(const HeardChord& heard, Samples firstFinger, Samples at, const Stage& stage) noexcept {
  // A rolled chord lands finger by finger: what joins soon over the same root is the same stroke.
  const bool rolled = hasChord_ && heard.chord.root == chord_.chord.root &&
                      at - struckAt_ <= stage.clock.samplesFor(rolledMilliseconds);
  const bool same = hasChord_ && (rolled || sameHarmony(chord_.chord, heard.chord));
  struckAt_ = at;
  partsReady_ = false;  // the key may be another
  landed();
  place_ = downbeatWaits_ ? downbeat_ : placeOf(firstFinger, stage);
  if (!stage.clock.playing() || (!hasIdiom() && !hasNextIdiom_)) {
    takeChord(heard);
    hasChord_ = true;
    chordSince_ = place_;
    return;
  }
  if (same && !hasPending_ && (mode_ == Mode::running || (mode_ == Mode::holding && !heldByChart_))) {
    takeChord(heard);  // struck again, or in another inversion: no jolt
    struckAfter_ = stage.ledger.lastId();
    downbeatWaits_ = false;
    cause_ = DelayCause::handLate;  // of what had waited for it
    schedule(stage);
    return;
  }
  const Ticks from = place_;
  downbeatWaits_ = false;
  if (stage.clock.sampleOf(from) > at) {
    awaitChord(heard, from, stage);
  } else if (mode_ == Mode::running || mode_ == Mode::holding) {
    activate(heard, from, at, stage);
  } else {
    start(heard, from, at, stage);
  }
  schedule(stage);
}

void Player::nothingLanded(const Stage& stage) noexcept {
  if (!landingWaits_) return;
  landed();
  schedule(stage);
}

void Player::chordRefined(const HeardChord& heard, Samples at, const Stage& stage) noexcept {
  HeardChord& mine = hasPending_ && pending_.id == heard.id ? pending_ : chord_;
  if (mine.id != heard.id) return;
  const bool otherRoot = mine.chord.root != heard.chord.root;
  const auto lost = static_cast<std::uint16_t>(tonesWithBass(mine.chord).bits & ~tonesWithBass(heard.chord).bits);
  if (otherRoot && &mine == &chord_ && stage.clock.playing() && stage.clock.sampleOf(place_) > at) {
    awaitChord(heard, place_, stage);  // it belongs to the beat ahead, and what sounds until then stays
    schedule(stage);
    return;
  }
  mine = heard;
  partsReady_ = false;
  if (&mine != &chord_ || !(otherRoot || stage.ledger.sounds({lost}, struckAfter_))) return;
  // Another root than was struck (A-C-E, and then the F), or a key that was a slip sounds: what is wrong is taken back,
  // what is right sounds on, and the figure with it.
  if (mode_ == Mode::running || mode_ == Mode::holding) activate(heard, place_, at, stage, true);
  schedule(stage);
}

void Player::start(const HeardChord& heard, Ticks from, Samples at, const Stage& stage) noexcept {
  const bool ownDownbeat = mode_ == Mode::waiting;
  adoptIdiom();
  stage.ledger.releaseAll(at, stage.sink);
  become(Mode::running);
  answered_ = true;
  barShift_ = ownDownbeat ? from - stage.clock.barAt(from) : Ticks{};
  startBar_ = barAt(from, stage);
  tuneCame_ = stage.tune.lowest() < 128;
  felt_ = {};
  base_.figure = nullptr;
  lastStep_ = {-farTick.value};
  activate(heard, from, at, stage);
}

void Player::activate(const HeardChord& heard, Ticks from, Samples at, const Stage& stage, bool refined) noexcept {
  forgetPending(stage);
  gone_ = false;
  const bool wrongAttack = lastStep_ >= from;
  if (refined && wrongAttack)
    stage.ledger.beginCorrection(struckAfter_, at, stage.sink);
  else
    stage.ledger.releaseAll(at, stage.sink);
  if (!refined) struckAfter_ = stage.ledger.lastId();
  takeChord(heard);
  hasChord_ = true;
  chordSince_ = from;
  answered_ = true;
  stage.foresight.chordBegan(heard.chord, from, heard.hand);
  stage.voicing.chordChanged(reachFor(from, at, stage));
  reason_ = wrongAttack ? Reason::correction : Reason::step;  // whatever closed or held before is over
  cause_ = at > stage.clock.sampleOf(from) ? DelayCause::handLate : DelayCause::none;
  over_.figure = nullptr;
  const Expected e = stage.foresight.expected(from);
  const bool fermata = e.hold && from - e.from < stage.clock.meter().beat();  // a hand may come late to it
  if (fermata || (mode_ == Mode::holding && !heldByChart_)) {
    heldByChart_ = fermata && (mode_ != Mode::holding || heldByChart_);
    become(Mode::holding);
    startHold(from, at, stage);
    return;
  }
  if (mode_ == Mode::holding) become(Mode::running);
  if ((e.end || e.turnaround) && e.from <= from) {
    if (e.end) return startEnd(from, stage);
    enter(from, stage);
    if (e.from == from) startTurnaround(from, at, stage);
  } else {
    enter(from, stage);
  }
}

/// One hand lies over what it struck last: how far it may leap from there, in the time it has.
HandReach Player::reachFor(Ticks from, Samples at, const Stage& stage) const noexcept {
  if (active_ == nullptr || stage.settings.density != Density::lean) return {};
  HandReach hand{128, -1};
  Samples struck{};
  for (const Attack& attack : stage.ledger.lastSent()) {
    const std::size_t part = attack.each.reason.part;
    if (part >= active_->parts.size() || active_->parts[part].kind == PartKind::percussion) continue;
    struck = stage.clock.sampleOf(attack.each.tick);
    for (std::size_t i = 0; i < attack.keys.count; ++i) {
      hand.low = std::min<int>(hand.low, attack.keys.keys[i].value);
      hand.high = std::max<int>(hand.high, attack.keys.keys[i].value);
    }
  }
  if (hand.high < 0) return {};
  const Samples time = std::max(at, stage.clock.sampleOf(from)) - struck;
  if (time < stage.clock.samplesFor(1000 * handLeap::secondsForOverTenth)) hand.farthest = handLeap::tenth;
  if (time < stage.clock.samplesFor(1000 * handLeap::secondsForOverOctave)) hand.farthest = handLeap::octave;
  return hand;
}

void Player::chordGone(Samples at, const Stage& stage) noexcept {
  landed();
  letGo(at, stage);
  schedule(stage);
}

void Player::chordOfRound(const HeardChord& heard, Ticks from, Samples at, const Stage& stage) noexcept {
  place_ = from;
  gone_ = false;
  if (downbeatWaits_) become(Mode::idle);  // a downbeat that waited for the hand: its bar is past
  stage.foresight.rounds().goOn();
  if (mode_ == Mode::running && hasChord_ && sameHarmony(chord_.chord, heard.chord)) {
    stage.foresight.chordBegan(heard.chord, from, heard.hand);  // the round's last chord is its first one too
    takeChord(heard);
    struckAfter_ = stage.ledger.lastId();
  } else if (mode_ == Mode::running || mode_ == Mode::holding) {
    activate(heard, from, at, stage);
  } else {
    start(heard, from, at, stage);
  }
  schedule(stage);
}

void Player::letGo(Samples at, const Stage& stage) noexcept {
  if (asked_ == Asked::hold || asked_ == Asked::end) {  // what was asked for on the coming beat needs its chord
    gone_ = true;
    return;
  }
  hasChord_ = false;
  forgetPending(stage);
  if (closing()) return;  // a close plays to its end
  if ((mode_ == Mode::holding && !heldByChart_) || mode_ == Mode::idle) return;
  if (mode_ == Mode::ended) {  // the close rings out by its own lengths
    stage.ledger.liftPedals(at, stage.sink);
    become(Mode::idle);
  } else if (stage.settings.waitForChord && mode_ == Mode::running) {
    hasChord_ = true;  // the bar is finished first
    gone_ = true;
    if (downbeatWaits_) beginWaiting(beatAt(stage.clock.tickAt(at), stage) + stage.clock.meter().beat());
  } else if (mode_ != Mode::waiting) {
    stage.ledger.releaseAll(at, stage.sink);
    become(Mode::idle);
  }
}

void Player::silence(const Stage& stage) noexcept {
  become(Mode::idle);
  forgetPending(stage);
  hasChord_ = false;
  next_.due = never;
}

}  // namespace seguente
