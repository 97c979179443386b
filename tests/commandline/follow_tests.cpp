// A playing without a clock becomes a file with bars: the tempo map that was followed is written, and all sounds when
// it sounded.
#include <algorithm>
#include <cmath>
#include <map>

#include "dsp/idiom_file.h"
#include "plugin/commandline/render.h"
#include "tests/catch.h"
#include "tests/commandline/midi_builder.h"

using namespace seguente;
using namespace seguente::test;

namespace {

/// Bars of three, each a little slower than the last, as a recorder without a metronome writes them: 480 ticks a
/// quarter at 120, so 960 ticks a second. `head`: further events at its beginning.
Bytes freePlaying(int bars, const std::vector<Bytes>& head = {}) {
  struct At {
    double seconds;
    Bytes bytes;
  };
  std::vector<At> events;
  const auto note = [&](std::uint8_t key, double from, double to) {
    events.push_back({from, {0x90, key, 70}});
    events.push_back({to, {0x80, key, 64}});
  };
  double bar = 0.4, beat = 0.5;
  for (int b = 0; b < bars; ++b, bar += 3 * beat, beat *= 1.015) {
    for (const int key : {48, 52, 55})
      note(static_cast<std::uint8_t>(key + (b % 2 == 0 ? 0 : -1)), bar, bar + 2.7 * beat);
    for (int k = 0; k < 3; ++k)
      note(static_cast<std::uint8_t>(72 + 2 * ((b + k) % 4)), bar + k * beat, bar + (k + 0.9) * beat);
  }
  std::stable_sort(events.begin(), events.end(), [](const At& a, const At& b) { return a.seconds < b.seconds; });
  TrackBuilder track;
  for (const Bytes& h : head) track.event(0, h);
  for (const At& e : events) track.event(static_cast<std::uint32_t>(std::lround(e.seconds * 960)), e.bytes);
  return midiFile(0, 480, {track.chunk()});
}

struct Written {
  MidiFile file;
  Rendering rendering;
};

Written follow(const Bytes& midi, HearingOptions options = {}) {
  static IdiomLibrary library({SEGUENTE_PATTERNS});
  const Scratch scratch;
  std::vector<Fault> faults;
  options.input = scratch.write("in.mid", midi);
  options.settings.follow.on = true;
  auto p = prepare(options, library.find("waltz", faults));
  INFO(p.fault);
  REQUIRE(p.good());
  Written w;
  w.rendering = render(*p.value, options.rate, options.block);
  w.file = parseMidi(serializeMidi(arrangedFile(*p.value, w.rendering, options.time))).value;
  return w;
}

/// Slow and obvious: seconds of each event of a track by the tempo events of the first.
std::vector<std::pair<double, Bytes>> inSeconds(const MidiFile& file, std::size_t track) {
  std::vector<std::pair<double, Bytes>> out;
  for (const MidiEvent& e : file.tracks[track].events) {
    double seconds = 0, perTick = 0.5 / file.resolution;
    std::int64_t at = 0;
    for (const MidiEvent& t : file.tracks[0].events) {
      const auto tempo = metaContent(file.bytesOf(t), metaTempo);
      if (tempo.size() < 3 || t.tick > e.tick) continue;
      seconds += static_cast<double>(t.tick - at) * perTick;
      at = t.tick;
      perTick = ((tempo[0] << 16) | (tempo[1] << 8) | tempo[2]) / 1e6 / file.resolution;
    }
    const auto b = file.bytesOf(e);
    out.emplace_back(seconds + static_cast<double>(e.tick - at) * perTick, Bytes(b.begin(), b.end()));
  }
  return out;
}

std::vector<std::pair<std::int64_t, Meter>> metersOf(const MidiFile& file) {
  std::vector<std::pair<std::int64_t, Meter>> meters;
  for (const MidiEvent& e : file.tracks[0].events)
    if (const auto m = metaContent(file.bytesOf(e), metaMeter); m.size() >= 2)
      meters.emplace_back(e.tick, Meter{m[0], static_cast<std::uint8_t>(1 << m[1])});
  return meters;
}

}  // namespace

TEST_CASE("With --tempo follow the tempo map that was followed is written, and the tune sounds when it was played",
          "[commandline][follow]") {
  const auto midi = freePlaying(12, {{0xFF, 0x58, 4, 3, 2, 24, 8}});
  const auto w = follow(midi);
  const auto before = inSeconds(parseMidi(midi).value, 0), after = inSeconds(w.file, 0);
  std::vector<std::pair<double, Bytes>> tune, same;
  for (const auto& [at, b] : before)
    if ((b[0] & 0xE0) == 0x80 && b[1] >= 60) tune.emplace_back(at, b);
  for (const auto& [at, b] : after)
    if ((b[0] & 0xE0) == 0x80) same.emplace_back(at, b);
  REQUIRE(tune.size() == same.size());
  for (std::size_t i = 0; i < tune.size(); ++i) {
    CHECK(tune[i].second == same[i].second);
    CHECK(std::abs(tune[i].first - same[i].first) < 0.001);
  }
  std::vector<double> tempi;
  for (const MidiEvent& e : w.file.tracks[0].events)
    if (const auto t = metaContent(w.file.bytesOf(e), metaTempo); t.size() >= 3)
      tempi.push_back(60e6 / ((t[0] << 16) | (t[1] << 8) | t[2]));
  REQUIRE(tempi.size() > 12);
  // The twelfth bar is played at 120 / 1.015^11 = 102.
  CHECK(tempi[tempi.size() - 3] > 98);
  CHECK(tempi[tempi.size() - 3] < 106);
}

TEST_CASE("In the written file the chords stand on bar lines, whatever the tempo did", "[commandline][follow]") {
  const auto w = follow(freePlaying(12, {{0xFF, 0x58, 4, 3, 2, 24, 8}}));
  const auto meters = metersOf(w.file);
  REQUIRE(!meters.empty());
  const auto firstBar = meters.back().first;  // what led in stands before it
  CHECK(meters.back().second == Meter{3, 4});
  REQUIRE(w.rendering.chords.size() == 12);
  for (std::size_t i = 2; i < 12; ++i) {
    const auto tick = w.rendering.chords[i].from.value * w.file.resolution / quarter.value;
    INFO("chord " << i + 1);
    CHECK(std::abs(tick - firstBar - static_cast<std::int64_t>(i) * 3 * w.file.resolution) <= 1);
  }
}

TEST_CASE("Where no meter is said and three is heard, three is written", "[commandline][follow]") {
  const auto meters = metersOf(follow(freePlaying(16)).file);
  REQUIRE(!meters.empty());
  CHECK(meters.back().second == Meter{3, 4});
}

TEST_CASE("Blocks change nothing of what is followed and written", "[commandline][follow]") {
  const auto midi = freePlaying(8);
  const auto once = serializeMidi(follow(midi).file);
  for (const std::size_t block : {7UL, 64UL, 8193UL}) {
    HearingOptions options;
    options.block = block;
    CHECK(serializeMidi(follow(midi, options).file) == once);
  }
}
