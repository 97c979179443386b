#include "plugin/commandline/followed.h"

#include <algorithm>
#include <cmath>
#include <cstdlib>

#include "dsp/idiom_family.h"

namespace seguente {

namespace {

/// A beat: when it fell, where the engine had it, where it stands in the written file (in engine ticks).
struct Knot {
  Samples falls{};
  Ticks engine{};
  Ticks written{};
  Meter meter{};
  bool downbeat = false;
};

/// Beats in order; one that a later one takes the place of (the player's own downbeat, a moment after ours) is left
/// out.
std::vector<Knot> knotsOf(const std::vector<HeardBeat>& beats) {
  std::vector<Knot> knots;
  for (const HeardBeat& b : beats) {
    const Knot next{b.falls, b.tick, {}, b.meter, b.beatOfBar == 1};
    while (!knots.empty() && knots.back().falls >= next.falls) knots.pop_back();
    if (knots.size() >= 2) {
      const auto usual = knots.back().falls - knots[knots.size() - 2].falls;
      if ((next.falls - knots.back().falls).value * 3 < usual.value) knots.pop_back();
    }
    knots.push_back(next);
  }
  return knots;
}

class Map {
 public:
  Map(const std::vector<HeardBeat>& beats, std::int64_t rate) : rate_(rate), knots_(knotsOf(beats)) {
    if (knots_.size() < 2) return;
    // What comes before the first beat, as so many sixteenths: a bar of its own, shortened.
    const Ticks sixteenth{quarter.value / 4};
    const auto interval = static_cast<double>((knots_[1].falls - knots_[0].falls).value);
    const double beats16 = static_cast<double>(knots_[0].meter.beat().value) / static_cast<double>(sixteenth.value);
    const double lead = static_cast<double>(knots_[0].falls.value) / interval * beats16;
    const auto shortest = static_cast<double>(knots_[0].falls.value) * 1000 / 60 / 4 / static_cast<double>(rate);
    lead_ = sixteenth * (shortest < 0.3 ? 0 : std::max<std::int64_t>(1, std::llround(lead)));
    Ticks at = lead_;
    for (std::size_t i = 0; i < knots_.size(); ++i) {
      if (i > 0) {
        const Ticks beat = knots_[i - 1].meter.beat();
        const auto steps = (knots_[i].engine - knots_[i - 1].engine).value;
        at = at + beat * (steps > 0 && steps <= 8 * beat.value
                              ? std::max<std::int64_t>(1, (steps + beat.value / 2) / beat.value)
                              : 1);
      }
      knots_[i].written = at;
    }
  }
  bool good() const { return knots_.size() >= 2; }
  const std::vector<Knot>& knots() const { return knots_; }
  Ticks lead() const { return lead_; }

  /// Where a sample stands.
  Ticks at(Samples s) const {
    const auto& k = before(s);
    if (s < knots_.front().falls) {
      if (lead_.value == 0) return {};
      return along(Samples{}, Ticks{}, knots_.front().falls, lead_, s);
    }
    const auto& next = &k == &knots_.back() ? k : *(&k + 1);
    if (&k == &next) {
      const auto& last = *(&k - 1);
      return along(last.falls, last.written, k.falls, k.written, s);
    }
    return along(k.falls, k.written, next.falls, next.written, s);
  }
  /// Where a place in the engine's time stands that was played at about a sample: exact when both agree.
  Ticks at(Ticks engine, Samples about, std::int64_t milliseconds = 12) const {  // 12: less than anybody hears
    const Ticks bySample = at(about);
    Ticks best = bySample;
    const Knot* const k = &before(about);
    for (const Knot* near = k; near <= k + 1 && near <= &knots_.back(); ++near) {
      const Ticks exact = near->written + (engine - near->engine);
      const auto off = std::abs((sampleOf(exact) - about).value);
      if (off * 1000 <= milliseconds * rate_ && exact >= Ticks{}) best = exact;
    }
    return best;
  }
  /// Before the clock ran the engine had no place for a chord: then the beat on which its fingers landed, if there is
  /// one.
  Ticks beatAt(Ticks written, Samples about) const {
    for (const Knot& k : knots_)
      if (std::abs((k.falls - about).value) * 1000 <= 100 * rate_) return k.written;
    return written;
  }
  Samples sampleOf(Ticks written) const {
    const auto after =
        std::upper_bound(knots_.begin(), knots_.end(), written, [](Ticks t, const Knot& k) { return t < k.written; });
    if (after == knots_.begin())
      return {lead_.value == 0 ? 0 : knots_.front().falls.value * written.value / lead_.value};
    const auto& b = after == knots_.end() ? *(after - 1) : *after;
    const auto& a = after == knots_.end() ? *(after - 2) : *(after - 1);
    const double part =
        static_cast<double>((written - a.written).value) / static_cast<double>((b.written - a.written).value);
    return {a.falls.value + std::llround(part * static_cast<double>((b.falls - a.falls).value))};
  }

 private:
  const Knot& before(Samples s) const {
    const auto after =
        std::upper_bound(knots_.begin(), knots_.end(), s, [](Samples t, const Knot& k) { return t < k.falls; });
    return after == knots_.begin() ? knots_.front() : *(after - 1);
  }
  static Ticks along(Samples s0, Ticks t0, Samples s1, Ticks t1, Samples s) {
    const double part = static_cast<double>((s - s0).value) / static_cast<double>((s1 - s0).value);
    return {t0.value + std::llround(part * static_cast<double>((t1 - t0).value))};
  }

  std::int64_t rate_;
  std::vector<Knot> knots_;
  Ticks lead_{};
};

/// Tempo and meter events in the making.
class TimelineWriter {
 public:
  explicit TimelineWriter(MidiFile& file) : file_(file) {}
  void tempo(std::int64_t tick, std::int64_t us) {
    const std::uint8_t event[] = {0xFF,
                                  metaTempo,
                                  3,
                                  static_cast<std::uint8_t>(us >> 16),
                                  static_cast<std::uint8_t>(us >> 8),
                                  static_cast<std::uint8_t>(us)};
    file_.add(track_, tick, event);
  }
  void meter(std::int64_t tick, std::int64_t numerator, int denominator) {
    std::uint8_t power = 0;
    while ((1 << power) < denominator) ++power;
    const std::uint8_t event[] = {0xFF,  metaMeter,
                                  4,     static_cast<std::uint8_t>(std::clamp<std::int64_t>(numerator, 1, 32)),
                                  power, static_cast<std::uint8_t>(std::max(1, 96 / denominator)),
                                  8};
    file_.add(track_, tick, event);
  }
  void finish() {
    std::stable_sort(track_.events.begin(), track_.events.end(),
                     [](const MidiEvent& a, const MidiEvent& b) { return a.tick < b.tick; });
    file_.tracks.push_back(track_);
  }

 private:
  MidiFile& file_;
  MidiTrack track_;
};

std::int64_t fileTickOf(Ticks t, int resolution) {
  return floorDivide(t.value * 2 * resolution + quarter.value, 2 * quarter.value);
}

/// One tempo a beat, so that every beat falls on its sample; what rounding leaves is made good by the next beat.
void addTempi(TimelineWriter& to, const Map& map, int resolution, std::int64_t rate) {
  double reached = 0;  // microseconds
  std::int64_t before = -1;
  const auto stretch = [&](std::int64_t from, std::int64_t until, Samples end) {
    if (until <= from) return;
    const double quarters = static_cast<double>(until - from) / resolution;
    const double wanted = static_cast<double>(end.value) * 1e6 / static_cast<double>(rate) - reached;
    const auto us = std::clamp<std::int64_t>(std::llround(wanted / quarters), 60'000, 12'000'000);
    reached += static_cast<double>(us) * quarters;
    if (us != before) to.tempo(from, us);
    before = us;
  };
  const auto& knots = map.knots();
  stretch(0, fileTickOf(map.lead(), resolution), knots.front().falls);
  for (std::size_t i = 0; i + 1 < knots.size(); ++i)
    stretch(fileTickOf(knots[i].written, resolution), fileTickOf(knots[i + 1].written, resolution), knots[i + 1].falls);
}

/// The meter wherever a bar has another length: what leads in, a bar that was begun again, a guess that was given up.
void addMeters(TimelineWriter& to, const Map& map, int resolution) {
  Ticks bar{};
  std::int64_t saidNumerator = 0;
  int saidDenominator = 0;
  const auto say = [&](Ticks at, std::int64_t numerator, int denominator) {
    if (numerator == saidNumerator && denominator == saidDenominator) return;
    to.meter(fileTickOf(at, resolution), numerator, denominator);
    saidNumerator = numerator;
    saidDenominator = denominator;
  };
  const auto stretch = [&](Ticks from, Ticks until, Meter meter, bool atItsEnd) {
    const auto whole = (until - from).value / meter.bar().value;
    const Ticks rest{(until - from).value - whole * meter.bar().value};
    const auto shortBar = [&](Ticks at) {
      if (rest.value % meter.beat().value == 0)
        say(at, rest.value / meter.beat().value, meter.denominator);
      else
        say(at, rest.value * 4 / quarter.value, 16);
    };
    if (rest.value > 0 && !atItsEnd) shortBar(from);  // a pickup comes before the whole bars
    if (whole > 0) say(atItsEnd ? from : from + rest, meter.numerator, meter.denominator);
    if (rest.value > 0 && atItsEnd) shortBar(until - rest);
  };
  const auto& knots = map.knots();
  Meter meter = knots.front().meter;
  bool any = false;
  for (const Knot& k : knots) {
    if (!k.downbeat) continue;
    if (k.written > bar) stretch(bar, k.written, meter, any);
    bar = k.written;
    meter = k.meter;
    any = true;
  }
  say(bar, meter.numerator, meter.denominator);
}

void moveFile(Performance& p, const Map& map, int resolution) {
  for (MidiTrack& track : p.file.tracks)
    for (MidiEvent& e : track.events) e.tick = fileTickOf(map.at(p.time.sampleOf(e.tick)), resolution);
}

void moveRendering(const Performance& p, Rendering& r, const Map& map, int resolution) {
  for (OurEvent& e : r.ours) {
    e.tick = e.tick > Ticks{std::int64_t{1} << 50} ? map.at(e.sample) : map.at(e.tick, e.sample);
    e.fileTick = fileTickOf(e.tick, resolution);
    if (e.kind == OutputKind::noteOn) e.reason.dueTick = map.at(e.reason.dueTick, e.reason.due);
  }
  for (HandRow& h : r.hands) {
    const EventPlace place = p.places[h.inputIndex];
    h.fileTick = p.file.tracks[static_cast<std::size_t>(place.track)].events[place.event].tick;
  }
  for (HeardRow& c : r.chords) {
    // A chord counts from the beat that it belongs to; a hand may be so much early or late (dsp/player.cpp).
    c.from = map.beatAt(map.at(c.from, c.fromSample, 250), c.fromSample);
    c.to = map.at(c.to, c.toSample, 250);
  }
}

/// The meters that were heard, for the sounds of their idioms.
void movePlaying(Performance& p, const Map& map, const Idiom* asked, int resolution) {
  if (asked == nullptr || p.playing.empty()) return;
  const PartChannels channels = p.playing.front().channels;
  p.playing.clear();
  for (const Knot& k : map.knots()) {
    if (!p.playing.empty() && p.playing.back().meter == k.meter) continue;
    const std::int64_t tick = p.playing.empty() ? 0 : fileTickOf(k.written, resolution);
    p.playing.push_back({tick, inMeter(*asked, k.meter), k.meter, channels});
  }
}

}  // namespace

void takeFollowedTime(Performance& p, Rendering& r, const Idiom* asked, std::int64_t rate) {
  const Map map(r.beats, rate);
  if (!map.good()) return;
  // Fine enough that rounding moves nothing by more than half a millisecond at 120.
  int resolution = p.file.resolution;
  while (resolution < 960) resolution *= 2;
  const Samples last = p.time.sampleOf(p.lastTick);
  const Samples over = p.time.sampleOf(p.over);
  moveFile(p, map, resolution);
  p.file.resolution = resolution;
  p.lastTick = fileTickOf(map.at(last), resolution);
  p.over = fileTickOf(map.at(over), resolution);
  movePlaying(p, map, asked, resolution);
  p.timeline = MidiFile{};
  p.timeline.resolution = resolution;
  TimelineWriter timeline(p.timeline);
  addMeters(timeline, map, resolution);
  addTempi(timeline, map, resolution, rate);
  timeline.finish();
  if (auto time = TempoMap::of(p.timeline, {}, rate); time.good()) p.time = std::move(time.value);
  moveRendering(p, r, map, resolution);
  p.followed = true;
}

}  // namespace seguente
