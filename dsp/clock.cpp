#include "dsp/clock.h"

#include <cmath>
#include <cstdlib>

namespace seguente {

namespace {
// A host that rounds its position to a sample, or gives one tempo a block during a ramp, strays by a few milliseconds;
// a person who jumps strays by far more. Between the two: 40 ms. Common practice, no source.
constexpr double jumpMilliseconds = 40;
constexpr std::int64_t farthestTick = std::int64_t{1} << 50;  // some 1,000 years; beyond it a position is rubbish
}  // namespace

void Clock::reset(double rate) noexcept {
  *this = Clock{};
  rate_ = rate;
  timeline_.samplesPerTick = Timeline::samplesPerTickAt(quartersPerMinute_, rate_);
}

ClockChange Clock::anchor(const TimeAnchor& a, Samples at) noexcept {
  const bool tempoGood = std::isfinite(a.quartersPerMinute) && a.quartersPerMinute >= 5 && a.quartersPerMinute <= 1000;
  const double tempo = tempoGood ? a.quartersPerMinute : quartersPerMinute_;
  if (std::abs(a.tick.value) > farthestTick || std::abs(a.barStart.value) > farthestTick) return ClockChange::nothing;
  const Ticks predicted = tickAt(at);
  const bool stood = ceiling_ != noCeiling;
  ceiling_ = noCeiling;
  const auto stray = std::abs((a.tick - predicted).value);
  const bool wasPlaying = playing_;
  const bool otherMeter = a.meter.valid() && !(a.meter == meter_);
  const bool otherBars = (a.barStart - barStart_).value % (a.meter.valid() ? a.meter : meter_).bar().value != 0;
  const bool moved =
      stood || tempo != quartersPerMinute_ || static_cast<double>(stray) * timeline_.samplesPerTick > 1.0;
  const bool far = stray > ticksFor(jumpMilliseconds).value;

  if (a.meter.valid()) setMeter(a.meter);
  barStart_ = a.barStart;
  playing_ = a.playing;
  if (moved || !wasPlaying) {
    quartersPerMinute_ = tempo;
    timeline_ = {Timeline::samplesPerTickAt(tempo, rate_), a.tick, at};
  }
  if (!wasPlaying) return playing_ ? ClockChange::started : ClockChange::nothing;
  if (!playing_) return ClockChange::stopped;
  if (far) return ClockChange::jumped;
  return moved || otherMeter || otherBars ? ClockChange::moved : ClockChange::nothing;
}

void Clock::setMeter(Meter meter) noexcept {
  meter_ = meter;
  barLength_ = meter.bar();
  beatLength_ = meter.beat();
}

}  // namespace seguente
