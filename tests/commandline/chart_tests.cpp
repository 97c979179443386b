#include <nlohmann/json.hpp>

#include "dsp/harmony.h"
#include "plugin/commandline/chart_file.h"
#include "tests/catch.h"
#include "tests/commandline/midi_builder.h"

using namespace seguente;
using namespace seguente::test;

namespace {

TempoMap inThree() {
  const auto file = parseMidi(midiFile(0, 480, {TrackBuilder().event(0, {0xFF, 0x58, 4, 3, 2, 24, 8}).chunk()}));
  TimeWishes wishes;
  wishes.pickup = quarter;
  return TempoMap::of(file.value, wishes, 48000).value;
}

Checked<Chart> text(std::string_view t) {
  const auto bars = parseChartText(t);
  return bars.good() ? layOver(bars.value, inThree()) : bad<Chart>(bars.fault);
}

/// "3/2" as a count of quarter notes.
Ticks ticksOf(const std::string& fraction) {
  const auto slash = fraction.find('/');
  const std::int64_t n = std::stoll(fraction);
  return {quarter.value * n / (slash == std::string::npos ? 1 : std::stoll(fraction.substr(slash + 1)))};
}

std::string readAll(const std::string& path) {
  const Bytes b = Scratch::read(path);
  return std::string(b.begin(), b.end());
}

}  // namespace

TEST_CASE("a bar of the chart is a bar of the piece, and its chords share it evenly", "[commandline]") {
  const auto chart = text("| C | F G | C |");
  REQUIRE(chart.good());
  REQUIRE(chart.value.chords.size() == 4);
  CHECK(chart.value.chords[0].from == quarter);  // after the pickup
  CHECK(chart.value.chords[1].from == quarter * 4);
  CHECK(chart.value.chords[2].from.value == quarter.value * 11 / 2);  // half of three
  CHECK(chart.value.chords[3].to == quarter * 10);
  CHECK(chart.value.symbols == std::vector<std::string>{"C", "F", "G", "C"});
  CHECK(chart.value.chords[2].chord.root == PitchClass{7});
}

TEST_CASE("a percent sign repeats the bar, a stroke holds the chord on", "[commandline]") {
  const auto chart = text("C | % | F / G |\n| N.C. | C");
  REQUIRE(chart.good());
  REQUIRE(chart.value.chords.size() == 5);
  CHECK(chart.value.chords[1].from == quarter * 4);
  CHECK(chart.value.chords[2].from == quarter * 7);
  CHECK(chart.value.chords[2].to == quarter * 9);  // two of three shares
  CHECK(chart.value.chords[4].from == quarter * 13);
}

TEST_CASE("a fermata holds and fine ends, before or after the symbol", "[commandline]") {
  const auto chart = text("| C !fermata! F | G!fermata! | C !fine! |  # the end");
  REQUIRE(chart.good());
  REQUIRE(chart.value.chords.size() == 4);
  CHECK(!chart.value.chords[0].hold);
  CHECK(chart.value.chords[1].hold);
  CHECK(chart.value.chords[2].hold);
  CHECK(chart.value.chords[3].end);
  CHECK(!chart.value.chords[3].hold);
}

TEST_CASE("a turnaround is marked where it begins; from a tag on all is played once more, and fine comes last",
          "[commandline]") {
  const auto chart = text("| C | F | !tag! Dm | G | C !fine! | !turnaround! C | % |");
  REQUIRE(chart.good());
  std::string roots;
  for (const auto& c : chart.value.chords) roots += nameOf(c.chord.rootSpelling).view();
  CHECK(roots == "CFDGCDGCCC");
  for (std::size_t i = 0; i < chart.value.chords.size(); ++i) {
    CHECK(chart.value.chords[i].end == (i == 7));
    CHECK(chart.value.chords[i].turnaround == (i == 8));
  }
  const auto whole = text("| C | !tag! G | C |");
  REQUIRE(whole.good());
  CHECK(whole.value.chords.size() == 5);
}

TEST_CASE("a sharp is not taken for a remark", "[commandline]") {
  const auto chart = text("| F#m7b5 | # only this is one\n| C#/E# |");
  REQUIRE(chart.good());
  CHECK(chart.value.chords.size() == 2);
}

TEST_CASE("what is no chart says where", "[commandline]") {
  const std::pair<const char*, const char*> table[] = {
      {"| C | H7 |", "1:7: \"H7\" is no chord symbol"},
      {"\n% |", "2:1: % repeats the bar before, and there is none"},
      {"| / C |", "1:3: / holds on the chord before it, and there is none"},
      {"| C |x1 G |", "1:6: \"x1\" is no chord symbol"},
      {"C !forte! |", "1:3: expected !fermata!, !fine!, !turnaround! or !tag!, found !forte!"},
      {" ", "1:1: no chords, e.g. | C | F G | C |"}};
  for (const auto& [chart, fault] : table) CHECK(text(chart).fault == fault);
}

TEST_CASE("chords of every reference tune stand where its facts say", "[commandline]") {
  // tests/reference/tunes/tunes.json: two independent parsers agree on these.
  const std::string folder = SEGUENTE_TEST_REFERENCE "/tunes/";
  const auto facts = nlohmann::json::parse(readAll(folder + "tunes.json"));
  REQUIRE(facts.size() == 27);
  for (const auto& tune : facts) {
    INFO(tune["file"].get<std::string>());
    const auto chart = parseAbcChart(readAll(folder + tune["file"].get<std::string>()));
    INFO(chart.fault);
    REQUIRE(chart.good());
    CHECK(chart.value.pickup == ticksOf(tune["pickup_quarters"]));
    REQUIRE(chart.value.chords.size() == tune["chords"].size());
    for (std::size_t i = 0; i < chart.value.chords.size(); ++i) {
      const auto& expected = tune["chords"][i];
      INFO("chord " << i << ", " << expected.dump());
      const Expectation& e = chart.value.chords[i];
      CHECK(chart.value.symbols[i] == expected[2].get<std::string>());
      CHECK(e.from == ticksOf(expected[0]));
      CHECK(e.to - e.from == ticksOf(expected[1]));
      CHECK(e.chord == *parseSymbol(expected[2].get<std::string>()));
    }
  }
}

TEST_CASE("broken rhythm, tuplets, rests and chords of notes take the time they say", "[commandline]") {
  // ABC 2.1, sections 4.4, 4.5, 4.13, 4.17.
  const auto chart = parseAbcChart("X:1\nM:4/4\nL:1/8\nK:C\n\"C\"c>d e<f (3gab c2|\"F\"[CEG]4 \"G\"z2 Z|\"C\"c2\n");
  REQUIRE(chart.good());
  REQUIRE(chart.value.chords.size() == 4);
  CHECK(chart.value.chords[1].from == quarter * 4);
  CHECK(chart.value.chords[2].from == quarter * 6);
  CHECK(chart.value.chords[3].from == quarter * 11);
}

TEST_CASE("a broken rhythm's sign away from its note moves nothing back", "[commandline]") {
  const auto chart = parseAbcChart("X:1\nM:4/4\nL:1/4\nK:C\n\"C\"c\"F\"<d2|\"G\">e\n");  // found by a fuzzer
  REQUIRE(chart.good());
  CHECK(chart.value.chords[1].from == quarter);
  CHECK(chart.value.chords[1].from <= chart.value.chords[2].from);
}

TEST_CASE("marks in ABC belong to the chord over their note", "[commandline]") {
  const auto chart = parseAbcChart("X:1\nM:4/4\nL:1/4\nK:C\n\"C\"cd\"F\"!fermata!e2|\"G\"d4|\"C\"!fine!c4|]\n");
  REQUIRE(chart.good());
  CHECK(chart.value.chords[1].hold);
  CHECK(!chart.value.chords[0].hold);
  CHECK(chart.value.chords[3].end);
}

TEST_CASE("what ABC has beyond a chart is refused aloud", "[commandline]") {
  const std::string head = "X:1\nM:4/4\nL:1/4\nK:C\n";
  CHECK(parseAbcChart(head + "\"H\"c4").fault == "5: \"H\" is no chord symbol");
  CHECK(parseAbcChart(head + "c4").fault == "1: no chord symbols, e.g. \"G7\" before a note");
  CHECK(parseAbcChart(head + "V:1\n\"C\"c4\nV:2\nc4").fault ==
        "7: several voices (V:) are not read: give the chart alone");
}

namespace {
std::string rootsOf(const Checked<Chart>& chart) {
  std::string roots = chart.fault;
  for (const auto& symbol : chart.value.symbols) roots += (roots.empty() ? "" : " ") + symbol;
  return roots;
}
}  // namespace

TEST_CASE("repeats and endings are played out", "[commandline]") {
  // ABC 2.1, sections 4.8 and 4.9; the same signs in a text.
  const std::pair<const char*, const char*> table[] = {{"|: C | F :| G |", "C F C F G"},
                                                       {"C | F :| G |", "C F C F G"},
                                                       {"|: C |1 F :|2 G | Am |", "C F C G Am"},
                                                       {"|: C :: F :|", "C C F F"},
                                                       {"|: C ::| F |", "C C C F"},
                                                       {"|: C |1,2 F :|3 G || Am |", "C F C F C G Am"},
                                                       {"Dm |: C |1 F :|2 G |: Am :|", "Dm C F C G Am Am"}};
  for (const auto& [chart, played] : table) {
    INFO(chart);
    CHECK(rootsOf(text(chart)) == played);
  }
  const std::string head = "X:1\nM:4/4\nL:1/4\nK:C\n";
  const auto abc = [&](const char* body) { return parseAbcChart(head + body); };
  CHECK(rootsOf(abc("|:\"C\"c4|\"F\"c4:|\"G\"c4|]")) == "C F C F G");
  CHECK(rootsOf(abc("|:\"C\"c4|1\"F\"c4:|2\"G\"c4|\"Am\"c4|]")) == "C F C G Am");
  CHECK(rootsOf(abc("|:\"C\"c4|[1\"F\"c4:|[2\"G\"c4|]\"Am\"c4|]")) == "C F C G Am");
  CHECK(rootsOf(abc("\"C\"c4|!fine!\"F\"c4|\"G\"c4!D.C.!|]")) == "C F G C F");
  const auto chart = abc("|:\"C\"c4|\"F\"c4:|\"G\"c4|]");
  CHECK(chart.value.chords[2].from == quarter * 8);
  CHECK(chart.value.chords[4].to == quarter * 20);
}

TEST_CASE("fine in a repeated part is where it is reached the last time", "[commandline]") {
  const auto chart = parseAbcChart("X:1\nM:4/4\nL:1/4\nK:C\n|:\"C\"c4|\"F\"!fine!c4:|\n");
  REQUIRE(chart.good());
  REQUIRE(chart.value.chords.size() == 4);
  CHECK(!chart.value.chords[1].end);
  CHECK(chart.value.chords[3].end);
}

TEST_CASE("a chord that is held over a repeat sign is one chord only where the music goes on", "[commandline]") {
  const auto chart = parseAbcChart("X:1\nM:4/4\nL:1/4\nK:C\n\"C\"c4|:c4|\"F\"c4:|\n");
  REQUIRE(chart.good());
  REQUIRE(chart.value.chords.size() == 4);  // C over two bars, F, C again, F
  CHECK(chart.value.chords[0].to == quarter * 8);
  CHECK(chart.value.chords[2].from == quarter * 12);
  CHECK(chart.value.chords[2].to == quarter * 16);
}

TEST_CASE("MusicXML repeats, endings and da capo are played out", "[commandline]") {
  const auto bar = [](const char* root, const char* left, const char* right) {
    return std::string("<measure number=\"1\">") + left + "<harmony><root><root-step>" + root +
           "</root-step></root><kind>major</kind></harmony><note><rest/><duration>4</duration></note>" + right +
           "</measure>";
  };
  const auto read = [](const std::string& measures) {
    return rootsOf(parseMusicXmlChart("<score-partwise><part id=\"P1\">" + measures + "</part></score-partwise>"));
  };
  const char* forward = "<barline location=\"left\"><repeat direction=\"forward\"/></barline>";
  const char* backward = "<barline location=\"right\"><repeat direction=\"backward\"/></barline>";
  const char* first = "<barline location=\"left\"><ending number=\"1\" type=\"start\"/></barline>";
  const char* firstEnds =
      "<barline location=\"right\"><ending number=\"1\" type=\"stop\"/><repeat direction=\"backward\"/></barline>";
  const char* second = "<barline location=\"left\"><ending number=\"2\" type=\"start\"/></barline>";
  const char* secondEnds = "<barline location=\"right\"><ending number=\"2\" type=\"discontinue\"/></barline>";
  CHECK(read(bar("D", "", "") + bar("C", forward, "") + bar("F", "", backward) + bar("G", "", "")) == "D C F C F G");
  CHECK(read(bar("C", forward, "") + bar("F", first, firstEnds) + bar("G", second, secondEnds) + bar("A", "", "")) ==
        "C F C G A");
  CHECK(read(bar("C", "", "<sound fine=\"yes\"/>") + bar("F", "", "<sound dacapo=\"yes\"/>")) == "C F C");
}

TEST_CASE("MusicXML harmony stands at its measure, note and offset", "[commandline]") {
  // Elements as in tests/reference of the MusicXML 4.0 schema: kind values, degrees, divisions, implicit first measure.
  const auto harmony = [](const char* root, const char* alter, const char* kind, const char* more) {
    return std::string("<harmony><root><root-step>") + root + "</root-step><root-alter>" + alter +
           "</root-alter></root><kind>" + kind + "</kind>" + more + "</harmony>";
  };
  const std::string note = "<note><rest/><duration>6</duration></note>";
  const std::string score =
      "<?xml version=\"1.0\"?><!DOCTYPE score-partwise PUBLIC \"-//Recordare//DTD MusicXML 4.0 Partwise//EN\" "
      "\"http://www.musicxml.org/dtds/partwise.dtd\"><score-partwise><part id=\"P1\"><measure number=\"0\" "
      "implicit=\"yes\"><attributes>"
      "<divisions>6</divisions><time><beats>3</beats><beat-type>4</beat-type></time></attributes>" +
      note + "</measure><measure number=\"1\">" +
      harmony("F", "1", "half-diminished", "<bass><bass-step>C</bass-step></bass>") + note + note +
      harmony("B", "-1", "dominant",
              "<degree><degree-value>9</degree-value><degree-alter>-1</degree-alter><degree-type>add</degree-type></"
              "degree><offset>3</offset>") +
      note + "</measure><measure number=\"2\">" +
      harmony("C", "0", "suspended-fourth",
              "<degree><degree-value>7</degree-value><degree-alter>-1</degree-alter><degree-type>add</degree-type></"
              "degree>") +
      "<note><rest/><duration>18</duration><notations><fermata/></notations></note></measure></part></score-partwise>";
  const auto chart = parseMusicXmlChart(score);
  INFO(chart.fault);
  REQUIRE(chart.good());
  CHECK(chart.value.pickup == quarter);
  CHECK(chart.value.symbols == std::vector<std::string>{"F#m7b5/C", "Bb7b9", "C7sus4"});
  CHECK(chart.value.chords[0].from == quarter);
  CHECK(chart.value.chords[1].from.value == quarter.value * 7 / 2);
  CHECK(chart.value.chords[2].from == quarter * 4);
  CHECK(chart.value.chords[2].to == quarter * 7);
  CHECK(chart.value.chords[2].hold);
  CHECK(!chart.value.chords[1].hold);
}

TEST_CASE("every kind of MusicXML that has a name of ours is read as that chord type", "[commandline]") {
  // REFERENCES section 2: the schema's enumeration, without the ones that name a function.
  const char* kinds[] = {"major",
                         "minor",
                         "augmented",
                         "diminished",
                         "dominant",
                         "major-seventh",
                         "minor-seventh",
                         "diminished-seventh",
                         "augmented-seventh",
                         "half-diminished",
                         "major-minor",
                         "major-sixth",
                         "minor-sixth",
                         "dominant-ninth",
                         "major-ninth",
                         "minor-ninth",
                         "dominant-11th",
                         "minor-11th",
                         "dominant-13th",
                         "major-13th",
                         "minor-13th",
                         "suspended-second",
                         "suspended-fourth",
                         "power"};
  for (const std::string kind : kinds) {
    INFO(kind);
    const auto chart = parseMusicXmlChart(
        "<score-partwise><part id=\"P1\"><measure number=\"1\"><harmony><root><root-step>E</root-step></root><kind>" +
        kind + "</kind></harmony><note><rest/><duration>4</duration></note></measure></part></score-partwise>");
    INFO(chart.fault);
    REQUIRE(chart.good());
    CHECK(std::string(qualityOf(chart.value.chords.at(0).chord)) == kind);
  }
}
