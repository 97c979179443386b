#include <pugixml.hpp>
#include <set>

#include "dsp/idiom_file.h"
#include "plugin/commandline/picture.h"
#include "tests/catch.h"
#include "tests/commandline/midi_builder.h"

using namespace seguente;
using namespace seguente::test;

namespace {

std::unique_ptr<Performance> prepared(const std::vector<std::uint8_t>& midi, const char* idiom,
                                      const Scratch& scratch) {
  static IdiomLibrary library({SEGUENTE_PATTERNS});
  std::vector<Fault> faults;
  HearingOptions options;
  options.input = scratch.write("in.mid", midi);
  auto p = prepare(options, library.find(idiom, faults));
  REQUIRE(p.good());
  return std::move(p.value);
}

std::string textsOf(const pugi::xml_document& svg) {
  std::string words = "|";
  for (const auto text : svg.child("svg").children("text")) words += std::string(text.child_value()) + "|";
  return words;
}

std::size_t countOf(const pugi::xml_document& svg, const std::set<std::string>& glyphs) {
  std::size_t count = 0;
  for (const auto use : svg.child("svg").children("use")) count += glyphs.count(use.attribute("href").value() + 1);
  return count;
}

}  // namespace

TEST_CASE("a picture is good XML with every note of the tune and of ours on two staves", "[commandline]") {
  const Scratch scratch;
  const auto p = prepared(twoBars(1, 480), "rocking-bass", scratch);
  const auto r = render(*p, 48000, 0);
  const auto bars = scoreOf(*p, r, 8);
  std::size_t tune = 0, ours = 0, sounded = 0;
  for (const page::Bar& bar : bars)
    for (const page::Staff& staff : bar.staves)
      for (const page::Voice& voice : staff.voices)
        for (const page::Event& event : voice.events)
          for (const page::Note& note : event.notes) {
            if (note.tiedIn) continue;
            (note.source == page::Source::melody ? tune : ours) += 1;
          }
  for (const OurEvent& e : r.ours) sounded += e.kind == OutputKind::noteOn ? 1 : 0;
  CHECK(tune == 4);
  CHECK(ours == sounded);
  pugi::xml_document svg;
  REQUIRE(svg.load_string(drawPicture(*p, r).c_str()));
  // Heads on paper: those of both staves, and the one that says the tempo.
  CHECK(countOf(svg, {"black", "half", "whole"}) == tune + ours + 1);
  CHECK(countOf(svg, {"treble"}) == 1);
  CHECK(countOf(svg, {"bass"}) == 1);
  const std::string words = textsOf(svg);
  for (const char* word : {"|C|", "|G7|", "|V7|", "|melody|", "|accompaniment|", "|Rocking bass|", "|4|", "|= 120|"}) {
    INFO(word << " in " << words);
    CHECK(words.find(word) != std::string::npos);
  }
}

TEST_CASE("a printed page is black: colour belongs to what sounds", "[commandline]") {
  const Scratch scratch;
  const auto p = prepared(twoBars(1, 480), "rocking-bass", scratch);
  const std::string svg = drawPicture(*p, render(*p, 48000, 0));
  CHECK(svg.find("#0072B2") == std::string::npos);
  CHECK(svg.find("#D55E00") == std::string::npos);
}

TEST_CASE("the last note of a piece has its own flag, and a rest after it", "[commandline]") {
  const Scratch scratch;
  TrackBuilder track;
  addHead(track);
  track.event(0, {0x90, 48, 70}).event(0, {52, 70}).event(0, {55, 70});
  track.event(1440, {0x90, 72, 80}).event(1680, {72, 0});  // an eighth on four
  track.event(1920, {48, 0}).event(1920, {52, 0}).event(1920, {55, 0});
  const auto p = prepared(midiFile(0, 480, {track.chunk()}), "held-chords", scratch);
  pugi::xml_document svg;
  REQUIRE(svg.load_string(drawPicture(*p, render(*p, 48000, 0)).c_str()));
  CHECK(countOf(svg, {"flagup", "flagdown"}) == 1);
  CHECK(countOf(svg, {"resteighth"}) == 1);
}

TEST_CASE("a long piece is drawn as far as a picture goes, and says so", "[commandline]") {
  const Scratch scratch;
  TrackBuilder track;
  addHead(track);
  for (int bar = 0; bar < 40; ++bar) {
    const int at = 1920 * bar;
    track.event(at, {0x90, 48, 70}).event(at, {52, 70}).event(at, {55, 70}).event(at, {72, 80});
    track.event(at + 1900, {48, 0}).event(at + 1900, {52, 0}).event(at + 1900, {55, 0}).event(at + 1900, {72, 0});
  }
  const auto p = prepared(midiFile(0, 480, {track.chunk()}), "broken-bass", scratch);
  pugi::xml_document svg;
  REQUIRE(svg.load_string(drawPicture(*p, render(*p, 48000, 0)).c_str()));
  CHECK(textsOf(svg).find("|the first 24 of 40 bars|") != std::string::npos);
}
