#include "dsp/follower.h"

#include <algorithm>
#include <cmath>

namespace seguente {
extern double F[40];
double K[40] = {0.00796, 2,    9.6, 1,      0.0752, 0,  0.00547, 0.5, 0.381, 0.73, 0.929, 0.079, 0.006,  13.4,
                1.42,    13.6, 0.4, 0.0249, 0.207,  -5, 0.349,   0.9, 0.65,  1.5,  0.169, 0.031, 0.0194, 0.0272};

namespace {
// Notes of one stroke: both hands together stay within 69 ms in 95 of 100 (REFERENCES section 6).
constexpr double clusterMilliseconds = 50;
// How far the way to the next beat may be stretched or shortened against the period: keeps the beat from galloping.
constexpr double shortestPeriod = 0.22, longestPeriod = 2.0;  // seconds
constexpr double lateDownbeat = 0.45;                         // in beats: later than that a chord is missing
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
  prior.spread = F[16];
  prior.period = inThrees_ ? F[24] : F[17];
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
  lastError_ = lag_ = heard_ = 0;
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
  const bool sure = (f.onsets >= 3 && f.margin > F[25]) || f.onsets >= F[26];
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

void Follower::placeChord(std::int64_t beat) noexcept {
  for (float& c : chords_) c *= 0.93f;
  chordsOff_ *= 0.93f;
  chords_[static_cast<std::size_t>(((beat % 12) + 12) % 12)] += 1;
  lastChordPlace_ = static_cast<double>(beat);
}

void Follower::hear(const Onset& onset) noexcept {
  if (state_ == State::finding && countIn(onset)) return;
  finder_.hear(onset);
  if (state_ == State::finding) {
    if (onset.chord && firstChord_ < 0) firstChord_ = onset.seconds;
    tryStart(onset.seconds);
    return;
  }
  if (state_ == State::waiting) return;
  ++sinceStart_;
  const double x = place(onset.seconds);
  const double whole = std::floor(x);
  const double tolerance = (K[17] + K[18] * std::min(onset.seconds - lastOnset_, 1.2)) / period_;
  const BeatPart part = nearestPart(x - whole, tolerance, inThrees_, onset.chord, K[19]);
  const bool onBeat = part.place == 0 || part.place == 1;
  const bool far = std::abs(part.error) > (onBeat ? K[16] : K[24]);
  if (onset.chord) {
    if (onBeat && !far)
      placeChord(static_cast<std::int64_t>(whole) + (part.place == 1 ? 1 : 0));
    else
      chordsOff_ += 1;
    reconsiderBars();
  }
  if (!far) {
    // The period turns about the beat that was just heard.
    const auto nearest = static_cast<std::int64_t>(std::floor(x + 0.5));
    beatTime_ = timeOf(nearest);
    beat_ = nearest;
    const double weight = onset.chord                      ? (onBeat ? 1 : 0.3)
                          : onBeat                         ? K[21]
                          : part.place == 0.5 || inThrees_ ? K[20]
                                                           : 0.25;
    correct(part.error * period_, weight);
  }
  spread_ += 0.1 * (std::min(0.3, std::abs(part.error)) - spread_);
  reconsider();
  toSteer_ = true;
}

void Follower::correct(double error, double weight) noexcept {
  const bool settling = settling_ > 0;
  if (settling) --settling_;
  heard_ += weight;
  const double fresh = error - lag_;
  lag_ = std::clamp(lag_ + std::max(K[0], K[1] / (K[2] + heard_)) * weight * fresh, -0.01, 0.085);
  // Errors that repeat their sign mean that the player leads; those that alternate are noise or his own correction.
  const double size = fresh * fresh + K[3] * fresh * lastError_;
  wander_ += K[4] * weight * (std::clamp(size, 0.0, 0.01) - wander_);
  lastError_ = fresh;
  drive_ = std::clamp((std::sqrt(std::max(0.0, wander_)) - K[25]) / K[26], K[27], 1.0);
  const double soft = settling ? 0.5 * K[6] : K[6];
  const double heard = fresh * fresh * fresh / (fresh * fresh + soft * soft);
  const double drive = settling ? 1 : drive_;
  const double most = 0.1 * period_;
  period_ += std::clamp((settling ? K[7] : K[8]) * drive * weight * heard, -most, most);
  period_ += K[11] * weight * (home_ - period_);
  period_ = std::clamp(period_, shortestPeriod, longestPeriod);
  beatTime_ += (settling ? K[9] : K[10]) * drive * weight * heard;
  home_ += std::max(K[12], 1 / (4 + heard_)) * weight * (period_ - home_);
}

/// Does another phase or another tempo fit what was played for so long that we must be wrong?
void Follower::reconsider() noexcept {
  const auto ours = finder_.bestAt(beatTime_, period_);
  const auto near = finder_.bestNear(period_);
  const auto better = [&](const BeatFinder::Found& f, double by) {
    return f.any && (!ours.any || f.score > ours.score + by);
  };
  strays_ = better(near, K[13]) ? strays_ + 1 : 0;
  if (strays_ >= 4) {
    const double x = place(near.beat);
    beatTime_ += (x - std::floor(x + 0.5)) * period_;
    period_ = near.period;
    strays_ = 0;
    settling_ = 4;
  }
  const auto best = finder_.best();
  if (!best.any || std::abs(best.period / period_ - 1) < 0.15) {
    otherTempo_ = 0;
    return;
  }
  const bool early = sinceStart_ < 12;
  otherTempo_ = better(best, early ? K[14] : K[15]) ? otherTempo_ + 1 : 0;
  if (otherTempo_ < (early ? 3 : 10)) return;
  beat_ = static_cast<std::int64_t>(std::floor(place(best.beat) + 0.5));
  beatTime_ = best.beat;
  period_ = home_ = best.period;
  chords_.fill(0);
  chordsOff_ = 0;
  otherTempo_ = strays_ = 0;
  settling_ = 6;
}

/// Which beats are downbeats, and whether there are two or three, by where chords have been struck.
void Follower::reconsiderBars() noexcept {
  const auto scoreOf = [this](std::int64_t n, std::int64_t phase) {
    double sum = 0;
    for (std::int64_t i = 0; i < 12; ++i) {
      const double c = chords_[static_cast<std::size_t>(i)];
      if (c > 0) sum += c * chordOnBeat(static_cast<int>(n), static_cast<int>(((i - phase) % n + n) % n));
    }
    return sum;
  };
  if (12 % perBar_ != 0) return;  // bars of five or seven: the first chord's downbeat stays
  const std::int64_t phaseNow = ((barBeat_ % perBar_) + perBar_) % perBar_;
  const double now = scoreOf(perBar_, phaseNow);
  double best = now + 2.0;  // what it takes to give up a bar line
  std::int64_t bestPhase = -1, bestN = perBar_;
  for (const std::int64_t n : {std::int64_t{2}, std::int64_t{3}, std::int64_t{4}, std::int64_t{6}}) {
    if (n != perBar_ && !(wishes_.guessMeter && (n == 3 || n == 4))) continue;
    for (std::int64_t phase = 0; phase < n; ++phase)
      if (const double s = scoreOf(n, phase) - (n != perBar_ ? 1.0 : 0.0); s > best) {
        best = s;
        bestPhase = phase;
        bestN = n;
      }
  }
  if (bestPhase < 0) return;
  if (bestN != perBar_) takeMeter({static_cast<std::uint8_t>(bestN), 4});
  const auto last = static_cast<std::int64_t>(lastChordPlace_);
  barBeat_ = last - (((last - bestPhase) % bestN) + bestN) % bestN;
  downbeat_ = barBeat_ + perBar_;
  silentChecked_ = false;
  otherBars_ = true;
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
  const double period = std::clamp((timeOf(next) - now) / way, K[22] * period_, K[23] * period_);
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
