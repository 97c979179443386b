#include "plugin/commandline/tempo_map.h"

#include <algorithm>

namespace seguente {

namespace {

__extension__ typedef __int128 Wide;  // products of ticks, microseconds and rate pass 64 bits

constexpr std::int64_t microsecondsPerMinute = 60'000'000;
constexpr std::int64_t defaultTempo = 500'000;  // no tempo event = 120 (SMF 1.1)
// The engine's own bounds, dsp/input.h: 5..1000 quarters a minute.
constexpr std::int64_t fastest = microsecondsPerMinute / 1000;
constexpr std::int64_t slowest = microsecondsPerMinute / 5;
constexpr std::int64_t longestHours = 24;

struct Change {
  std::int64_t tick = 0;
  std::int64_t microseconds = 0;  // a quarter; 0: no change of tempo
  Meter meter{};
  bool meterChanges = false;
};

void readChange(const MidiFile& file, const MidiEvent& e, const TimeWishes& wishes, std::vector<Change>& changes) {
  const auto bytes = file.bytesOf(e);
  if (bytes[0] != 0xFF) return;
  if (const auto t = metaContent(bytes, metaTempo); t.size() >= 3 && wishes.quartersPerMinute <= 0) {
    const std::int64_t us = (t[0] << 16) | (t[1] << 8) | t[2];
    if (us >= fastest && us <= slowest) changes.push_back({e.tick, us, {}, false});
  }
  if (const auto m = metaContent(bytes, metaMeter); m.size() >= 2 && !wishes.otherMeter && m[1] <= 5) {
    const Meter meter{m[0], static_cast<std::uint8_t>(1 << m[1])};
    if (meter.valid()) changes.push_back({e.tick, 0, meter, true});
  }
}

std::vector<Change> changesOf(const MidiFile& file, const TimeWishes& wishes) {
  std::vector<Change> changes;
  for (const MidiTrack& track : file.tracks)
    for (const MidiEvent& e : track.events) readChange(file, e, wishes, changes);
  std::stable_sort(changes.begin(), changes.end(), [](const Change& a, const Change& b) { return a.tick < b.tick; });
  return changes;
}

std::int64_t lastTickOf(const MidiFile& file) {
  std::int64_t last = 0;
  for (const MidiTrack& track : file.tracks)
    if (!track.events.empty()) last = std::max(last, track.events.back().tick);
  return last;
}

/// Exact time since the file's start, as a sum of ticks x microseconds a quarter.
struct ExactTime {
  std::int64_t rate = 48000;
  std::int64_t resolution = 480;
  Wide sum = 0;

  Samples sample() const {
    const Wide unit = Wide{resolution} * 1'000'000;
    return {static_cast<std::int64_t>((sum * rate * 2 + unit) / (unit * 2))};  // to the nearest, halves up
  }
  bool tooLong() const { return sum > Wide{resolution} * 1'000'000 * 3600 * longestHours; }
};

double quartersPerMinute(std::int64_t microseconds, const TimeWishes& wishes) {
  if (wishes.quartersPerMinute > 0) return wishes.quartersPerMinute;
  return static_cast<double>(microsecondsPerMinute) / static_cast<double>(microseconds);
}

}  // namespace

Checked<TempoMap> TempoMap::of(const MidiFile& file, const TimeWishes& wishes, std::int64_t rate) {
  TempoMap map;
  map.resolution_ = file.resolution;
  map.pickup_ = wishes.pickup;
  ExactTime time{rate, file.resolution, 0};
  std::int64_t at = 0;
  std::int64_t tempo =
      wishes.quartersPerMinute > 0
          ? static_cast<std::int64_t>(static_cast<double>(microsecondsPerMinute) / wishes.quartersPerMinute + 0.5)
          : defaultTempo;
  const auto timelineHere = [&] {
    return Timeline{Timeline::samplesPerTickAt(quartersPerMinute(tempo, wishes), static_cast<double>(rate)),
                    map.engineTick(at), time.sample()};
  };
  TimeAnchor now{{}, quartersPerMinute(tempo, wishes), wishes.otherMeter ? wishes.meter : Meter{}, wishes.pickup, true};
  map.stretches_.push_back({0, timelineHere()});
  map.points_.push_back({0, {}, now});
  for (const Change& c : changesOf(file, wishes)) {
    time.sum += Wide{c.tick - at} * tempo;
    at = c.tick;
    if (time.tooLong()) break;
    now.tick = map.engineTick(at);
    if (c.meterChanges) {
      now.meter = c.meter;
      now.barStart = at == 0 ? wishes.pickup : now.tick;
    } else {
      tempo = c.microseconds;
      now.quartersPerMinute = quartersPerMinute(tempo, wishes);
      const Stretch stretch{at, timelineHere()};
      if (map.stretches_.back().fileTick == at) {
        map.stretches_.back() = stretch;
      } else {
        map.stretches_.push_back(stretch);
      }
    }
    const TimePoint point{at, map.sampleOf(at), now};
    if (map.points_.back().fileTick == at) {
      map.points_.back() = point;
    } else {
      map.points_.push_back(point);
    }
  }
  time.sum += Wide{std::max(lastTickOf(file) - at, std::int64_t{0})} * tempo;
  if (time.tooLong()) return bad<TempoMap>("lasts more than 24 hours");
  return good(std::move(map));
}

Ticks TempoMap::engineTick(std::int64_t t) const {
  return {static_cast<std::int64_t>((Wide{t} * quarter.value * 2 + resolution_) / (Wide{2} * resolution_))};
}

std::int64_t TempoMap::fileTick(Ticks tick) const {
  return std::max<std::int64_t>(0, floorDivide(tick.value * 2 * resolution_ + quarter.value, 2 * quarter.value));
}

const TempoMap::Stretch& TempoMap::stretchAt(std::int64_t t) const {
  const auto after = std::upper_bound(stretches_.begin(), stretches_.end(), t,
                                      [](std::int64_t tick, const Stretch& s) { return tick < s.fileTick; });
  return after == stretches_.begin() ? stretches_.front() : *(after - 1);
}

Samples TempoMap::sampleOf(std::int64_t t) const {
  const Stretch& stretch = stretchAt(t);
  Samples sample = stretch.timeline.sampleOf(engineTick(t));
  // The next stretch begins at a sample of its own rounding: never go past it.
  if (&stretch != &stretches_.back()) sample = std::min(sample, (&stretch + 1)->timeline.sampleOrigin);
  return sample;
}

Samples TempoMap::sampleOf(Ticks tick) const { return stretchAt(fileTick(tick)).timeline.sampleOf(tick); }

std::int64_t TempoMap::fileTickAt(Samples sample) const {
  const auto after = std::upper_bound(stretches_.begin(), stretches_.end(), sample,
                                      [](Samples s, const Stretch& x) { return s < x.timeline.sampleOrigin; });
  const Stretch& stretch = after == stretches_.begin() ? stretches_.front() : *(after - 1);
  return fileTick(stretch.timeline.tickAt(sample));
}

std::vector<Bar> TempoMap::bars(Ticks until, std::size_t atLeast) const {
  std::vector<Bar> bars;
  std::size_t next = 0;
  for (Ticks at = pickup_; at < until || bars.size() < atLeast;) {
    const Meter meter = meterAt(at);
    Ticks end = at + meter.bar();
    while (next < points_.size() && points_[next].anchor.barStart <= at) ++next;
    if (next < points_.size() && points_[next].anchor.barStart < end) end = points_[next].anchor.barStart;
    bars.push_back({at, end, meter});
    at = end;
  }
  return bars;
}

Meter TempoMap::meterAt(Ticks tick) const {
  Meter meter = points_.front().anchor.meter;
  for (const TimePoint& p : points_) {
    if (p.anchor.tick > tick) break;
    meter = p.anchor.meter;
  }
  return meter;
}

}  // namespace seguente
