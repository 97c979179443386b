// `seguente notate` as it is called: a file comes of a take, nothing is written over, each fault is one line.
#include "dsp/idiom_file.h"
#include "plugin/commandline/commands.h"
#include "tests/catch.h"
#include "tests/commandline/midi_builder.h"

using namespace seguente;
using namespace seguente::test;

namespace {

/// A march over C at 100, so many bars of 2/4, and what is held over it.
Bytes march(int bars, bool held) {
  TrackBuilder track;
  track.event(0, {0xFF, 0x51, 0x03, 0x09, 0x27, 0xC0}).event(0, {0xFF, 0x58, 0x04, 0x02, 0x02, 0x18, 0x08});
  const auto total = static_cast<std::uint32_t>(bars) * 960;
  if (held) track.event(0, {0x90, 72, 60}).event(0, {0x90, 76, 60}).event(0, {0x90, 79, 60});
  for (std::uint32_t bar = 0; bar < static_cast<std::uint32_t>(bars); ++bar)
    for (std::uint32_t half = 0; half < 2; ++half) {
      const auto at = bar * 960 + half * 480;
      const auto bass = static_cast<std::uint8_t>(half == 0 ? 36 : 43);
      track.event(at, {0x90, bass, 84}).event(at + 220, {0x80, bass, 0});
      track.event(at + 240, {0x90, 52, 66}).event(at + 240, {0x90, 55, 66});
      track.event(at + 400, {0x80, 52, 0}).event(at + 400, {0x80, 55, 0});
    }
  if (held) track.event(total, {0x80, 72, 0}).event(total, {0x80, 76, 0}).event(total, {0x80, 79, 0});
  return midiFile(0, 480, {track.chunk()});
}

std::string textOf(const std::string& path) {
  const Bytes b = Scratch::read(path);
  return {b.begin(), b.end()};
}

NotateWords words(const Scratch& s, const std::string& input, const std::string& output, const std::string& chord) {
  NotateWords w;
  w.input = input;
  w.output = s.path(output);
  w.chord = chord;
  return w;
}

}  // namespace

TEST_CASE("A march that is played in becomes a pattern file that is good", "[commandline][notate]") {
  const Scratch s;
  const auto take = s.write("take.mid", march(4, false));
  REQUIRE(commandNotate(words(s, take, "my-march.toml", "C")) == exitDone);
  const auto text = textOf(s.path("my-march.toml"));
  for (const char* row : {"part = \"bass\",   play = \"1\"", "{ beat = \"2 1/2\", ", "play = \"5\"", "play = \"C\""})
    CHECK(text.find(row) != std::string::npos);
  CHECK(text.find("id     = \"my-march\"") != std::string::npos);
  CHECK(text.find("title  = \"My march\"") != std::string::npos);
  CHECK(text.find("meter  = \"2/4\"") != std::string::npos);
  CHECK(commandCheck({s.path("my-march.toml")}, {{SEGUENTE_PATTERNS}}) == exitDone);
}

TEST_CASE("A chord that is held through the take need not be named", "[commandline][notate]") {
  const Scratch s;
  CHECK(commandNotate(words(s, s.write("a.mid", march(4, true)), "held.toml", "")) == exitDone);
  CHECK(commandNotate(words(s, s.write("b.mid", march(4, false)), "none.toml", "")) == exitBadInput);
}

TEST_CASE("Nothing is written over unless it is asked for", "[commandline][notate]") {
  const Scratch s;
  const auto take = s.write("take.mid", march(4, false));
  const auto there = s.write("there.toml", Bytes{'o', 'l', 'd'});
  auto w = words(s, take, "there.toml", "C");
  CHECK(commandNotate(w) == exitBadInput);
  CHECK(textOf(there) == "old");
  w.force = true;
  CHECK(commandNotate(w) == exitDone);
  CHECK(textOf(there) != "old");
}

TEST_CASE("Words that are off are refused before anything is read", "[commandline][notate]") {
  const Scratch s;
  const auto take = s.write("take.mid", march(4, false));
  CHECK(commandNotate(words(s, take, "My March.toml", "C")) == exitBadWords);
  CHECK(commandNotate(words(s, take, "march.txt", "C")) == exitBadWords);
  CHECK(commandNotate(words(s, take, "march.toml", "X")) == exitBadWords);
  CHECK(commandNotate(words(s, s.path("none.mid"), "march.toml", "C")) == exitBadInput);
  auto w = words(s, take, "march.toml", "C");
  w.meter = "3";
  CHECK(commandNotate(w) == exitBadWords);
  w.meter.clear();
  w.tempo = "fast";
  CHECK(commandNotate(w) == exitBadWords);
}
