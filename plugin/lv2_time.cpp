#include "plugin/lv2_time.h"

#include <algorithm>
#include <cmath>

namespace seguente {

namespace {

// Two real hosts give the place in the bar in 1/1920 of a beat, one rounded, one cut off.
constexpr double cutOff = 1.5 / 1920, roundedUp = 0.55 / 1920;
constexpr double floatNoise = 2e-6;       // quarters: a place in the bar is a float
constexpr double smallestBeat = 1.0 / 8;  // quarters: meters end at 32nds
constexpr double farthest = 1e12;

std::optional<double> within(const std::optional<double>& x, double low, double high) {
  return x && *x >= low && *x <= high ? x : std::nullopt;  // NaN is in no range
}

bool powerOfTwo(double x) { return x == 1 || x == 2 || x == 4 || x == 8 || x == 16 || x == 32; }

Lv2Position sane(const Lv2Position& said) {
  Lv2Position p;
  p.ownKeys = said.ownKeys;
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
  const double bar = barLength();
  const double passed = std::floor((inBar_ + floatNoise) / bar);
  inBar_ -= passed * bar;
  if (place_.bar) *place_.bar += static_cast<std::int64_t>(passed);
}

void Lv2Time::hear(const Lv2Position& raw) noexcept {
  const auto said = sane(raw);
  bool goesOn = known_ && said.frame && std::abs(*said.frame - frame_) <= 1;
  ownKeys_ |= said.ownKeys;
  if (said.beatUnit) place_.beatUnit = static_cast<std::int32_t>(*said.beatUnit);
  if (said.beatsPerBar) place_.beatsPerBar = static_cast<float>(*said.beatsPerBar);
  place_.meterKnown |= said.beatUnit && said.beatsPerBar;
  if (said.beatsPerMinute) minute_ = *said.beatsPerMinute;
  if (!goesOn) measuredSamples_ = measuredCount_ = 0;
  const bool sameMeter = last_.beatUnit == said.beatUnit && last_.beatsPerBar == said.beatsPerBar;
  if (goesOn && sameMeter && place_.speed > 0 && sinceLast_ > 0) {
    if (learnCounts(said)) goesOn = false;  // where we ran to is no longer to be trusted
    learnTempo(said);
  }
  const bool beats = counting(said.beat.has_value()) == Counts::beats;
  const double factor = factor_ > 0 ? factor_ : beats ? quartersPerBeat() : 1;
  if (minute_ > 0) place_.quartersPerMinute = minute_ * factor;
  if (goesOn && place_.quarters && factor != factorBefore_ && said.beatsPerMinute == last_.beatsPerMinute) {
    // It was another note that the tempo counted: so it was since the last word.
    *place_.quarters += sinceLast_ * place_.speed * (*place_.quartersPerMinute - tempoBefore_) / 60 / rate_;
  }
  factorBefore_ = factor;
  hearPlace(said, goesOn);
  tempoBefore_ = place_.quartersPerMinute.value_or(0);
  inBarBefore_ = inBar_;
  if (said.speed) place_.speed = *said.speed;
  if (said.frame) frame_ = *said.frame;
  place_.frame = static_cast<std::int64_t>(std::floor(frame_ + 0.5));
  known_ = true;
  last_ = said;
  sinceLast_ = 0;
}

Lv2Time::Counts Lv2Time::counting(bool sendsBeat) const noexcept {
  if (counts_ != Counts::unknown) return counts_;
  if (sendsBeat) return Counts::quarters;
  return ownKeys_ ? Counts::mixed : Counts::beats;
}

/// What the host counts, from two places a block apart. True when it is not what we took it for.
bool Lv2Time::learnCounts(const Lv2Position& said) noexcept {
  if (place_.beatUnit == 4 || !said.barBeat || !last_.barBeat) return false;
  const double beat = quartersPerBeat(), now = *said.barBeat, before = *last_.barBeat;
  const double perBar = static_cast<double>(place_.beatsPerBar), quarters = barLength();
  const bool line = said.bar && last_.bar ? *said.bar != *last_.bar : now < before;
  auto learnt = counting(said.beat.has_value());
  if (line) {  // the bar was as long as the last place in it and a block
    if (before <= 0.75 * std::min(perBar, quarters)) return false;
    const double mixed = perBar - 1 + beat;
    const auto off = [before](double length) { return before > length + 0.01 ? 1e9 : length - before; };
    learnt = off(mixed) < std::min(off(perBar), off(quarters)) ? Counts::mixed
             : off(perBar) < off(quarters)                     ? Counts::beats
                                                               : Counts::quarters;
  } else if (beat > 1) {
    return false;  // with halves it shows at the bar line alone
  } else if (now > quarters + 0.01 && learnt == Counts::quarters) {
    learnt = Counts::beats;  // no bar of quarters is so long
  } else if (learnt == Counts::mixed && now - std::floor(now) > beat + 0.01) {
    learnt = Counts::beats;  // no rest of a beat is so long
  } else if (std::floor(now) == std::floor(before) + 1 && std::floor(before) + beat - before < 0.25) {
    // The next beat: one that mixes leaves out what lies between.
    if (now - before > (1 - beat) * 0.75 && before - std::floor(before) < beat + 0.01) learnt = Counts::mixed;
  }
  if (learnt == counting(said.beat.has_value())) return false;
  counts_ = learnt;
  factor_ = 0;
  return true;
}

/// Which note the tempo counts, from places within one beat, told under one tempo, and so far apart that what is cut
/// off does not matter.
void Lv2Time::learnTempo(const Lv2Position& said) noexcept {
  const auto& now = said.barBeat ? said.barBeat : said.beat;
  const auto& before = said.barBeat ? last_.barBeat : last_.beat;
  const bool comparable = now && before && said.bar == last_.bar && std::floor(*now) == std::floor(*before) &&
                          said.beatsPerMinute && said.beatsPerMinute == last_.beatsPerMinute;
  if (!comparable) {
    measuredSamples_ = measuredCount_ = 0;
    return;
  }
  measuredSamples_ += sinceLast_;
  measuredCount_ += *now - *before;
  if (measuredCount_ < 8.0 / 1920) return;
  const double unit = counting(said.beat.has_value()) == Counts::beats ? quartersPerBeat() : 1;
  const double measured = measuredCount_ * unit / measuredSamples_ * rate_ * 60 / place_.speed;
  const double octaves = std::floor(std::log2(measured / minute_) + 0.5);
  if (std::abs(octaves) <= 3) factor_ = std::exp2(octaves);
  measuredSamples_ = measuredCount_ = 0;
}

/// Quarters from the bar line.
double Lv2Time::inBar(double barBeat, Counts counts, bool goesOn) const noexcept {
  const double beat = quartersPerBeat(), whole = std::floor(barBeat), rest = barBeat - whole;
  if (counts == Counts::quarters) return barBeat;
  if (counts == Counts::beats || rest > beat + 0.01) return barBeat * beat;
  const double place = whole * beat + rest;
  // With halves, 1.2 is the second beat's 0.2 or the first's 1.2: the nearer to where we are by now.
  const double other = whole >= 1 && rest + 1 < beat ? (whole - 1) * beat + rest + 1 : place;
  const double ran = goesOn ? inBar_ : whole == 1 ? barBeat : place;
  return std::abs(other - ran) < std::abs(place - ran) ? other : place;
}

/// Where we are if a tempo that is new with this word came on a beat since the last word; else where we ran to.
double Lv2Time::steppedOnBeat(double ran) const noexcept {
  if (!last_.beatsPerMinute || !place_.quartersPerMinute || tempoBefore_ <= 0) return ran;
  if (*place_.quartersPerMinute == tempoBefore_) return ran;
  const double perSample = tempoBefore_ / 60 / rate_ * place_.speed, gone = sinceLast_ * perSample;
  const double beat = quartersPerBeat();
  // Quarters since the first beat after the last word, as we ran.
  const double since = gone - (beat - (inBarBefore_ - std::floor(inBarBefore_ / beat + floatNoise) * beat));
  if (since <= 0) return ran;
  return ran - since + since / tempoBefore_ * *place_.quartersPerMinute;
}

void Lv2Time::hearPlace(const Lv2Position& said, bool goesOn) noexcept {
  const auto counts = counting(said.beat.has_value());
  const double bar = barLength(), count = counts == Counts::beats ? quartersPerBeat() : 1;
  const auto ran = place_.quarters;
  if (said.bar) place_.bar = static_cast<std::int64_t>(*said.bar);
  if (said.barBeat) inBar_ = inBar(*said.barBeat, counts, goesOn);
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
      const double meant = steppedOnBeat(*ran);
      const double ahead = quarters - meant;
      // What was cut off or rounded is no news.
      if (ahead < roundedUp * count && ahead > -cutOff * count) {
        inBar_ -= ahead;
        quarters = meant;
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
