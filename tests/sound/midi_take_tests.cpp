// What a growing MIDI file promises: each state of it is a whole file, real time to half a tick, and the beats where
// the clock has them. Read back by the project's own reader, which is tested by itself (commandline).
#include <sys/stat.h>
#include <unistd.h>

#include <filesystem>
#include <fstream>

#include "plugin/commandline/midi_file.h"
#include "plugin/commandline/tempo_map.h"
#include "plugin/sound/midi_take.h"
#include "tests/catch.h"
#include "tests/plugin/own_files.h"

using namespace seguente;
using namespace seguente::test;

namespace {

constexpr double rate = 48000;

struct Note {
  std::int64_t tick = 0;
  int status = 0, key = 0;
};

struct ReadBack {
  MidiFile file;
  TempoMap map;
  std::vector<Note> notes;
  std::vector<std::int64_t> meters;  // ticks
};

ReadBack readBack(const std::string& path) {
  auto read = readMidi(path);
  INFO(read.fault);
  REQUIRE(read.good());
  ReadBack r;
  r.file = std::move(read.value);
  REQUIRE(r.file.tracks.size() == 1);
  auto map = TempoMap::of(r.file, {}, static_cast<std::int64_t>(rate));
  REQUIRE(map.good());
  r.map = std::move(map.value);
  for (const auto& e : r.file.tracks[0].events) {
    const auto bytes = r.file.bytesOf(e);
    if (bytes[0] < 0xF0) r.notes.push_back({e.tick, bytes[0], bytes[1]});
    if (metaContent(bytes, metaMeter).data() != nullptr) r.meters.push_back(e.tick);
  }
  return r;
}

EngineTime at(double quarters, double tempo, Meter meter = {4, 4}, bool playing = true) {
  EngineTime t;
  t.tick = {std::llround(quarters * static_cast<double>(quarter.value))};
  t.barStart = {t.tick.value / meter.bar().value * meter.bar().value};
  t.meter = meter;
  t.quartersPerMinute = tempo;
  t.playing = playing;
  return t;
}

}  // namespace

TEST_CASE("Notes stand on the beats of the clock and at their own time, over changes of tempo") {
  const OwnFiles folder("midi_take");
  const auto path = (folder.path / "a.mid").string();
  MidiTake take;
  REQUIRE(take.open(path, rate, "Performance").empty());
  take.time(0, at(0, 90, {3, 4}, false));
  take.time(31000, at(0, 90, {3, 4}));  // the clock starts
  // At 90 a quarter is 32,000 frames; after six of them 120: 24,000.
  std::vector<std::int64_t> frames;
  for (int i = 0; i < 12; ++i) {
    const auto frame = 31000 + (i < 6 ? i * 32000 : 6 * 32000 + (i - 6) * 24000);
    if (i == 6) take.time(frame, at(6, 120, {3, 4}));
    take.message(frame, {0x90, static_cast<std::uint8_t>(60 + i), 80});
    take.message(frame + 12000, {0x80, static_cast<std::uint8_t>(60 + i), 64});
    frames.push_back(frame);
  }
  CHECK(take.close(400000).empty());
  const auto r = readBack(path);
  REQUIRE(r.notes.size() == 24);
  REQUIRE(r.meters.size() == 2);
  for (std::size_t i = 0; i < 12; ++i) {
    CHECK(std::abs(r.map.sampleOf(r.notes[2 * i].tick).value - frames[i]) <= 17);  // half a tick at 90
    CHECK(std::abs(r.notes[2 * i].tick - r.meters[1] - static_cast<std::int64_t>(i) * 960) <= 1);
  }
}

TEST_CASE("A clock that is bent at every beat by the hands is followed in beats and in time, for ten minutes") {
  const OwnFiles folder("midi_take");
  const auto path = (folder.path / "a.mid").string();
  MidiTake take;
  REQUIRE(take.open(path, rate, "Performance").empty());
  // Told only at the next block of 512 after each beat, as the audio thread tells it.
  double frame = 0;
  std::vector<std::int64_t> frames;
  for (int beat = 0; beat < 1000; ++beat) {
    const double tempo = 100 + 12 * std::sin(beat * 0.7) + 5 * std::sin(beat * 2.3);
    const double perQuarter = rate * 60 / tempo;
    const auto told = static_cast<std::int64_t>(std::ceil(frame / 512) * 512);
    take.time(told, at(beat + (static_cast<double>(told) - frame) / perQuarter, tempo));
    const auto note = static_cast<std::int64_t>(std::llround(frame + perQuarter / 2));
    take.message(note, {0x90, 60, 80});
    take.message(note + 100, {0x80, 60, 64});
    frames.push_back(note);
    frame += perQuarter;
  }
  CHECK(take.close(static_cast<std::int64_t>(frame)).empty());
  const auto r = readBack(path);
  std::int64_t worstFrames = 0, worstTicks = 0;
  for (std::size_t i = 0; i < frames.size(); ++i) {
    worstFrames = std::max(worstFrames, std::abs(r.map.sampleOf(r.notes[2 * i].tick).value - frames[i]));
    worstTicks = std::max(worstTicks, std::abs(r.notes[2 * i].tick - (static_cast<std::int64_t>(i) * 960 + 480)));
  }
  CHECK(worstFrames <= 24);  // half a millisecond
  CHECK(worstTicks <= 10);   // a hundredth of a quarter
}

TEST_CASE("A jump of the clock goes on in the file, and its bar line stands where the clock has it") {
  const OwnFiles folder("midi_take");
  const auto path = (folder.path / "a.mid").string();
  MidiTake take;
  REQUIRE(take.open(path, rate, "Performance").empty());
  take.time(0, at(0, 120));
  take.message(24000, {0x90, 60, 80});
  take.time(36000, at(10.5, 120, {4, 4}));  // into the third bar: its end is 1.5 quarters away
  take.message(36000 + 36000, {0x80, 60, 64});
  CHECK(take.close(100000).empty());
  const auto r = readBack(path);
  REQUIRE(r.notes.size() == 2);
  CHECK(r.notes[1].tick == 2880);
  REQUIRE(r.meters.size() == 2);
  CHECK(r.meters[1] == 2880);
}

TEST_CASE("The file is whole after each flush, and between the two writings of one") {
  const OwnFiles folder("midi_take");
  const auto path = (folder.path / "a.mid").string();
  MidiTake take;
  REQUIRE(take.open(path, rate, "Performance").empty());
  CHECK(readBack(path).notes.empty());
  std::string before;
  const auto content = [&] {
    std::ifstream in(path, std::ios::binary);
    return std::string(std::istreambuf_iterator<char>(in), {});
  };
  for (std::size_t i = 1; i <= 5; ++i) {
    before = content();
    take.message(static_cast<std::int64_t>(i) * 24000, {0x90, 60, static_cast<std::uint8_t>(i % 2 * 80)});
    CHECK(take.flush().empty());
    CHECK(readBack(path).notes.size() == i);
    // The new events are there, the old length still stands.
    auto torn = content();
    torn.replace(18, 4, before.substr(18, 4));
    std::ofstream(folder.path / "torn.mid", std::ios::binary) << torn;
    CHECK(readBack((folder.path / "torn.mid").string()).notes.size() == i - 1);
  }
}

TEST_CASE("Keys that are down at the end are let go; a program has two bytes") {
  const OwnFiles folder("midi_take");
  const auto path = (folder.path / "a.mid").string();
  MidiTake take;
  REQUIRE(take.open(path, rate, "Performance").empty());
  take.message(0, {0xC3, 32, 99});
  take.message(10, {0x93, 60, 80});
  CHECK(take.close(48000).empty());
  const auto r = readBack(path);
  REQUIRE(r.notes.size() == 3);
  CHECK(r.file.bytesOf(r.file.tracks[0].events[r.file.tracks[0].events.size() - 2])[0] == 0x83);
  CHECK(r.map.sampleOf(r.notes[2].tick).value == Approx(48000).margin(25));
}

TEST_CASE("A file that is there is never written over") {
  const OwnFiles folder("midi_take");
  folder.path.string();
  std::ofstream(folder.path / "a.mid") << "mine";
  MidiTake take;
  CHECK_FALSE(take.open(folder.path / "a.mid", rate, "Performance").empty());
}
