// Which figure comes: statement and answer, vamp, lift, short forms, hold, turnaround, cadences and end.
#include <algorithm>

#include "dsp/idiom_family.h"
#include "dsp/player.h"

namespace seguente {

namespace {
/// How long the chord that is expected at a place stays from there on, however often a chart writes it again.
Ticks expectedToStay(Ticks from, const Foresight& foresight) noexcept {
  constexpr int mostEntries = 16;  // of the chart: more than any close needs
  const Expected first = foresight.expected(from);
  Ticks to = from;
  Expected e = first;
  for (int i = 0; i < mostEntries && e.chord != nullptr && *e.chord == *first.chord; ++i) {
    to = e.to;
    e = foresight.expected(to);
  }
  return to - from;
}
}  // namespace

/// Moves a layer to its first step at or after a place.
void Player::seek(Layer& layer, Ticks from) const noexcept {
  layer = layerOf(*layer.figure, layer.origin, layer.until);
  while (!layer.left.empty() && layer.due < from) passOver(layer);
}

/// Whether the base figure strikes the chord's bass at a place: then a new chord may simply begin there.
bool Player::rootAt(Ticks place) const noexcept {
  for (const Step& step : active_->stepsOf(*base_.figure)) {
    if (base_.origin + swung(step) != place) continue;
    const Play& play = step.play;
    if (play.kind == PlayKind::heldLowest || play.kind == PlayKind::heldAll) return true;
    if (play.kind == PlayKind::degrees)
      for (std::size_t d = 0; d < play.count; ++d)
        if (play.degrees[d].number == 1 && play.degrees[d].alteration == 0) return true;
  }
  return false;
}

/// Whether the figure may be taken up at this place of the bar.
bool Player::mayRejoin(Ticks place, Ticks bar) const noexcept {
  for (const Ticks rejoin : active_->rejoin)
    if (bar + rejoin == place) return true;
  return false;
}

/// The chord is not expected to last for the figure that has just been laid.
void Player::layExpected(Ticks bar, const Stage& stage) noexcept {
  const Expected e = stage.foresight.expected(bar);
  if (e.chord != nullptr && e.to < base_.until && e.to > bar && !rootAt(e.to)) takeShortForm(bar, e.to - bar, stage);
}

/// The right member of the family, and how it swings.
void Player::chooseMember(const Stage& stage) noexcept {
  meter_ = stage.clock.meter();
  const Idiom* const member = idiom_.idiom == nullptr ? nullptr : inMeter(*idiom_.idiom, meter_);
  if (member != active_) answered_ = true;  // another member begins with its statement
  playBy(member);
  if (member == nullptr) return;
  swing_ = stage.settings.swingPermille > 0
               ? std::clamp(stage.settings.swingPermille, member->swingLow, member->swingHigh)
               : member->swingPermille;
  swingPair_ = member->swingPair;
  figuresNow_ = &figures(stage);
  silentParts_ = partsSilent(stage.settings);
  memberReady_ = true;
}

Player::Layer* Player::endFigure(Samples at, const Stage& stage) noexcept {
  if (over_.figure != nullptr) {
    const Ticks until = over_.until;
    over_.figure = nullptr;
    reason_ = Reason::step;
    if (base_.figure != nullptr) seek(base_, until);
  } else if (base_.figure->kind == FigureKind::cadence && figures(stage).end.there()) {
    setBase(closeOf(figures(stage), stage), base_.until);
  } else if (closing()) {
    become(hasChord_ ? Mode::ended : Mode::idle);
    if (!hasChord_) stage.ledger.liftPedals(at, stage.sink);
  } else {
    playOver(0, stage);  // a turnaround is over
    if (!stopsAt(base_.until, at, stage)) return nextFigure(stage);
  }
  return nullptr;
}

/// Lays the longest short form that fits into `room` over the base. False when the idiom has none.
bool Player::takeShortForm(Ticks from, Ticks room, const Stage& stage) noexcept {
  const DensityFigures& f = figures(stage);
  for (std::size_t i = 0; i < f.shortCount; ++i) {
    const Figure& figure = active_->figure(f.shortForms[i]);
    if (figure.length > room && i + 1 < f.shortCount) continue;
    over_ = layerOf(figure, from, from + std::min(figure.length, room));
    if (reason_ == Reason::step) reason_ = Reason::join;
    return true;
  }
  return false;
}

/// A chord begins to count at `from`, anywhere in the bar.
void Player::enter(Ticks from, const Stage& stage) noexcept {
  const Clock& clock = stage.clock;
  const Ticks bar = barAt(from, stage);
  if (base_.figure != nullptr && base_.figure->kind == FigureKind::turnaround) {  // the hand goes its own way
    base_.figure = nullptr;
    startBar_ = bar;
  }
  if (base_.figure == nullptr || from < base_.origin || from >= base_.until || from == base_.origin || from == bar) {
    const bool inside = base_.figure != nullptr && from > base_.origin && from < base_.until && from == bar;
    if (!inside || !rootAt(from)) {
      if (from == bar) answered_ = true;
      beginFigure(bar, stage);
      if (base_.figure == nullptr) return;
    }
  }
  // A figure that begins without its root (its bass is tied over the bar line) gives way to its short form here too.
  if (from == base_.origin && rootAt(from)) return;
  over_.figure = nullptr;
  seek(base_, from);
  if (rootAt(from) && mayRejoin(from, bar)) return;
  const Ticks beat = clock.meter().beat();
  const Ticks onBeat = beatAt(from, stage);
  Ticks room = onBeat + beat - from;  // off the beat: low and upper together, then the figure from the next beat on
  if (onBeat == from) {
    room = bar + clock.meter().bar() - from;
    for (const Ticks place : active_->rejoin)
      if (bar + place > from) {
        room = std::min(room, bar + place - from);
        break;
      }
  }
  const Expected e = stage.foresight.expected(from);
  if (e.chord != nullptr && e.to > from) room = std::min(room, e.to - from);
  // Where the meter has changed, the figure below may end first; what follows it must not come late.
  if (base_.until > from) room = std::min(room, base_.until - from);
  takeShortForm(from, room, stage);
}

/// Stays on the chord: the idiom's own way of holding, without an end.
void Player::startHold(Ticks from, Samples at, const Stage& stage) noexcept {
  if (active_ == nullptr) beginFigure(barAt(from, stage), stage);
  over_.figure = nullptr;
  base_.figure = nullptr;
  reason_ = Reason::hold;
  if (active_ == nullptr || !hasChord_) return;
  const FigureRef hold = figures(stage).hold;
  if (!hold.there()) {
    stage.ledger.sustainAll();
    return;
  }
  stage.ledger.releaseAll(at, stage.sink);
  const Figure& figure = active_->figure(hold);
  const Layer layer = layerOf(figure, from, from + figure.length);
  const Moment moment{from, stage.clock.sampleOf(from)};
  for (const Step& step : layer.left) playStep(step, layer, moment, at, untilReleased, stage);
}

/// Closes, and then plays nothing until a new chord is struck. The end is for the last chord and stands for itself;
/// where it is known that this chord has room for more, from a bar line on, the cadence leads to it. Common practice,
/// no source: a last note held for two bars is a phrase that closes, and then rests.
void Player::startEnd(Ticks from, const Stage& stage) noexcept {
  if (active_ == nullptr) beginFigure(barAt(from, stage), stage);
  over_.figure = nullptr;
  base_.figure = nullptr;
  reason_ = Reason::cadence;
  if (active_ == nullptr) return;
  const DensityFigures& f = figures(stage);
  const FigureRef close = closeOf(f, stage);
  if (!f.cadence.there() && !close.there()) {
    become(Mode::ended);
    return;
  }
  bool cadence = !close.there();
  if (f.cadence.there() && f.end.there() && from == barAt(from, stage)) {
    const Ticks both = active_->figure(f.cadence).length + active_->figure(f.end).length;
    cadence = expectedToStay(from, stage.foresight) >= both;
  }
  setBase(cadence ? f.cadence : close, from);
}

/// The chord in force is the dominant of the key: a major triad, or more, on its fifth degree.
bool Player::onDominant(const Stage& stage) const noexcept {
  const Chord& chord = chord_.chord;
  return stage.key.known && chord.root == stage.key.tonic.pitchClass() + Interval{7} &&
         semitonesOf(chord_.degrees, {3, 0}) == 4;
}

/// V-I: the chord before was a major triad, or more, a fifth over this one's root, which is no other than the tonic.
/// Any harmony handbook's authentic cadence; inversions are not told apart.
bool Player::cameFromDominant(const Stage& stage) const noexcept {
  const Chord* const before = stage.foresight.before();
  const PitchClass root = chord_.chord.root;
  if (before == nullptr || (stage.key.known && stage.key.tonic.pitchClass() != root)) return false;
  return before->root == root + Interval{7} && tonesOf(*before).has(before->root + Interval{4});
}

/// How the idiom closes on the chord in force, by what it is and where it came from.
FigureRef Player::closeOf(const DensityFigures& f, const Stage& stage) noexcept {
  closesHalf_ = true;
  if (f.fullCadence.there() && cameFromDominant(stage)) return f.fullCadence;
  return f.halfCadence.there() && onDominant(stage) ? f.halfCadence : f.end;
}

/// From a bar line on, over the chord that is held, once; then the form begins again, and its phrases with it.
void Player::startTurnaround(Ticks bar, Samples at, const Stage& stage) noexcept {
  if (active_ == nullptr || closing() || !figures(stage).turnaround.there()) return;
  stage.ledger.releaseAll(at, stage.sink);
  over_.figure = nullptr;
  reason_ = Reason::step;
  setBase(figures(stage).turnaround, bar);
  startBar_ = base_.until;
  felt_ = {};
  answered_ = true;
}

}  // namespace seguente
