// Reads the idiom's steps between two beats and applies the idiom's rules for a chord that changes, ends early, is held
// or stops. Six files: player.cpp (what is heard moves it), player_signals.cpp (what stays or turns it),
// player_turns.cpp (what happens in a turn that is not a plain step), player_figures.cpp (which figure comes),
// player_steps.cpp (what is due next, and how a step is struck: what every call runs through), player_apart.cpp (steps
// that bring a chord of their own, and the counter-line).
//
// Two layers: the base figure, anchored on a bar line, and over it for a while a short form, where the chord changed at
// a place in which the figure would leave it without its bass. When the short form is over the base goes on at its own
// place.
#pragma once

#include <span>

#include "dsp/clock.h"
#include "dsp/expected.h"
#include "dsp/gather.h"
#include "dsp/input.h"
#include "dsp/ledger.h"
#include "dsp/tune.h"
#include "dsp/voicing.h"

namespace seguente {

/// A chord as the player needs it. [audio]
struct HeardChord {
  Chord chord{};
  DegreeTable degrees{};
  KeySet hand{};
  std::uint32_t id = 0;
  std::uint16_t revision = 0;
  Velocity force{};
};

/// Everything the player looks at: the engine's other parts, and the sink of the call in progress. [audio]
struct Stage {
  const Clock& clock;
  Ledger& ledger;
  Voicing& voicing;
  Foresight& foresight;
  const Settings& settings;
  const Key& key;
  const KeySet& melodyHeld;
  const Gather& gather;     // the chord hand
  const bool& melodyHeard;  // since the player last began
  const Tune& tune;
  Sink sink{};
};

/// [audio] throughout; no errors; owned by one engine.
class Player {
 public:
  void reset() noexcept { *this = Player{}; }
  void setIdiom(IdiomRef idiom, Samples at, const Stage& stage) noexcept;
  void chordStruck(const HeardChord& heard, Samples firstFinger, Samples at, const Stage& stage) noexcept;
  /// The fingers that were landing were the tune's: what had waited for them plays now.
  void nothingLanded(const Stage& stage) noexcept;
  void chordRefined(const HeardChord& heard, Samples at, const Stage& stage) noexcept;
  void chordGone(Samples at, const Stage& stage) noexcept;
  /// A chord of the round that is kept going, in its time.
  void chordOfRound(const HeardChord& heard, Ticks from, Samples at, const Stage& stage) noexcept;
  void gesture(Gesture gesture, Samples at, const Stage& stage) noexcept;
  void clockChanged(ClockChange change, Samples at, const Stage& stage) noexcept;
  void silence(const Stage& stage) noexcept;
  /// The tune has moved, or stopped moving; struck: a key of it has just gone down.
  void tuneMoved(bool struck, Samples at, const Stage& stage) noexcept;
  void settingsChanged(Samples at, const Stage& stage) noexcept;
  /// Plays all that is due at or before `at`: something is.
  void run(Samples at, const Stage& stage) noexcept;

  /// When run must be called next.
  Samples next() const noexcept { return next_.due; }
  /// The figure rests on its chord until the player says go on.
  bool holding() const noexcept { return mode_ == Mode::holding; }
  bool hasIdiom() const noexcept { return idiom_.idiom != nullptr; }
  /// A chord is being played, by the figure or held on.
  bool playsChord() const noexcept { return hasChord_ && mode_ != Mode::idle && mode_ != Mode::ended && !closing(); }
  /// A chord that was struck early waits for its place.
  bool awaitsChord() const noexcept { return hasPending_; }
  Ticks awaitedAt() const noexcept { return pendingAt_; }
  std::uint32_t releasedGeneration() const noexcept { return released_; }
  /// The hand let go and is waited for: the bar is being finished, or the pulse stays.
  bool searching() const noexcept { return gone_ || mode_ == Mode::waiting; }
  /// Bar line at or before a tick, on the player's own downbeats.
  Ticks barAt(Ticks t, const Stage& stage) const noexcept { return stage.clock.barAt(t - barShift_) + barShift_; }
  /// The tick from which the newest chord counts: for facts.
  Ticks chordSince() const noexcept { return place_; }

 private:
  enum class Mode : std::uint8_t { idle, running, holding, waiting, ended };
  struct Layer {
    const Figure* figure = nullptr;
    Ticks origin{};
    Ticks until{};
    std::span<const Step> left{};  // steps still to come, the first of a part that sounds
    Ticks due{};                   // of the first of them, swung; `until` when there is none
  };
  enum class Asked : std::uint8_t { nothing, hold, goOn, end, turnaround, tag };
  /// What is due next. At one tick the one that stands first here comes first.
  enum class Turn : std::uint8_t { nothing, chord, signal, pulse, idiom, step, figure };
  /// What a part is under the chord, the key, the idiom and the settings in force: worked out when one of them has
  /// changed.
  struct alignas(64) PartNow {
    bool pedal = false;
    std::array<Velocity, 8> velocity{};  // by stress, from -4: one below the least, for what is lightened
    int spanLimit = 127;                 // as in VoicingContext
    VoicedPart voiced{};
    Strike strike{};  // what its steps have in common
  };
  /// A place in musical time, and its sample.
  struct Moment {
    Ticks tick{};
    Samples due = never;
  };

  // player.cpp
  void start(const HeardChord& heard, Ticks from, Samples at, const Stage& stage) noexcept;
  /// refined: what was struck under the chord so far was wrong in part only.
  void activate(const HeardChord& heard, Ticks from, Samples at, const Stage& stage, bool refined = false) noexcept;
  /// Whatever the fingers that were landing made: what had waited for them is late by the hand.
  void landed() noexcept {
    if (landingWaits_) cause_ = DelayCause::handLate;
    landingWaits_ = false;
  }
  HandReach reachFor(Ticks from, Samples at, const Stage& stage) const noexcept;
  Ticks placeOf(Samples firstFinger, const Stage& stage) const noexcept;
  /// Beat at or before a tick, on the player's own downbeats.
  Ticks beatAt(Ticks t, const Stage& stage) const noexcept { return stage.clock.beatAt(t - barShift_) + barShift_; }
  void takeUpAnew(Ticks now, const Stage& stage) noexcept;
  void adoptIdiom() noexcept;
  void become(Mode mode) noexcept;
  void letGo(Samples at, const Stage& stage) noexcept;
  // player_signals.cpp
  void passOverHeld(Ticks now) noexcept;
  void beginWaiting(Ticks pulse) noexcept;
  bool fingersLand(Ticks tick, const Stage& stage) const noexcept;
  bool closing() const noexcept {
    if (base_.figure == nullptr) return false;
    const FigureKind kind = base_.figure->kind;
    return kind == FigureKind::end || kind == FigureKind::cadence || kind == FigureKind::fullCadence ||
           (kind == FigureKind::halfCadence && closesHalf_);
  }
  /// The base figure is one after which the next simply comes.
  bool goesRound() const noexcept { return base_.figure->kind < FigureKind::cadence; }
  bool takeMark(Ticks bar, Samples at, const Stage& stage) noexcept;
  bool awaitHand(Ticks tick, const Stage& stage) noexcept;
  /// Whether the hand or the chart may have something to say about going on.
  bool mayStop(const Stage& stage) const noexcept { return stage.gather.lifted() || stage.foresight.charted(); }
  bool stopsAt(Ticks bar, Samples at, const Stage& stage) noexcept {
    return mayStop(stage) && (awaitHand(bar, stage) || takeMark(bar, at, stage));
  }
  // player_room.cpp
  void feelPhrase(Samples at, const Stage& stage) noexcept;
  bool cadenceIn(Ticks from, Ticks to, const Stage& stage) const noexcept;
  void barKeys(const Stage& stage) noexcept;
  Velocity forceNow(const Stage& stage) const noexcept;
  bool yields(const Step& step, const PartNow& now, VoicedKey& key, const Stage& stage) const noexcept;
  void leaveRoom(const Step& step, const PartNow& now, VoicedKeys& keys, const Stage& stage) const noexcept;
  // player_turns.cpp
  void schedule(const Stage& stage) noexcept;
  /// Does what is due; the layer whose next step is to be struck now, null when none is.
  Layer* handle(Samples at, const Stage& stage) noexcept;
  void takePending(Samples at, const Stage& stage) noexcept;
  void obeySignal(Samples at, const Stage& stage) noexcept;
  void takeUpRound(const Stage& stage) noexcept;
  void keepPulse(Samples at, const Stage& stage) noexcept;
  void changeIdiom(Samples at, const Stage& stage) noexcept;
  Layer* step(Samples at, const Stage& stage) noexcept;
  Layer* endFigure(Samples at, const Stage& stage) noexcept;
  // player_figures.cpp
  void enter(Ticks from, const Stage& stage) noexcept;
  void chooseMember(const Stage& stage) noexcept;
  Layer* nextFigure(const Stage& stage) noexcept;
  /// The same in place, for the run through plain turns.
  Layer* layNext(const Stage& stage) noexcept;
  /// beginFigure, in place: for nextFigure, which most figures come by.
  void layFigure(Ticks bar, const Stage& stage) noexcept;
  void layExpected(Ticks bar, const Stage& stage) noexcept;
  void beginFigure(Ticks bar, const Stage& stage) noexcept;
  void setBase(FigureRef figure, Ticks origin) noexcept {
    const Figure& f = active_->figure(figure);
    base_ = layerOf(f, origin, origin + f.length);
  }
  bool takeShortForm(Ticks from, Ticks room, const Stage& stage) noexcept;
  bool rootAt(Ticks place) const noexcept;
  bool mayRejoin(Ticks place, Ticks bar) const noexcept;
  void seek(Layer& layer, Ticks from) const noexcept;
  FigureRef choose(const DensityFigures& f, Ticks bar, const Stage& stage) noexcept;
  /// The phrase ends with this figure, if it begins at this bar line; counted in so many bars.
  bool endsPhrase(FigureRef figure, Ticks bar, int bars, const Stage& stage) const noexcept {
    const Ticks after = bar + active_->figure(figure).length - startBar_;
    return floorDivide(after.value, stage.clock.bar().value) % bars == 0;
  }
  bool onDominant(const Stage& stage) const noexcept;
  bool cameFromDominant(const Stage& stage) const noexcept;
  FigureRef closeOf(const DensityFigures& f, const Stage& stage) noexcept;
  void startTurnaround(Ticks bar, Samples at, const Stage& stage) noexcept;
  void playOver(std::uint8_t chord, const Stage& stage) noexcept;
  void startHold(Ticks from, Samples at, const Stage& stage) noexcept;
  void startEnd(Ticks from, const Stage& stage) noexcept;
  const DensityFigures& figures(const Stage& stage) const noexcept { return active_->at(stage.settings.density); }
  // player_steps.cpp
  /// A layer before its first step.
  Layer layerOf(const Figure& figure, Ticks origin, Ticks until) const noexcept {
    Layer layer{&figure, origin, until, active_->stepsOf(figure), {}};
    findDue(layer);
    return layer;
  }
  /// A step of a part that is silent has no turn.
  void findDue(Layer& layer) const noexcept {
    while (!layer.left.empty() && (silentParts_ >> layer.left.front().part & 1u) != 0)
      layer.left = layer.left.subspan(1);
    layer.due = layer.left.empty() ? layer.until : layer.origin + swung(layer.left.front());
  }
  /// Where a step begins, and ends, at the swing in force when the figure began.
  Ticks swung(const Step& step) const noexcept { return step.atPair || swing_ == 1000 ? step.at : bent(step.at); }
  Ticks swungEnd(const Step& step) const noexcept {
    const Ticks end = step.at + step.length;
    return step.toPair || swing_ == 1000 ? end : bent(end);
  }
  Ticks bent(Ticks straight) const noexcept;
  void passOver(Layer& layer) const noexcept {
    layer.left = layer.left.subspan(1);
    findDue(layer);
  }
  std::uint8_t partsSilent(const Settings& settings) const noexcept;
  template <bool leads>
  void playOne(const Step& step, const Layer& layer, Samples at, Ticks off, const Stage& stage) noexcept;
  void playStep(const Step& step, const Layer& layer, const Moment& moment, Samples at, Ticks off,
                const Stage& stage) noexcept;
  void fillAttack(Attack& attack, const PartNow& now, const Step& step, FigureKind figure, const Moment& moment,
                  Ticks off) const noexcept {
    Strike& each = attack.each;
    each = now.strike;
    each.velocity = now.velocity[static_cast<std::size_t>(step.stress + lightness_)];
    each.off = off;
    each.tick = moment.tick;
    each.reason.figure = figure;
    each.reason.row = step.row;
    each.reason.play = step.play.kind;
    each.reason.reason = reason_;
    each.reason.due = moment.due;
    each.reason.dueTick = moment.tick;
  }
  /// What the voicing looks at besides the chord, for a step of this part.
  void lookAround(const Step& step, const PartNow& now, const Stage& stage) noexcept {
    voicing_.spanLimit = now.spanLimit;
    voicing_.lowestSounding = now.voiced.kind == PartKind::chords ? stage.ledger.lowestSounding() : 128;
    if (step.play.kind != PlayKind::upper || upperReady_) return;
    upper_ = upperTonesOf(*voicing_.chord);
    upperReady_ = true;
  }
  /// What is found and filled in goes out, on its place or late.
  void send(Attack& attack, const PartNow& now, const Moment& moment, Samples at, const Stage& stage) const noexcept {
    if (moment.due < at) {
      attack.each.tick = stage.clock.tickAt(at);
      attack.each.reason.cause = cause_;
    }
    if (now.pedal) stage.ledger.pressPedal(attack.each.channel, at, stage.sink);
    stage.ledger.strike(attack, stage.clock, at, stage.sink);
  }
  void tellAhead(NoteReason& reason) const noexcept {
    reason.expected = aheadBy_;
    if (voicing_.next != nullptr) reason.goal = bassOf(*voicing_.next);
  }
  void lookAhead(const Layer& layer, Ticks tick, const Stage& stage) noexcept;
  // player_apart.cpp
  void playApart(const Step& step, const Layer& layer, const Moment& moment, Samples at, Ticks off,
                 const Stage& stage) noexcept;
  void findBass(const Step& step, const Layer& layer, LineContext& line, const Stage& stage) noexcept;
  VoicedKeys lineKeys(const Step& step, const Layer& layer, const Stage& stage) noexcept;
  // player_steps.cpp
  /// A short form that is cut, or a figure of any meter, sounds no further than its room.
  bool cut(const Layer& layer) const noexcept { return &layer == &over_ || active_->anyMeter; }
  void findTurn(const Stage& stage) noexcept;
  void awaitStep(const Layer& layer, const Stage& stage) noexcept;
  Layer& running() noexcept { return over_.figure != nullptr ? over_ : base_; }
  void playDue(Layer& layer, Samples at, const Stage& stage) noexcept;
  void pulse(Ticks tick, Samples at, const Stage& stage) noexcept;
  bool conditionHolds(Condition condition, const Stage& stage) const noexcept;
  void prepareParts(const Stage& stage) noexcept;
  void prepareLevels(const Stage& stage) noexcept;
  void playBy(const Idiom* member) noexcept {
    if (active_ != member) partsReady_ = levelsReady_ = memberReady_ = false;
    active_ = member;
  }
  /// A chord that counts from a place ahead.
  void awaitChord(const HeardChord& heard, Ticks from, const Stage& stage) noexcept {
    hasPending_ = true;
    pending_ = heard;
    pendingAt_ = from;
    stage.foresight.pressedEarly(&pending_.chord, from);
  }
  void forgetPending(const Stage& stage) noexcept {
    hasPending_ = false;
    stage.foresight.pressedEarly(nullptr);
  }
  void takeChord(const HeardChord& heard) noexcept {
    chord_ = heard;
    partsReady_ = false;
  }

  IdiomRef idiom_{};  // as asked for
  IdiomRef nextIdiom_{};
  bool hasNextIdiom_ = false;
  Ticks idiomBar_{};               // where it is adopted
  const Idiom* active_ = nullptr;  // the member of its family that plays in the present meter
  Meter meter_{};                  // that one
  std::uint8_t silentParts_ = 0;   // bit a part of active_
  bool memberReady_ = false;       // active_, figuresNow_ and swing_ are those of idiom_, meter_ and the settings
  const DensityFigures* figuresNow_ = nullptr;
  std::uint32_t released_ = 0;

  Mode mode_ = Mode::idle;
  HeardChord chord_{};
  std::array<PartNow, limits::parts> parts_{};
  UpperTones upper_{};  // of chord_, when a step has asked for them
  bool upperReady_ = false;
  ExpectedSource aheadBy_ = ExpectedSource::nobody;  // who knew voicing_.next
  Velocity levelsFor_{};                             // the parts' velocities are those of this force
  bool levelsReady_ = false;                         // and of the idiom and the settings
  VoicingContext voicing_{};                         // of chord_
  bool partsReady_ = false;                          // both are of what is now in force
  bool anyBarred_ = false;
  std::int8_t lightness_ = 4;  // the place of a step without stress; 3 while the tune moves
  KeySet barred_{};            // keys in the tune's way
  bool hasChord_ = false;
  Ticks chordSince_{};
  HeardChord pending_{};
  bool hasPending_ = false;
  Samples struckAt_{-never.value};
  std::uint32_t struckAfter_ = 0;  // the note of ours before this chord
  Ticks place_{};                  // of the chord last struck, a repetition of the one in force included
  Ticks pendingAt_{};

  Layer base_{};
  Layer over_{};                        // short form; figure null when none
  bool answered_ = true;                // the last figure was not a statement under the present chord
  Ticks startBar_{};                    // phrases are counted from here
  bool tuneCame_ = false;               // since the player began
  std::array<std::uint8_t, 8> felt_{};  // how much says that a phrase of eight ends in that bar of them
  Ticks barShift_{};                    // the player's own downbeat against the clock's (wait for my chord)
  bool closesHalf_ = false;             // the half cadence in base_ is the close
  Chord own_{};  // of a turnaround, and what it plays is of this chord while voicing_ looks at it
  DegreeTable ownDegrees_{};
  std::uint8_t ownPlace_ = 0;  // in Idiom::chords
  std::int32_t swing_ = 1000;
  Ticks swingPair_{quarter};

  Asked asked_ = Asked::nothing;  // of the player's signals, and from which beat on
  Ticks askedAt_{};
  bool heldByChart_ = false;  // a fermata: the next chord goes on by itself
  bool downbeatWaits_ = false;
  bool landingWaits_ = false;  // the beat waits for fingers that are landing, a gather window at most
  bool gone_ = false;          // the hand let go for good; the bar is being finished (wait for my chord)
  Ticks downbeat_{};
  Ticks nextPulse_{};
  Ticks lastStep_{};  // tick of the step last struck
  Reason reason_ = Reason::step;
  DelayCause cause_ = DelayCause::none;

  Turn turn_ = Turn::nothing;  // and when:
  Moment next_{};
};

}  // namespace seguente
