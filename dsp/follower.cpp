#include "dsp/follower.h"

#include <algorithm>
#include <cmath>

namespace seguente {

namespace {
// Notes of one stroke: both hands together stay within 69 ms in 95 of 100 (REFERENCES section 6).
constexpr double clusterMilliseconds = 50;
// How far the way to the next beat may be stretched or shortened against the period: keeps the beat from galloping.
constexpr double shortestWay = 0.7, longestWay = 1.4;
constexpr double lateDownbeat = 0.45;  // in beats: later than that a chord is missing
// Around 120 beats a minute is what most people tap to (van Noorden & Moelants 1999, J. New Music Research 28); tuned
// with the rest of the finder on half of the tunes, which drew it somewhat quicker. The spread is of the logarithm.
constexpr double plainPeriod = 0.46, dottedPeriod = 0.648, tempoSpread = 0.33, dottedSpread = 0.42;
constexpr double sureMargin = 1.6;  // a line so much better than any of another tempo is believed after three onsets
constexpr int sureOnsets = 10;      // and any after so many
}  // namespace

void Follower::reset(double rate) noexcept {
  *this = Follower{};
  rate_ = rate;
}

void Follower::takeMeter(Meter meter) noexcept {
  meter_ = meter;
  inThrees_ = meter.denominator >= 8 && meter.numerator > 3 && meter.numerator % 3 == 0;
  unit_ = inThrees_ ? meter.beat() * 3 : meter.beat();
  perBar_ = inThrees_ ? meter.numerator / 3 : meter.numerator;
}

void Follower::configure(const FollowSettings& wishes) noexcept {
  if (wishes == wishes_) return;
  const double rate = rate_;
  *this = Follower{};
  rate_ = rate;
  wishes_ = wishes;
  takeMeter(wishes.meter.valid() ? wishes.meter : Meter{});
  beginFinding();
}

void Follower::beginFinding() noexcept {
  state_ = State::finding;
  BeatPrior prior;
  prior.inThrees = inThrees_;
  prior.beatsInBar = wishes_.guessMeter ? 0 : static_cast<int>(perBar_);
  prior.spread = inThrees_ ? dottedSpread : tempoSpread;
  prior.period = inThrees_ ? dottedPeriod : plainPeriod;
  if (wishes_.tempo > 0) {
    prior.period = 60.0 / wishes_.tempo * static_cast<double>(unit_.value) / static_cast<double>(quarter.value);
    prior.spread = 0.15;
  }
  if (home_ > 0) {  // the player stopped and begins again: likely in the tempo that he had
    prior.period = home_;
    prior.spread = 0.15;
  }
  finder_.begin(prior);
  firstChord_ = -1;
  counted_ = 0;
}

double Follower::confidence() const noexcept {
  if (state_ == State::finding) return 0;
  return std::clamp(1 - 4 * spread_, 0.0, 1.0) * (state_ == State::waiting ? 0.5 : 1);
}

void Follower::noteOn(bool chord, Samples at) noexcept {
  if (clusterEnd_ == never) {
    clusterStart_ = at;
    clusterEnd_ = at + Samples{static_cast<std::int64_t>(clusterMilliseconds * rate_ / 1000)};
    chordSum_ = melodySum_ = 0;
    chordCount_ = melodyCount_ = 0;
    deadline_ = std::min(deadline_, clusterEnd_);
  }
  const double after = seconds(at - clusterStart_);
  (chord ? chordSum_ : melodySum_) += after;
  ++(chord ? chordCount_ : melodyCount_);
}

void Follower::closeCluster() noexcept {
  clusterEnd_ = never;
  Onset onset;
  onset.chord = chordCount_ > 0;
  onset.melody = melodyCount_ > 0;
  const double chord = onset.chord ? chordSum_ / chordCount_ : 0;
  const double melody = onset.melody ? melodySum_ / melodyCount_ : 0;
  onset.seconds = seconds(clusterStart_) + (onset.chord && onset.melody ? (chord + melody) / 2
                                            : onset.chord               ? chord
                                                                        : melody);
  hear(onset);
  lastOnset_ = onset.seconds;
  if (onset.melody) lastMelody_ = onset.seconds;
}

/// True when this onset was one of a count-in.
bool Follower::countIn(const Onset& onset) noexcept {
  const int wanted = std::min<int>(wishes_.countIn, static_cast<int>(counts_.size()));
  if (wanted < 2 || counted_ >= wanted || home_ > 0) return false;
  counts_[static_cast<std::size_t>(counted_++)] = onset.seconds;
  if (counted_ < wanted) return true;
  const auto last = static_cast<std::size_t>(wanted - 1);
  const double period = (counts_[last] - counts_[0]) / static_cast<double>(last);
  for (std::size_t i = 1; i <= last; ++i)  // uneven: it was no count
    if (std::abs((counts_[i] - counts_[i - 1]) / period - 1) > 0.25) return true;
  barBeat_ = 0;
  startAt(perBar_ - 1, counts_[last], std::clamp(period, shortestPeriod, longestPeriod));
  downbeat_ = startBeat_ = firstBeat_ = perBar_;
  silentChecked_ = false;
  return true;
}

void Follower::startAt(std::int64_t beat, double beatTime, double period) noexcept {
  state_ = State::running;
  beat_ = beat;
  beatTime_ = beatTime;
  period_ = home_ = period;
  drive_ = 1;
  lastError_ = lag_ = heard_ = heardSinceIn_ = 0;
  wander_ = 0.002;
  settling_ = 8;
  strays_ = otherTempo_ = sinceStart_ = 0;
  starting_ = true;
  toSteer_ = false;
}

/// The beat is known well enough to play to it.
bool Follower::tryStart(double now) noexcept {
  const auto f = finder_.best();
  if (firstChord_ < 0 || !f.any) return false;
  const bool sure = (f.onsets >= 3 && f.margin > sureMargin) || f.onsets >= sureOnsets;
  if (!sure) return false;
  barBeat_ = beat_ = 0;
  beatTime_ = f.beat;
  period_ = f.period;
  const auto fromChord = static_cast<std::int64_t>(std::floor((f.beat - firstChord_) / f.period + 0.5));
  startAt(fromChord, f.beat, f.period);
  chords_.fill(0);
  chordsOff_ = 0;
  placeChord(0);
  downbeat_ = barAtOrBefore(static_cast<std::int64_t>(std::floor(place(now)))) + perBar_;
  silentChecked_ = false;
  startBeat_ = static_cast<std::int64_t>(std::floor(place(now) + 0.15)) + 1;
  firstBeat_ = 0;
  return true;
}

/// After a silence, or where we wait, a chord is the player's own downbeat.
bool Follower::comesBackIn(double finger) const noexcept {
  if (state_ == State::waiting) return true;
  const double x = place(finger);
  const double off = std::abs(x - std::floor(x + 0.5));
  const double silence = (finger - lastOnset_) / period_;
  const auto nearest = static_cast<std::int64_t>(std::floor(x + 0.5));
  const bool onBar = barAtOrBefore(nearest) == nearest && off < 0.35;
  if (onBar) return false;
  const bool soonAgain = cameBack_ && lastMelody_ < lastOnset_ && finger - lastOnset_ < 1.3;  // corrects himself
  return silence > 0.75 * static_cast<double>(perBar_) || (silence > 1.2 && off > 0.2) || soonAgain;
}

FollowStep Follower::chordStruck(Samples firstFinger, Samples at, const Clock& clock) noexcept {
  if (!wishes_.on) return {};
  const double finger = seconds(firstFinger);
  if (state_ == State::finding) {
    if (home_ <= 0 || firstChord_ >= 0 || wishes_.countIn != 0) return {};
    // The player stopped and begins again: at once, in the tempo that he had.
    const auto bar = barAtOrBefore(static_cast<std::int64_t>(std::floor(place(finger)))) + perBar_;
    firstChord_ = finger;
    startAt(bar, finger, home_);
    placeChord(bar);
    starting_ = false;
    downbeat_ = bar + perBar_;
    steeredBeat_ = firstBeat_ = bar;
    silentChecked_ = false;
    schedule(at, clock);
    return anchorAt(at, place(seconds(at)), period_);
  }
  if (starting_) return {};
  if (!comesBackIn(finger)) {
    cameBack_ = false;
    return {};
  }
  const double x = place(finger);
  std::int64_t bar = expected_;
  if (state_ == State::running) {
    bar = barAtOrBefore(static_cast<std::int64_t>(std::floor(x + 0.5 * static_cast<double>(perBar_))));
    if (cameBack_ && lastMelody_ < lastOnset_) bar = barAtOrBefore(static_cast<std::int64_t>(lastChordPlace_));
  }
  const double late = (finger - timeOf(bar)) / period_;
  if (std::abs(late) > 0.3 && home_ > 0) period_ = home_;
  beat_ = bar;
  beatTime_ = finger;
  state_ = State::running;
  settling_ = std::abs(late) > 0.3 ? 4 : settling_;
  strays_ = otherTempo_ = 0;
  cameBack_ = true;
  toStand_ = toSteer_ = false;
  steeredBeat_ = bar;
  lastChordPlace_ = static_cast<double>(bar);
  downbeat_ = bar + perBar_;
  silentChecked_ = false;
  schedule(at, clock);
  return anchorAt(at, place(seconds(at)), period_);
}

FollowStep Follower::anchorAt(Samples, double place, double period) const noexcept {
  FollowStep s;
  s.kind = FollowStep::Kind::anchor;
  const double unit = static_cast<double>(unit_.value);
  s.anchor.tick = {floorToInteger(place * unit + 0.5)};
  s.anchor.quartersPerMinute = 60.0 / period * unit / static_cast<double>(quarter.value);
  s.anchor.meter = meter_;
  s.anchor.barStart = {barBeat_ * unit_.value};
  s.anchor.playing = true;
  return s;
}

/// From where the clock is now to the next beat at the time at which it is wanted, within bounds.
FollowStep Follower::steer(Samples at, const Clock& clock) noexcept {
  toSteer_ = false;
  const double now = seconds(at);
  const double here = static_cast<double>(clock.tickAt(at).value) / static_cast<double>(unit_.value);
  const auto next = static_cast<std::int64_t>(std::floor(here + 0.3)) + 1;
  const double way = static_cast<double>(next) - here;
  const Ticks tick{next * unit_.value};
  const bool onItsWay = std::abs((clock.sampleOf(tick) - sample(timeOf(next))).value) <= 1 && clock.sampleOf(tick) > at;
  if (onItsWay && !otherBars_) return {};
  otherBars_ = false;
  const double period = std::clamp((timeOf(next) - now) / way, shortestWay * period_, longestWay * period_);
  FollowStep s = anchorAt(at, here, period);
  s.anchor.tick = clock.tickAt(at);
  return s;
}

/// A downbeat that had its chord or missed it, and one that lies ahead after a silent bar.
void Follower::checkDownbeat(double now, const Clock& clock) noexcept {
  const auto bar = static_cast<double>(downbeat_);
  const double x = place(now);
  const bool expects = chordRate_ >= 0.7 && held_ && !searching_;
  if (!silentChecked_ && x >= bar - 0.2) {
    silentChecked_ = true;
    const bool silent = place(lastOnset_) < bar - static_cast<double>(perBar_) + 0.35 && clusterEnd_ == never;
    if (expects && silent && perBar_ >= 2) {
      expected_ = ceiling_ = downbeat_;
      state_ = State::waiting;
      toStand_ = true;
      return;
    }
  }
  if (x < bar + lateDownbeat) return;
  const bool there = lastChordPlace_ > bar - 0.5 || (clusterEnd_ != never && chordCount_ > 0);
  chordRate_ += 0.3 * ((there ? 1 : 0) - chordRate_);
  if (!there && expects && place(lastOnset_) < bar - 0.35 && clusterEnd_ == never) {
    expected_ = downbeat_;
    const double here = static_cast<double>(clock.tickAt(sample(now)).value) / static_cast<double>(unit_.value);
    ceiling_ = static_cast<std::int64_t>(std::floor(here)) + 1;
    state_ = State::waiting;
    toStand_ = true;
    return;
  }
  downbeat_ += perBar_;
  silentChecked_ = false;
}

FollowStep Follower::step(Samples at, const Clock& clock) noexcept {
  if (!wishes_.on) return {};
  const double now = seconds(at);
  if (clusterEnd_ <= at) closeCluster();
  if (state_ != State::finding && !held_ && !searching_ && clusterEnd_ == never && now >= endsAt()) {
    starting_ = toSteer_ = toStand_ = false;
    FollowStep s = anchorAt(at, place(now), period_);
    s.anchor.tick = clock.tickAt(at);
    s.anchor.playing = false;
    beginFinding();
    schedule(at, clock);
    return s;
  }
  if (state_ == State::running && starting_) {
    // The accompaniment comes in on a beat; until then the chord sounds as it is held.
    if (sample(timeOf(startBeat_)) > at) {
      schedule(at, clock);
      return {};
    }
    starting_ = false;
    steeredBeat_ = startBeat_;
    schedule(at, clock);
    return anchorAt(at, place(now), period_);
  }
  if (state_ == State::running) checkDownbeat(now, clock);
  if (const auto beat = static_cast<std::int64_t>(std::floor(place(now) + 0.001)); beat != steeredBeat_) {
    steeredBeat_ = beat;
    toSteer_ = true;
  }
  if (toStand_) {
    toStand_ = false;
    FollowStep s;
    s.kind = FollowStep::Kind::standStill;
    s.ceiling = {ceiling_ * unit_.value};
    schedule(at, clock);
    return s;
  }
  const bool steers = toSteer_ && state_ == State::running;
  FollowStep s = steers ? steer(at, clock) : FollowStep{};
  schedule(at, clock);
  return s;
}

void Follower::schedule(Samples at, const Clock&) noexcept {
  deadline_ = clusterEnd_;
  if (state_ == State::finding) return;
  const auto consider = [&](double seconds) {
    deadline_ = std::min(deadline_, std::max(sample(seconds) + Samples{1}, at + Samples{1}));
  };
  if (state_ == State::running) {
    if (starting_) return consider(timeOf(startBeat_) - 0.5 / rate_);
    consider(timeOf(downbeat_) + (silentChecked_ ? lateDownbeat : -0.2) * period_);
    // On each beat the tempo of the way is set anew: what was to be caught up is caught up.
    consider(timeOf(static_cast<std::int64_t>(std::floor(place(seconds(at)) + 0.001)) + 1));
  }
  if (!held_ && !searching_) consider(endsAt());
}

}  // namespace seguente
