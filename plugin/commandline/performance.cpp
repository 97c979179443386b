#include "plugin/commandline/performance.h"

#include <algorithm>
#include <array>

#include "dsp/harmony.h"
#include "dsp/idiom_file.h"

namespace seguente {

namespace {

/// An event of any track, to be merged.
struct Merged {
  std::int64_t tick = 0;
  EventPlace place;
};

/// All events but metas, by tick, then track, then order in the track.
std::vector<Merged> mergedEvents(const MidiFile& file) {
  std::vector<Merged> merged;
  std::size_t count = 0;
  for (const MidiTrack& t : file.tracks) count += t.events.size();
  merged.reserve(count);
  for (std::size_t t = 0; t < file.tracks.size(); ++t) {
    const auto& events = file.tracks[t].events;
    for (std::size_t i = 0; i < events.size(); ++i)
      if (file.bytesOf(events[i])[0] != 0xFF)
        merged.push_back({events[i].tick, {static_cast<std::int32_t>(t), static_cast<std::uint32_t>(i)}});
  }
  std::stable_sort(merged.begin(), merged.end(), [](const Merged& a, const Merged& b) { return a.tick < b.tick; });
  return merged;
}

MidiMessage messageOf(std::span<const std::uint8_t> bytes) {
  MidiMessage m;
  for (std::size_t i = 0; i < 3 && i < bytes.size(); ++i) m.bytes[i] = bytes[i];
  m.length = static_cast<std::uint32_t>(bytes.size());
  return m;
}

std::string listOfChannels(std::uint16_t set) {
  std::string list;
  for (int c = 0; c < 16; ++c)
    if (((set >> c) & 1) != 0) list += (list.empty() ? "" : ", ") + std::to_string(c + 1);
  return list;
}

std::string meterText(Meter m) { return std::to_string(m.numerator) + "/" + std::to_string(m.denominator); }

/// The tick from which tune and hand are over: the last note event or damper pedal. A key that is left down, --keep,
/// and gestures that keep the chord last until the file's end.
std::int64_t overAt(const MidiFile& file, const HearingOptions& options, std::int64_t end) {
  if (options.settings.keep || options.gestures.hold >= 0 || options.gestures.goOn >= 0 || options.gestures.round >= 0)
    return end;
  std::int64_t last = 0;
  std::array<int, 16 * limits::keys> down{};
  for (const MidiTrack& t : file.tracks)
    for (const MidiEvent& e : t.events) {
      const MidiMessage m = messageOf(file.bytesOf(e));
      const bool note = (m.bytes[0] & 0xE0) == 0x80;
      if (note || ((m.bytes[0] & 0xF0) == 0xB0 && m.bytes[1] == 64)) last = std::max(last, e.tick);
      if (note) down[(m.bytes[0] & 0x0Fu) * limits::keys + m.bytes[1]] += m.noteOff() ? -1 : 1;
    }
  return std::any_of(down.begin(), down.end(), [](int count) { return count > 0; }) ? end : last;
}

/// Are there notes where the hands were said to be? "" when so.
std::string checkHands(const MidiFile& file, const HearingOptions& options) {
  const std::uint16_t notes = channelsWithNotes(file);
  if (notes == 0) return options.input + ": has no notes";
  const Settings& s = options.settings;
  const auto asked = static_cast<std::uint16_t>(s.handRule == HandRule::byChannel ? s.chordChannels | s.melodyChannels
                                                                                  : s.chordChannels);
  if (options.handsAsGiven.empty()) {
    if ((notes & asked) == 0) return options.input + ": has notes on channel 10 (percussion) only";
    return {};
  }
  const auto missing = static_cast<std::uint16_t>(asked & ~notes);
  if (missing == 0) return {};
  return "--hands " + options.handsAsGiven + ": " + options.input + " has no notes on channel " +
         listOfChannels(missing) + " (it has them on " + listOfChannels(notes) + ")";
}

/// The file says a meter, or the user does. Else 4/4 is assumed (SMF 1.1).
bool meterKnown(const MidiFile& file, const TimeWishes& wishes) {
  if (wishes.otherMeter) return true;
  for (const MidiTrack& t : file.tracks)
    for (const MidiEvent& e : t.events)
      if (!metaContent(file.bytesOf(e), metaMeter).empty()) return true;
  return false;
}

/// Which idiom plays in which stretch, and on which channels. "" when every meter can be taken.
std::string planIdioms(Performance& p, const Idiom& asked, const HearingOptions& options) {
  const std::uint16_t used = channelsUsed(p.file);
  const std::string assumed =
      meterKnown(p.file, options.time) ? "" : " (the file names no meter, so 4/4 is assumed; --meter names another)";
  for (const TimePoint& point : p.time.points()) {
    const Meter meter = point.anchor.meter;
    if (!p.playing.empty() && p.playing.back().meter == meter) continue;
    const Idiom* plays = inMeter(asked, meter);
    if (plays == nullptr) {
      const std::string why =
          asked.id + " is in " + meterText(asked.meter) + " and names no idiom for " + meterText(meter);
      if (point.fileTick == 0 && p.time.points().back().anchor.meter == meter)
        return options.input + ": is in " + meterText(meter) + ", and " + why + assumed;
      p.remarks.push_back(why + ": the chords sound as they are held there" + assumed);
    } else if (plays != &asked) {
      p.remarks.push_back(asked.id + " is in " + meterText(asked.meter) + "; in " + meterText(meter) + " " + plays->id +
                          " is played instead" + assumed);
    }
    Playing playing{point.fileTick, plays, meter, channelsFor(plays != nullptr ? *plays : asked, used)};
    const auto& parts = (plays != nullptr ? *plays : asked).parts;
    for (std::size_t i = 0; i < parts.size(); ++i)
      if (((playing.channels.partsOff >> i) & 1) != 0 && parts[i].enabledByDefault)
        p.remarks.push_back("the file leaves no channel free for \"" + parts[i].name + "\": that part is left out");
    p.playing.push_back(playing);
  }
  std::sort(p.remarks.begin(), p.remarks.end());
  p.remarks.erase(std::unique(p.remarks.begin(), p.remarks.end()), p.remarks.end());
  return {};
}

/// Adds inputs in order of time and remembers where each came from.
class Stream {
 public:
  explicit Stream(Performance& p) : p_(p) {}
  void add(const Input& input, EventPlace place = {}) {
    p_.inputs.push_back(input);
    p_.places.push_back(place);
  }
  void reserve(std::size_t n) {
    p_.inputs.reserve(n);
    p_.places.reserve(n);
  }

 private:
  Performance& p_;
};

/// What the file says of its tempo, to start with. 120 is what a recorder writes of itself, so it says nothing.
std::uint16_t tempoSaid(const MidiFile& file) {
  for (const MidiTrack& t : file.tracks)
    for (const MidiEvent& e : t.events)
      if (const auto tempo = metaContent(file.bytesOf(e), metaTempo); tempo.size() >= 3) {
        const int us = (tempo[0] << 16) | (tempo[1] << 8) | tempo[2];
        const int said = us > 0 ? (60'000'000 + us / 2) / us : 0;
        return static_cast<std::uint16_t>(said >= 20 && said <= 400 && said != 120 ? said : 0);
      }
  return 0;
}

/// The hands' own clock: in the meter that is said, else guessed.
void followHands(FollowSettings& follow, const Performance& p, const TimeWishes& wishes) {
  follow.guessMeter = !meterKnown(p.file, wishes);
  follow.meter = p.time.points().front().anchor.meter;
  follow.tempo = tempoSaid(p.file);
}

Settings settingsFor(const HearingOptions& options, const PartChannels& channels, const Performance& p) {
  Settings s = options.settings;
  if (s.follow.on) followHands(s.follow, p, options.time);
  s.outputChannel = channels.channel;
  s.partsOff = static_cast<std::uint8_t>(s.partsOff | channels.partsOff);
  return s;
}

/// The gesture that a controller asks for as it goes down past the middle (64 and more is on: MIDI 1.0).
class GestureReader {
 public:
  explicit GestureReader(const GestureControllers& controllers)
      : controllers_{{{controllers.hold, Gesture::hold},
                      {controllers.goOn, Gesture::goOn},
                      {controllers.end, Gesture::end},
                      {controllers.turnaround, Gesture::turnaround},
                      {controllers.tag, Gesture::tag},
                      {controllers.round, Gesture::round}}} {}
  bool read(const MidiMessage& m, Gesture& gesture) {
    for (std::size_t i = 0; i < controllers_.size(); ++i) {
      if (controllers_[i].first < 0 || !m.controller(controllers_[i].first)) continue;
      const bool was = down_[i];
      down_[i] = m.bytes[2] >= 64;
      gesture = controllers_[i].second;
      return down_[i] && !was;
    }
    return false;
  }

 private:
  std::array<std::pair<int, Gesture>, 6> controllers_;
  std::array<bool, 6> down_{};
};

/// The asked idiom is sent once: the engine finds the member of its family for each meter by itself.
void layOutStream(Performance& p, const Idiom* asked, const HearingOptions& options) {
  const auto merged = mergedEvents(p.file);
  Stream stream(p);
  stream.reserve(merged.size() + p.time.points().size() + 4);
  GestureReader gestures(options.gestures);
  std::size_t nextPoint = 0;
  std::size_t nextPlaying = 0;
  const auto addTimeUntil = [&](std::int64_t tick) {
    for (; nextPoint < p.time.points().size() && p.time.points()[nextPoint].fileTick <= tick; ++nextPoint) {
      const TimePoint& point = p.time.points()[nextPoint];
      stream.add(Input::of(point.sample, point.anchor));
      const bool first = nextPoint == 0;
      const bool other = nextPlaying < p.playing.size() && p.playing[nextPlaying].fileTick <= point.fileTick;
      if (first || other)
        stream.add(
            Input::of(point.sample, settingsFor(options, other ? p.playing[nextPlaying].channels : PartChannels{}, p)));
      if (first && asked != nullptr) stream.add(Input::of(point.sample, IdiomRef{asked, 1}));
      if (other) ++nextPlaying;
      if (first && !p.chart.chords.empty())
        stream.add(Input::of(point.sample, ChartRef{p.chart.chords.data(), p.chart.chords.size()}));
    }
  };
  for (const Merged& m : merged) {
    addTimeUntil(m.tick);
    const MidiEvent& e = p.file.tracks[static_cast<std::size_t>(m.place.track)].events[m.place.event];
    const MidiMessage message = messageOf(p.file.bytesOf(e));
    const Samples sample = p.time.sampleOf(m.tick);
    stream.add(Input::of(sample, message), m.place);
    Gesture gesture{};
    if (gestures.read(message, gesture)) stream.add(Input::of(sample, gesture));
  }
  addTimeUntil(p.lastTick);
}

}  // namespace

Checked<std::unique_ptr<Performance>> prepare(const HearingOptions& options, const Idiom* idiom) {
  using Result = Checked<std::unique_ptr<Performance>>;
  Result result;
  auto file = readMidi(options.input);
  if (!file.good()) return {nullptr, file.fault};
  result.value = std::make_unique<Performance>();
  Performance& p = *result.value;
  p.file = std::move(file.value);
  for (const MidiTrack& t : p.file.tracks)
    if (!t.events.empty()) p.lastTick = std::max(p.lastTick, t.events.back().tick);
  p.over = overAt(p.file, options, p.lastTick);
  result.fault = checkHands(p.file, options);
  if (!result.good()) return result;
  const auto mapTime = [&](const TimeWishes& wishes) {
    auto time = TempoMap::of(p.file, wishes, options.rate);
    if (!time.good()) result.fault = options.input + ": " + time.fault;
    p.time = std::move(time.value);
    return result.good();
  };
  if (!mapTime(options.time)) return result;
  if (!options.chart.empty()) {
    auto chart = readChart(options.chart, p.time);
    if (!chart.good()) return {nullptr, chart.fault};
    p.chart = std::move(chart.value);
    if (p.chart.ownBars && !options.settings.follow.on && !options.pickupGiven && p.chart.pickup.value > 0) {
      TimeWishes wishes = options.time;  // the chart knows of a pickup: its first bar line is the file's
      wishes.pickup = p.chart.pickup;
      if (!mapTime(wishes)) return result;
    } else if (p.chart.ownBars) {
      // A followed clock begins with the first chord, on a bar line.
      const Ticks shift = (options.settings.follow.on ? Ticks{} : options.time.pickup) - p.chart.pickup;
      for (Expectation& e : p.chart.chords) e = {e.from + shift, e.to + shift, e.chord, e.hold, e.end};
    }
  }
  p.asked = idiom;
  p.follows = options.settings.follow.on;
  if (idiom != nullptr) result.fault = planIdioms(p, *idiom, options);
  if (result.good()) layOutStream(p, idiom, options);
  return result;
}

}  // namespace seguente
