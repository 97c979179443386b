// What an onset says of the beat, of its tempo and of the bars.
#include <algorithm>
#include <cmath>

#include "dsp/follower.h"

namespace seguente {

namespace {
// Tuned on half of the tunes and seeds of tests/follow (DEVELOPERS.md); seconds unless said.
constexpr double lagFloor = 0.00796;  // share of an error that the usual lateness learns, at least
constexpr double lagQuick = 2.55;     // and at first: lagQuick / (lagSlow + onsets)
constexpr double lagSlow = 10.4;
constexpr double wanderRate = 0.0752;
constexpr double steady = 0.0321;       // errors of this size are noise: a steady player, or one who follows us
constexpr double steadyToLed = 0.0139;  // so much more, and he leads
constexpr double leastDrive = 0.0178;
constexpr double unheard = 0.00547;  // an error that nobody hears
constexpr double settlingPeriodGain = 0.5, settlingPhaseGain = 0.623;
constexpr double periodGain = 0.366, phaseGain = 0.929;
constexpr double newcomer = 0.453, newcomerOnsets = 10.0;
constexpr double homing = 0.0181;      // the period's way back to the usual one, an onset
constexpr double homeFloor = 0.00696;  // how fast the usual one moves, an onset
// By how much another phase or tempo must fit better (logarithms of odds) before ours is given up.
constexpr double otherPhase = 11.5, otherTempoEarly = 1.34, otherTempoLate = 11.9, multipleLate = 3.5;
constexpr double onsetsToTrust = 20;
constexpr double farOnBeat = 0.482, farBetween = 0.162;  // in beats: farther off, a note says nothing of the beat
constexpr double toleranceNote = 0.0159, toleranceWait = 0.221;
constexpr double fineParts = -4.72;  // quarters and thirds of a beat are not believed easily
constexpr double weightBetween = 0.404, weightMelody = 0.945;
}  // namespace

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
  const double tolerance = (toleranceNote + toleranceWait * std::min(onset.seconds - lastOnset_, 1.2)) / period_;
  const BeatPart part = nearestPart(x - whole, tolerance, inThrees_, onset.chord, fineParts);
  const bool onBeat = part.place == 0 || part.place == 1;
  const bool far = std::abs(part.error) > (onBeat ? farOnBeat : farBetween);
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
                          : onBeat                         ? weightMelody
                          : part.place == 0.5 || inThrees_ ? weightBetween
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
  lag_ = std::clamp(lag_ + std::max(lagFloor, lagQuick / (lagSlow + heard_)) * weight * fresh, -0.01, 0.085);
  // Errors that repeat their sign mean that the player leads; those that alternate are noise or his own correction.
  const double size = fresh * fresh + fresh * lastError_;
  wander_ += wanderRate * weight * (std::clamp(size, 0.0, 0.01) - wander_);
  lastError_ = fresh;
  drive_ = std::clamp((std::sqrt(std::max(0.0, wander_)) - steady) / steadyToLed, leastDrive, 1.0);
  const double soft = settling ? 0.5 * unheard : unheard;
  const double heard = fresh * fresh * fresh / (fresh * fresh + soft * soft);
  const double drive = settling ? 1 : drive_;
  const double most = 0.1 * period_;
  // Since we came in he may be late because he follows us: that is no other tempo, until it is known how late.
  const double ours = starting_ ? 1 : 1 - newcomer * std::exp(-heardSinceIn_ / newcomerOnsets);
  if (!starting_) heardSinceIn_ += weight;
  period_ += std::clamp((settling ? settlingPeriodGain : periodGain) * ours * drive * weight * heard, -most, most);
  period_ += homing * weight * (home_ - period_);
  period_ = std::clamp(period_, shortestPeriod, longestPeriod);
  beatTime_ += (settling ? settlingPhaseGain : phaseGain) * drive * weight * heard;
  home_ += std::max(homeFloor, 1 / (4 + heard_)) * weight * (period_ - home_);
}

/// Does another phase or another tempo fit what was played for so long that we must be wrong?
void Follower::reconsider() noexcept {
  const auto ours = finder_.bestAt(beatTime_, period_);
  const auto near = finder_.bestNear(period_);
  const auto better = [&](const BeatFinder::Found& f, double by) {
    return f.any && (!ours.any || f.score > ours.score + by);
  };
  strays_ = better(near, otherPhase) ? strays_ + 1 : 0;
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
  // The longer a beat has been followed the more it takes to give it up.
  const double held = std::clamp((sinceStart_ - 12) / onsetsToTrust, 0.0, 1.0);
  const double ratio = best.period > period_ ? best.period / period_ : period_ / best.period;
  const bool multiple = std::abs(ratio - std::floor(ratio + 0.5)) < 0.1 * ratio;
  const double by = otherTempoEarly + held * ((multiple ? multipleLate : otherTempoLate) - otherTempoEarly);
  otherTempo_ = better(best, by) ? otherTempo_ + 1 : 0;
  if (otherTempo_ < 3 + 7 * held) return;
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

}  // namespace seguente
