#include "plugin/lv2_time.h"

#include <algorithm>
#include <cmath>

namespace seguente {

namespace {

constexpr double cutOff = 1.5 / 1920;     // of a beat: two real hosts give the place in the bar in 1/1920, cut off
constexpr double floatNoise = 2e-6;       // quarters: a place in the bar is a float
constexpr double smallestBeat = 1.0 / 8;  // quarters: meters end at 32nds
constexpr double farthest = 1e12;

std::optional<double> within(const std::optional<double>& x, double low, double high) {
  return x && *x >= low && *x <= high ? x : std::nullopt;  // NaN is in no range
}

bool powerOfTwo(double x) { return x == 1 || x == 2 || x == 4 || x == 8 || x == 16 || x == 32; }

Lv2Position sane(const Lv2Position& said) {
  Lv2Position p;
  p.frame = within(said.frame, -farthest * 1e3, farthest * 1e3);
  p.speed = within(said.speed, -1000, 1000);
  p.bar = within(said.bar, -1e9, 1e9);
  p.barBeat = within(said.barBeat, -64, 1e6);
  p.beat = within(said.beat, -3e9, 3e9);
  if (said.beatUnit && powerOfTwo(*said.beatUnit)) p.beatUnit = said.beatUnit;
  p.beatsPerBar = within(said.beatsPerBar, 1, 32);
  p.beatsPerMinute = within(said.beatsPerMinute, 1, 10000);
  return p;
}

double nearestMultiple(double x, double of) { return std::floor(x / of + 0.5) * of; }

}  // namespace

void Lv2Time::prepare(double rate) noexcept {
  *this = Lv2Time{};
  if (rate > 0 && std::isfinite(rate)) rate_ = rate;
}

std::optional<Lv2Place> Lv2Time::now() const noexcept { return known_ ? std::optional(place_) : std::nullopt; }

void Lv2Time::advance(std::int64_t samples) noexcept {
  if (!known_ || samples <= 0) return;
  const auto gone = static_cast<double>(samples);
  sinceLast_ += gone;
  if (place_.speed == 0) return;
  frame_ += gone * place_.speed;
  place_.frame = static_cast<std::int64_t>(std::floor(frame_ + 0.5));
  if (!place_.quarters || !place_.quartersPerMinute) return;
  const double quarters = gone / rate_ * *place_.quartersPerMinute / 60 * place_.speed;
  *place_.quarters += quarters;
  inBar_ += quarters;
  const double bar = static_cast<double>(place_.beatsPerBar) * 4 / place_.beatUnit;
  const double passed = std::floor((inBar_ + floatNoise) / bar);
  inBar_ -= passed * bar;
  if (place_.bar) *place_.bar += static_cast<std::int64_t>(passed);
}

void Lv2Time::hear(const Lv2Position& raw) noexcept {
  const auto said = sane(raw);
  const bool goesOn = known_ && said.frame && std::abs(*said.frame - frame_) <= 1;
  if (said.beatUnit) place_.beatUnit = static_cast<std::int32_t>(*said.beatUnit);
  if (said.beatsPerBar) place_.beatsPerBar = static_cast<float>(*said.beatsPerBar);
  place_.meterKnown |= said.beatUnit && said.beatsPerBar;
  if (said.beatsPerMinute) minute_ = *said.beatsPerMinute;
  learn(said, goesOn);
  if (minute_ > 0) {
    const bool quarters =
        tempo_ == Counts::quarters || (tempo_ == Counts::unknown && quartersPerCount(said.beat.has_value()) == 1);
    place_.quartersPerMinute = quarters ? minute_ : minute_ * 4 / place_.beatUnit;
  }
  hearPlace(said, goesOn);
  if (said.speed) place_.speed = *said.speed;
  if (said.frame) frame_ = *said.frame;
  place_.frame = static_cast<std::int64_t>(std::floor(frame_ + 0.5));
  known_ = true;
  last_ = said;
  sinceLast_ = 0;
}

double Lv2Time::quartersPerCount(bool sendsBeat) const noexcept {
  const bool quarters = counts_ == Counts::quarters || (counts_ == Counts::unknown && sendsBeat);
  return quarters ? 1 : 4.0 / place_.beatUnit;
}

/// What the host counts, as far as it shows: only where a beat is no quarter can it show, or matter.
void Lv2Time::learn(const Lv2Position& said, bool goesOn) noexcept {
  if (place_.beatUnit == 4 || !said.barBeat) return;
  const double inBeats = static_cast<double>(place_.beatsPerBar), inQuarters = inBeats * 4 / place_.beatUnit;
  const auto longer = inBeats > inQuarters ? Counts::beats : Counts::quarters;
  const double shorter = std::min(inBeats, inQuarters);
  const bool sameMeter = last_.beatUnit == said.beatUnit && last_.beatsPerBar == said.beatsPerBar;
  if (*said.barBeat > shorter + 0.01) {
    counts_ = longer;  // no bar of the other kind is so long
  } else if (goesOn && sameMeter && place_.speed > 0 && last_.barBeat && *said.barBeat < *last_.barBeat) {
    // A bar line was passed: the bar was as long as the last place in it and a block.
    if (*last_.barBeat > 0.75 * shorter && *last_.barBeat <= shorter + 0.01)
      counts_ = longer == Counts::beats ? Counts::quarters : Counts::beats;
  } else if (goesOn && sameMeter && last_.barBeat && sinceLast_ > 0 && place_.speed != 0 && minute_ > 0) {
    const double moved = *said.barBeat - *last_.barBeat;
    if (std::abs(moved) < 8.0 / 1920) return;
    const double measured = std::log(std::abs(moved / place_.speed) / sinceLast_ * rate_ * 60 / minute_);
    const double beatsOverQuarters = std::log(place_.beatUnit / 4.0);
    const bool asPlace = std::abs(measured) <= std::abs(measured - beatsOverQuarters);
    tempo_ = asPlace ? counts_ : Counts::quarters;
  }
}

void Lv2Time::hearPlace(const Lv2Position& said, bool goesOn) noexcept {
  const double bar = static_cast<double>(place_.beatsPerBar) * 4 / place_.beatUnit;
  const double count = quartersPerCount(said.beat.has_value());
  const auto ran = place_.quarters;
  if (said.bar) place_.bar = static_cast<std::int64_t>(*said.bar);
  if (said.barBeat) inBar_ = *said.barBeat * count;
  if (said.beat) {
    const double beat = *said.beat * count;
    if (!goesOn || !ran) {
      // The wrapper passes no bar line on: a host that has changed its meter, or begun with a pickup, is moved by less
      // than a bar, once, so that its bar lines are multiples of the bar.
      const double line = beat - inBar_;
      const double off = said.barBeat ? line - nearestMultiple(line, bar) : 0;
      shift_ = std::abs(off) > 1e-4 ? -off : 0;
    }
    place_.quarters = beat + shift_;
    return;
  }
  if (said.bar && said.barBeat) {
    double quarters = *said.bar * bar + inBar_;
    if (goesOn && ran) {
      // Bars of another length came before: no jump, whatever the arithmetic says.
      quarters += nearestMultiple(*ran - quarters, smallestBeat);
      const double ahead = quarters - *ran;
      // Cut off, a place is never too far ahead; behind us by no more than what was cut off it is no news.
      if (ahead < floatNoise && ahead > -cutOff * count) {
        inBar_ -= ahead;
        quarters = *ran;
      }
    }
    place_.quarters = quarters;
    return;
  }
  // Frames alone make a place if there is a tempo, and no more than that is known.
  if (said.frame && place_.quartersPerMinute && !(goesOn && ran)) {
    place_.quarters = *said.frame / rate_ * *place_.quartersPerMinute / 60;
    inBar_ = *place_.quarters - std::floor(*place_.quarters / bar) * bar;
  }
}

}  // namespace seguente
