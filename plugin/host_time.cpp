#include "plugin/host_time.h"

#include <cmath>

namespace seguente {

namespace {

constexpr double ticksPerQuarter = static_cast<double>(quarter.value);
constexpr double slowest = 5, fastest = 1000;     // quarters a minute: what the engine takes
constexpr double farthest = 3e9;                  // quarters: beyond it a position is rubbish
constexpr double jumpSeconds = 0.04;              // as dsp/clock.cpp; common practice, no source
constexpr double grain = ticksPerQuarter / 1920;  // in which a real host (Ardour 7.3) counts its place
constexpr double sameTempo = 1e-6;                // of it; what that strays in hours is mended by the position

std::optional<double> within(const std::optional<double>& x, double low, double high) {
  return x && *x >= low && *x <= high ? x : std::nullopt;  // NaN is in no range
}

/// Some hosts pass the tempo through a float: 133.7 comes as 133.69999695, and is taken for 133.7 again; so is a file's
/// tempo, which is a whole number of microseconds a quarter (Standard MIDI Files 1.0). Either is as near as the float.
double tempoMeant(double tempo) {
  const auto single = static_cast<float>(tempo);
  if (tempo != static_cast<double>(single)) return tempo;
  const double decimal = static_cast<double>(floorToInteger(tempo * 1000 + 0.5)) / 1000;
  if (static_cast<float>(decimal) == single) return decimal;
  constexpr double microsecondsAMinute = 60e6;
  const double ofFile = microsecondsAMinute / static_cast<double>(floorToInteger(microsecondsAMinute / tempo + 0.5));
  return static_cast<float>(ofFile) == single ? ofFile : tempo;
}

/// What can be right of what was said.
HostPosition sane(const HostPosition& said) {
  HostPosition p;
  p.quarters = within(said.quarters, -farthest, farthest);
  p.quartersPerMinute = within(said.quartersPerMinute, slowest, fastest);
  if (p.quartersPerMinute) p.quartersPerMinute = tempoMeant(*p.quartersPerMinute);
  if (said.meter && said.meter->valid()) p.meter = said.meter;
  p.barStart = within(said.barStart, -farthest, farthest);
  constexpr auto most = static_cast<std::int64_t>(farthest);
  if (said.bar && *said.bar >= -most && *said.bar <= most) p.bar = said.bar;
  p.playing = said.playing;
  return p;
}

/// By how much a place that was said may be off without being news: a sample, and what its host has rounded away. A
/// host that counts finer says a multiple of the grain but now and then, and is believed in the next block.
double noise(double tick, double sample) {
  const double off = std::abs(tick / grain - std::round(tick / grain));
  return off * grain <= 1e-3 ? sample + grain : sample;
}

Ticks nearest(double tick) { return {floorToInteger(tick + 0.5)}; }

/// The last multiple of `length` after `line` that is at or before `tick`.
Ticks lineBefore(double tick, Ticks line, Ticks length) {
  return line + length * floorDivide(nearest(tick).value - line.value, length.value);
}

double ticksPerSampleAt(double tempo, double rate) { return 1.0 / Timeline::samplesPerTickAt(tempo, rate); }

}  // namespace

void HostTime::prepare(double rate) noexcept {
  if (!(rate > 0) || !std::isfinite(rate)) return;
  host_.tick = host_.at(next_);
  own_.tick = 0;
  own_.playing = own_.playing && !settings_.waits;
  own_.barStart = {};
  rate_ = rate;
  host_.ticksPerSample = ticksPerSampleAt(host_.tempo, rate);
  own_.ticksPerSample = ticksPerSampleAt(own_.tempo, rate);
  fresh_ = true;
  jumped_ = false;
  kept_.reset();
}

// Inline: with block() this is all that an idle block pays, 93 instructions (callgrind, g++ 12 -O2); 44 without a
// place.
inline bool HostTime::asForeseen(const HostPosition& said, Samples at) const noexcept {
  const auto asSaid = [&](double tick) {
    const double off = std::abs(tick - host_.at(at));
    return off <= host_.ticksPerSample || off <= noise(tick, host_.ticksPerSample);
  };
  const bool placed = said.quarters ? spoken_ && asSaid(*said.quarters * ticksPerQuarter)
                                    : !said_.quarters && !said.bar && !said.barStart;
  return placed && said.playing == said_.playing && said.quartersPerMinute == said_.quartersPerMinute &&
         said.barStart == said_.barStart && said.bar == said_.bar && said.meter == said_.meter;
}

std::optional<TimeAnchor> HostTime::block(const std::optional<HostPosition>& position, Samples at, std::int64_t length,
                                          const TimeSettings& settings) noexcept {
  jumped_ = false;
  if (length <= 0) {
    if (position) kept_ = position;
    return {};
  }
  const auto before = last_;
  last_ = at;
  next_ = {at.value + length};
  // The quick way through nearly every block.
  if (!fresh_ && settings == settings_ && (position ? asForeseen(*position, at) : !kept_)) return {};
  return hearNews(position ? position : kept_, at, before, settings);
}

std::optional<TimeAnchor> HostTime::hearNews(const std::optional<HostPosition>& said, Samples at, Samples last,
                                             const TimeSettings& settings) noexcept {
  if (fresh_) host_.sample = own_.sample = last = at;
  settings_ = settings;
  const bool hostChanged = said && hear(*said, at, last, settings);
  kept_.reset();
  const auto by = settings.source == TimeSource::host && !spoken_ ? TimeSource::own : settings.source;
  const bool byHost = by == TimeSource::host;
  const bool another = by != by_;
  if (another && by == TimeSource::own) takeOver(at);
  const bool ownChanged = by == TimeSource::own && runOwn(at, settings);
  if (another || !byHost) jumped_ = false;  // the keys are still where they were
  const bool changed = fresh_ || another || (byHost ? hostChanged : ownChanged);
  by_ = by;
  fresh_ = false;
  if (by == TimeSource::hands) return {};
  if (!changed) return {};
  const auto& place = byHost ? host_ : own_;
  return TimeAnchor{nearest(place.at(at)), place.tempo, place.meter, place.barStart, place.playing};
}

bool HostTime::hear(const HostPosition& raw, Samples at, Samples last, const TimeSettings& settings) noexcept {
  const auto said = sane(raw);
  const auto before = sane(said_);
  said_ = raw;
  if (said.quartersPerMinute) tempoSaid_ = said.quartersPerMinute;
  if (said.meter) meterSaid_ = true;
  if (!spoken_ && !said.quarters && !said.barStart && !said.bar && !said.playing) return false;

  const auto elapsed = static_cast<double>((at - last).value);
  const bool went = spoken_ && !fresh_ && host_.playing;
  const auto meter = said.meter                                 ? *said.meter
                     : meterSaid_ || !settings.ownMeter.valid() ? host_.meter
                                                                : settings.ownMeter;
  const double predicted = host_.at(at);
  const double tick = tickSaid(said, before, meter, at, last);
  const bool strays =
      std::abs(tick - predicted) > (said.quarters ? noise(tick, host_.ticksPerSample) : host_.ticksPerSample);

  auto tempo = tempoSaid_ ? *tempoSaid_ : spoken_ ? host_.tempo : settings.ownTempo;
  // A host that moves but never says how fast is measured, from the last place that was not foreseen.
  const auto since = static_cast<double>((at - host_.sample).value);
  if (!tempoSaid_ && went && strays && since > 0) {
    const double measured = (tick - host_.tick) / since / ticksPerSampleAt(1.0, rate_);
    if (measured >= slowest && measured <= fastest) tempo = measured;
  }
  if (!(tempo >= slowest && tempo <= fastest)) tempo = host_.tempo;
  const double ticksPerSample = ticksPerSampleAt(tempo, rate_);

  // The tempo may have changed anywhere in the last block: what that explains is no jump.
  const double explained =
      elapsed * (tempoSaid_ ? std::abs(ticksPerSample - host_.ticksPerSample) : ticksPerSampleAt(fastest, rate_));
  const bool far = std::abs(tick - predicted) > jumpSeconds * rate_ * ticksPerSample + explained;
  const bool goesOn = spoken_ && !(host_.playing ? far : strays);
  const auto barStart = barSaid(said, before, meter, tick, last, goesOn);

  const bool moved =
      strays || !spoken_ || said.playing != host_.playing || std::abs(tempo - host_.tempo) > sameTempo * tempo;
  const bool otherBars = !(meter == host_.meter) || (barStart - host_.barStart).value % meter.bar().value != 0;
  if (moved) {
    host_.tick = tick;
    host_.sample = at;
    host_.tempo = tempo;
    host_.ticksPerSample = ticksPerSample;
    host_.playing = said.playing;
  }
  if (otherBars || !goesOn) host_.barStart = barStart;
  host_.meter = meter;
  spoken_ = true;
  jumped_ = far && went && said.playing;
  return moved || otherBars;
}

/// Where the host is, in ticks; from its bars alone when it says no more, right to a block.
double HostTime::tickSaid(const HostPosition& said, const HostPosition& before, Meter meter, Samples at,
                          Samples last) const noexcept {
  if (said.quarters) return *said.quarters * ticksPerQuarter;
  const double predicted = host_.at(at);
  if (!said.barStart && !said.bar) return said.playing && !host_.playing ? 0 : predicted;
  const auto length = static_cast<double>(meter.bar().value);
  const double line = said.barStart ? *said.barStart * ticksPerQuarter : static_cast<double>(*said.bar) * length;
  if (!spoken_) return line;
  // A bar line that is news was passed in the last block. Until the next one we may be anywhere; where the tempo is not
  // said we may even be bars ahead, and it is measured at the next line.
  const bool news = said.barStart != before.barStart || said.bar != before.bar;
  const double ahead = news ? static_cast<double>((at - last).value) * host_.ticksPerSample : 4 * length;
  return predicted >= line - host_.ticksPerSample && predicted <= line + ahead + host_.ticksPerSample ? predicted
                                                                                                      : line;
}

/// A bar line. goesOn: from the last place without a leap.
Ticks HostTime::barSaid(const HostPosition& said, const HostPosition& before, Meter meter, double tick, Samples last,
                        bool goesOn) noexcept {
  const double sample = host_.ticksPerSample;
  const double passed = host_.at(last) - sample;
  const bool countMoved = goesOn && said.bar && before.bar && *said.bar != *before.bar;
  barsCounted_ |= countMoved;
  const auto ours = goesOn ? lineBefore(tick + sample, host_.barStart, host_.meter.bar()) : Ticks{};

  if (said.barStart) {
    const auto line = nearest(*said.barStart * ticksPerQuarter);
    const double into = tick - static_cast<double>(line.value);
    const bool plausible = into >= -sample && into < static_cast<double>(meter.bar().value) + sample;
    // Our line and the host's own count, two against one: the count stands still, or went on where we saw a line.
    const bool counts = goesOn && barsCounted_ && said.bar && meter == host_.meter;
    const bool gainsaid = counts && (!countMoved || static_cast<double>(ours.value) >= passed);
    const auto apart = std::abs(static_cast<double>(((line - ours).value) % meter.bar().value));
    const bool same =
        goesOn && meter == host_.meter && (apart <= sample || apart >= static_cast<double>(meter.bar().value) - sample);
    if (plausible && same) return host_.barStart;  // to the sample: no news
    if (plausible && !gainsaid) return line;
  }
  if (countMoved && static_cast<double>(ours.value) < passed) {
    // The count went on where we saw no line: it lies on a beat that was passed in the last block.
    const auto beat = lineBefore(tick + sample, ours, meter.beat());
    return static_cast<double>(beat.value) >= passed ? beat : nearest(tick);
  }
  return ours;  // goes on from the last line, or the meter over the session's start
}

bool HostTime::runOwn(Samples at, const TimeSettings& settings) noexcept {
  const double wished = settings.source == TimeSource::host && tempoSaid_ ? *tempoSaid_ : settings.ownTempo;
  const double tempo = wished >= slowest && wished <= fastest ? wished : own_.tempo;
  const auto meter = settings.ownMeter.valid() ? settings.ownMeter : own_.meter;
  const bool playing = own_.playing || !settings.waits;
  if (tempo == own_.tempo && meter == own_.meter && own_.playing == playing) return false;
  const double tick = own_.at(at);
  if (!playing)
    own_.barStart = nearest(tick);  // where it stands it will begin
  else if (!(meter == own_.meter))
    own_.barStart = lineBefore(tick, own_.barStart, own_.meter.bar());
  own_ = {tick, at, ticksPerSampleAt(tempo, rate_), tempo, meter, own_.barStart, playing};
  return true;
}

/// Our own clock goes on from where the host was; where it stood still, on the bar's first beat.
void HostTime::takeOver(Samples at) noexcept {
  const double tick = host_.at(at);
  own_ = host_;
  own_.barStart = lineBefore(tick, host_.barStart, host_.meter.bar());
  own_.tick = host_.playing ? tick : static_cast<double>(own_.barStart.value);
  own_.sample = at;
  own_.playing = !settings_.waits;
  if (!own_.playing) own_.tick = static_cast<double>(own_.barStart.value);
}

std::optional<TimeAnchor> HostTime::beginOwn(Samples at) noexcept {
  if (!ownStands()) return {};
  own_.barStart = nearest(own_.tick);
  own_.sample = at;
  own_.playing = true;
  return TimeAnchor{own_.barStart, own_.tempo, own_.meter, own_.barStart, true};
}

std::optional<TimeAnchor> HostTime::standOwn(Samples at) noexcept {
  if (by_ != TimeSource::own || !settings_.waits || !own_.playing) return {};
  const auto line = lineBefore(own_.at(at) - 1, own_.barStart, own_.meter.bar()) + own_.meter.bar();
  own_.tick = static_cast<double>(line.value);
  own_.barStart = line;
  own_.sample = at;
  own_.playing = false;
  return TimeAnchor{line, own_.tempo, own_.meter, line, false};
}

}  // namespace seguente
