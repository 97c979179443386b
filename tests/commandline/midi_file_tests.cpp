#include "plugin/commandline/midi_file.h"
#include "tests/catch.h"
#include "tests/commandline/midi_builder.h"

using namespace seguente;
using namespace seguente::test;

namespace {
Bytes eventBytes(const MidiFile& f, std::size_t track, std::size_t event) {
  const auto b = f.bytesOf(f.tracks[track].events[event]);
  return Bytes(b.begin(), b.end());
}
std::string faultOf(const Bytes& content) { return parseMidi(content).fault; }
bool contains(const std::string& text, const std::string& part) { return text.find(part) != std::string::npos; }
}  // namespace

TEST_CASE("a length of time is written in as few bytes as the standard's own table", "[commandline]") {
  // REFERENCES section 1: SMF 1.1's table, verified against another encoder.
  const std::pair<std::uint32_t, Bytes> table[] = {{0, {0x00}},
                                                   {0x7F, {0x7F}},
                                                   {0x80, {0x81, 0x00}},
                                                   {0x2000, {0xC0, 0x00}},
                                                   {0x3FFF, {0xFF, 0x7F}},
                                                   {0x4000, {0x81, 0x80, 0x00}},
                                                   {0xFFFFFFF, {0xFF, 0xFF, 0xFF, 0x7F}}};
  for (const auto& [value, bytes] : table) {
    Bytes written;
    appendVariableLength(written, value);
    CHECK(written == bytes);
    const Bytes file = midiFile(1, 480, {TrackBuilder().event(value, {0x90, 60, 1}).chunk()});
    CHECK(parseMidi(file).value.tracks.at(0).events.at(0).tick == value);
  }
}

TEST_CASE("running status is undone and every event keeps its tick and bytes", "[commandline]") {
  const auto file = parseMidi(twoBars(1, 480));
  REQUIRE(file.good());
  REQUIRE(file.value.tracks.size() == 3);
  CHECK(eventBytes(file.value, 0, 3) == Bytes{0xFF, 0x60, 0x80, 0x02, 0x55, 0x66});
  CHECK(eventBytes(file.value, 0, 4) == Bytes{0xF0, 0x04, 0x7E, 0x09, 0x01, 0xF7});
  CHECK(eventBytes(file.value, 1, 2) == Bytes{0x90, 72, 0});  // running, velocity 0
  CHECK(file.value.tracks[1].events[2].tick == 480);
  CHECK(eventBytes(file.value, 2, 5) == Bytes{0x81, 55, 33});
}

TEST_CASE("a file that is read and written has the same events at every resolution", "[commandline]") {
  for (const int format : {0, 1})
    for (const int resolution : {25, 96, 480, 600, 1000, 15360, 32767}) {
      INFO("format " << format << ", " << resolution << " ticks a quarter");
      const auto once = parseMidi(twoBars(format, resolution));
      REQUIRE(once.good());
      const auto twice = parseMidi(serializeMidi(once.value));
      REQUIRE(twice.good());
      CHECK(twice.value.format == format);
      CHECK(twice.value.resolution == resolution);
      REQUIRE(twice.value.tracks.size() == once.value.tracks.size());
      for (std::size_t t = 0; t < once.value.tracks.size(); ++t) {
        REQUIRE(twice.value.tracks[t].events.size() == once.value.tracks[t].events.size());
        for (std::size_t e = 0; e < once.value.tracks[t].events.size(); ++e) {
          CHECK(twice.value.tracks[t].events[e].tick == once.value.tracks[t].events[e].tick);
          CHECK(eventBytes(twice.value, t, e) == eventBytes(once.value, t, e));
        }
      }
      CHECK(serializeMidi(twice.value) == serializeMidi(once.value));
    }
}

TEST_CASE("unknown chunks are skipped and kept", "[commandline]") {
  Bytes other;
  append(other, "XXXX");
  appendNumber(other, 3, 4);
  append(other, {1, 2, 3});
  const auto file = parseMidi(midiFile(1, 96, {other, TrackBuilder().event(0, {0x90, 60, 1}).chunk()}, 1));
  REQUIRE(file.good());
  CHECK(file.value.tracks.size() == 1);
  const Bytes written = serializeMidi(file.value);
  CHECK(Bytes(written.end() - 11, written.end()) == other);
}

TEST_CASE("a rest longer than one length can say is kept by a silent event between", "[commandline]") {
  MidiFile file;
  const Bytes note{0x90, 60, 1};
  file.add(file.tracks.emplace_back(), 0x0FFFFFFF + std::int64_t{5}, note);
  const auto read = parseMidi(serializeMidi(file));
  REQUIRE(read.good());
  const auto& events = read.value.tracks[0].events;
  REQUIRE(events.size() == 3);
  CHECK(events[1].tick == 0x0FFFFFFF + std::int64_t{5});
  CHECK(eventBytes(read.value, 0, 1) == note);
}

TEST_CASE("a track without its end mark is read, and written with one", "[commandline]") {
  const auto file = parseMidi(midiFile(0, 96, {TrackBuilder().event(7, {0x90, 60, 1}).chunk(false)}));
  REQUIRE(file.good());
  CHECK(eventBytes(file.value, 0, 1) == Bytes{0xFF, 0x2F, 0x00});
}

TEST_CASE("what is no MIDI file, or half of one, is named in one clause", "[commandline]") {
  CHECK(faultOf({}) == "is not a MIDI file");
  CHECK(faultOf({'R', 'I', 'F', 'F', 0, 0, 0, 0}) == "is not a MIDI file");
  CHECK(contains(faultOf(midiFile(2, 480, {TrackBuilder().chunk()})), "format 2"));
  CHECK(contains(faultOf(midiFile(9, 480, {TrackBuilder().chunk()})), "format 9"));
  CHECK(contains(faultOf(midiFile(1, 0xE728, {TrackBuilder().chunk()})), "SMPTE"));
  CHECK(contains(faultOf(midiFile(1, 0, {TrackBuilder().chunk()})), "no ticks"));
  CHECK(contains(faultOf(midiFile(1, 480, {TrackBuilder().chunk()}, 2)), "cut short: 1 of 2"));
  CHECK(contains(faultOf(midiFile(0, 480, {TrackBuilder().event(0, {60, 1}).chunk()})), "without a status"));
  CHECK(contains(faultOf(midiFile(0, 480, {TrackBuilder().event(0, {0x90, 60, 0x90}).chunk()})), "damaged"));
  CHECK(contains(faultOf(midiFile(0, 480, {TrackBuilder().event(0, {0xF8}).chunk()})), "damaged"));
  const Bytes whole = twoBars(1, 480);
  for (std::size_t length = 0; length < whole.size(); ++length) {
    INFO("cut after " << length << " bytes");
    const std::string fault = faultOf(Bytes(whole.begin(), whole.begin() + static_cast<std::ptrdiff_t>(length)));
    CHECK((length < 4 ? fault == "is not a MIDI file" : contains(fault, "cut short")));
  }
}
