// What stays or turns a running figure: the player's signals, the marks of a chart, the clock that moves or
// jumps, and the hand that is waited for.
#include "dsp/player.h"

namespace seguente {

void Player::gesture(Gesture gesture, Samples at, const Stage& stage) noexcept {
  if (mode_ == Mode::idle || mode_ == Mode::ended || gesture == Gesture::round) return;
  const Clock& clock = stage.clock;
  const Ticks beat = beatAt(clock.tickAt(at), stage);
  askedAt_ = clock.sampleOf(beat) >= at ? beat : beat + clock.meter().beat();
  const bool holdAsked = asked_ == Asked::hold;
  asked_ = Asked::nothing;
  if (gesture == Gesture::hold && mode_ != Mode::holding) asked_ = Asked::hold;
  if (gesture == Gesture::goOn && (mode_ == Mode::holding || holdAsked)) asked_ = Asked::goOn;
  if (gesture == Gesture::end && (!closing() || holdAsked)) asked_ = Asked::end;
  if (holdAsked && asked_ != Asked::hold) passOverHeld(clock.tickAt(at));
  if ((gesture == Gesture::turnaround || gesture == Gesture::tag) && mode_ == Mode::running && !closing()) {
    asked_ = gesture == Gesture::tag ? Asked::tag : Asked::turnaround;
    const Ticks bar = barAt(askedAt_, stage);
    if (bar < askedAt_) askedAt_ = bar + clock.meter().bar();
  }
  if (asked_ == Asked::hold) stage.ledger.sustainAll();  // what sounds goes on sounding up to the beat
  schedule(stage);
}

/// A hold that is taken back before its beat: what was not struck meanwhile is not struck late.
void Player::passOverHeld(Ticks now) noexcept {
  if (hasNextIdiom_ && idiomBar_ <= now)
    adoptIdiom();
  else if (running().figure != nullptr)
    seek(running(), now + Ticks{1});
}

void Player::clockChanged(ClockChange change, Samples at, const Stage& stage) noexcept {
  const Clock& clock = stage.clock;
  if (change == ClockChange::nothing) return;
  if (change == ClockChange::moved) {
    stage.ledger.placeAnew(clock);
    const Ticks now = clock.tickAt(at);
    if (mode_ == Mode::running && base_.figure != nullptr && !closing() && barAt(base_.until, stage) != base_.until)
      takeUpAnew(now, stage);
    cause_ = DelayCause::jumped;  // a step that the new map has put into the past sounds at once
    stage.ledger.releaseDue(at, stage.sink);
    schedule(stage);
    return;
  }
  stage.ledger.releaseAll(at, stage.sink);
  if (gone_ || mode_ == Mode::waiting) hasChord_ = gone_ = false;  // no key was down
  become(Mode::idle);
  forgetPending(stage);
  barShift_ = {};
  place_ = clock.tickAt(at);  // a finger that still joins the chord joins it here
  if (change != ClockChange::stopped && hasChord_ && (hasIdiom() || hasNextIdiom_)) {
    start(chord_, clock.tickAt(at), at, stage);
    cause_ = change == ClockChange::jumped ? DelayCause::jumped : DelayCause::started;
  }
  schedule(stage);
}

/// A new meter: the figure goes on on the new bars. A beat that has just been struck is not struck twice.
void Player::takeUpAnew(Ticks now, const Stage& stage) noexcept {
  barShift_ = {};
  const Ticks beat = beatAt(now, stage);
  if (!hasChord_ || lastStep_ < beat) {
    playBy(nullptr);
    base_.figure = over_.figure = nullptr;
    stage.ledger.shortenTo(now, stage.clock);
    if (hasChord_) enter(beat, stage);
    return;
  }
  beginFigure(barAt(now, stage), stage);
  over_.figure = nullptr;
  if (base_.figure != nullptr) seek(base_, now + Ticks{1});
}

bool Player::fingersLand(Ticks tick, const Stage& stage) const noexcept {
  return mode_ == Mode::running && placeOf(stage.gather.firstFinger(), stage) <= tick;
}

/// A fermata, a fine or a turnaround of the chart over a chord that was struck before and lasts: its bar line is the
/// signal.
bool Player::takeMark(Ticks bar, Samples at, const Stage& stage) noexcept {
  const Expected e = stage.foresight.expected(bar);
  if (closing() || e.from != bar || (!e.hold && !e.end && !e.turnaround) || chordSince_ == bar) return false;
  if (e.turnaround) {
    const bool there = base_.figure->kind == FigureKind::turnaround && base_.origin == bar;
    if (there || !figures(stage).turnaround.there()) return false;
    startTurnaround(bar, at, stage);
  } else if (e.hold) {
    become(Mode::holding);
    heldByChart_ = true;
    startHold(bar, at, stage);
  } else {
    startEnd(bar, stage);
  }
  return true;
}

/// The hand has let go and a bar line is reached: the downbeat waits for the hand. True when it does.
bool Player::awaitHand(Ticks tick, const Stage& stage) noexcept {
  if (!stage.gather.lifted() || stage.settings.keep || stage.foresight.rounds().kept()) return false;
  if (closing()) return false;
  if (gone_) {
    beginWaiting(tick);
  } else {
    downbeatWaits_ = true;
    downbeat_ = tick;
  }
  return true;
}

void Player::beginWaiting(Ticks pulse) noexcept {
  become(Mode::waiting);
  nextPulse_ = pulse;
}

}  // namespace seguente
