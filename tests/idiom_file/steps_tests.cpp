// The small languages of a pattern file: fractions, meters, notes, what a step plays; and what they compile to.
#include <string>

#include "dsp/idiom_file.h"
#include "dsp/idiom_steps.h"
#include "tests/catch.h"
#include "tests/idiom_file/good_file.h"

using namespace seguente;

namespace {

std::string readAs(std::string_view text) {
  const auto fraction = parseFraction(text);
  return fraction ? std::to_string(fraction->numerator) + "/" + std::to_string(fraction->denominator) : "none";
}

RowPlay played(std::string_view text) {
  std::string expected;
  const auto play = parsePlay(text, PartKind::chords, expected);
  REQUIRE(play.has_value());
  return *play;
}

}  // namespace

TEST_CASE("Beats are read as exact fractions, the way they are counted aloud", "[idiom_file]") {
  CHECK(readAs("3") == "3/1");
  CHECK(readAs("5/2") == "5/2");
  CHECK(readAs("2 1/2") == "5/2");
  CHECK(readAs(" 2  1/3 ") == "7/3");
  for (const auto* wrong :
       {"", " ", "1.5", "1/0", "-1", "+1", "1/2/3", "1 2", "1 3/2", "1/", "/2", "99999", "1 /", "a"})
    CHECK(readAs(wrong) == "none");
}

TEST_CASE("A decimal is answered with the fraction that was probably meant", "[idiom_file]") {
  CHECK(fractionLike(1.5) == "1 1/2");
  CHECK(fractionLike(0.33) == "1/3");
  CHECK(fractionLike(2.667) == "2 2/3");
  CHECK(fractionLike(0.75) == "3/4");
  CHECK(fractionLike(0.2) == "1/5");
  CHECK(fractionLike(4.0) == "4");
}

TEST_CASE("Ticks hold halves, thirds, fifths, sevenths and ninths of a beat exactly, and nothing by rounding",
          "[idiom_file]") {
  // 322,560 = 2^10 * 3^2 * 5 * 7 (time.h)
  for (const int below : {2, 3, 4, 5, 6, 7, 8, 9, 12, 16, 32, 64})
    CHECK(ticksOf({1, below}, quarter)->value * below == quarter.value);
  CHECK_FALSE(ticksOf({1, 11}, quarter).has_value());
  CHECK_FALSE(ticksOf({1, 27}, quarter).has_value());
  CHECK(ticksOf({22, 11}, quarter) == quarter * 2);
}

TEST_CASE("A beat is the meter's lower number: six eighths in 6/8, two halves in 2/2", "[idiom_file]") {
  for (const auto& [meter, end, last] :
       {std::tuple("6/8", "\"6 1/2\"", 11), std::tuple("2/2", "\"2 1/2\"", 12), std::tuple("4/4", "\"4 1/2\"", 14)}) {
    const auto text =
        std::string("format=1\nid=\"x\"\ntitle=\"X\"\nabout=\"x\"\nmeter=\"") + meter +
        "\"\ntempo=[60,90]\n[parts.b]\nkind=\"bass\"\nregister=[\"C2\",\"C3\"]\n[lean]\nstatement=[{beat=" + end +
        ",length=\"1/2\",part=\"b\",play=1}]\n";
    const auto result = compileIdiom(text, "x");
    INFO(meter);
    REQUIRE(result.idiom != nullptr);
    CHECK(result.idiom->steps[0].at.value * 4 == quarter.value * last);  // in sixteenths: 11, 12 and 14 of the bar
  }
}

TEST_CASE("Notes are named with middle C as C4", "[idiom_file]") {
  CHECK(parseNoteName("C4")->value == 60);  // MIDI 1.0 by REFERENCES: A4 = 69
  CHECK(parseNoteName("A4")->value == 69);
  CHECK(parseNoteName("F#3")->value == 54);
  CHECK(parseNoteName("Bb1")->value == 34);
  CHECK(parseNoteName("C-1")->value == 0);
  CHECK(parseNoteName("G9")->value == 127);
  for (const auto* wrong : {"", "H2", "c4", "G#9", "Cb-1", "C", "C10", "C#", "4"})
    CHECK_FALSE(parseNoteName(wrong).has_value());
}

TEST_CASE("A step plays degrees, the chord's upper notes, what leads on, or the hand's own keys", "[idiom_file]") {
  const auto fifth = played("1+5").play;
  CHECK(fifth.count == 2);
  CHECK(fifth.degrees[0] == Degree{1, 0});
  CHECK(fifth.degrees[1] == Degree{5, 0});
  CHECK(played("b3").play.degrees[0] == Degree{3, -1});
  CHECK(played("bb7").play.degrees[0] == Degree{7, -2});
  CHECK(played("#11").play.degrees[0] == Degree{11, 1});
  CHECK(played("C").play.kind == PlayKind::upper);
  CHECK(played("R").play.kind == PlayKind::nextBass);
  CHECK(played("R~").play.kind == PlayKind::approach);
  CHECK(played("lowest").play.kind == PlayKind::heldLowest);
  CHECK(played("upper").play.kind == PlayKind::heldUpper);
  CHECK(played("all").play.kind == PlayKind::heldAll);
  CHECK(played("top").play.kind == PlayKind::heldTop);
  CHECK(played("3rd").play.kind == PlayKind::heldNth);
  CHECK(played("3rd").play.nth == 3);
  std::string expected;
  for (const auto* wrong : {"", "0", "16", "1+", "+1", "b", "b#3", "bbb3", "R+1", "7th", "1 5"})
    CHECK_FALSE(parsePlay(wrong, PartKind::bass, expected).has_value());
}

TEST_CASE("Percussion keys are called by their General MIDI names or numbers", "[idiom_file]") {
  std::string expected;
  // General MIDI level 1 percussion map: 36 bass drum 1, 37 side stick, 42 closed hi-hat, 75 claves
  CHECK(parsePlay("bass drum", PartKind::percussion, expected)->play.nth == 36);
  CHECK(parsePlay("side stick", PartKind::percussion, expected)->play.nth == 37);
  CHECK(parsePlay("closed hi-hat", PartKind::percussion, expected)->play.nth == 42);
  CHECK(parsePlay("claves", PartKind::percussion, expected)->play.nth == 75);
  CHECK(parsePlay("51", PartKind::percussion, expected)->play.nth == 51);
  CHECK_FALSE(parsePlay("88", PartKind::percussion, expected).has_value());
  CHECK_FALSE(parsePlay("claves", PartKind::chords, expected).has_value());
}

TEST_CASE("A blue third is crushed where there is room and is a plain third elsewhere", "[idiom_file]") {
  // common practice, no source: a short note, a twelfth of a beat, and the third takes over
  const auto result = compileIdiom(test::goodFile, "oom-pah.toml");
  REQUIRE(result.idiom != nullptr);
  const auto& idiom = *result.idiom;
  const auto& figure = idiom.figure(idiom.at(Density::medium).statement);
  REQUIRE(figure.count == 5);
  const auto* steps = &idiom.steps[figure.first + 2u];
  const Ticks at = quarter * 15;  // beat 8 1/2 in eighths, halved below
  const Ticks crush{quarter.value / 12};
  CHECK(steps[0].at * 2 == at);
  CHECK(steps[0].length == crush);
  CHECK(steps[0].play.degrees[0] == Degree{3, -1});
  CHECK(steps[0].condition == Condition::majorThirdWithRoom);
  CHECK(steps[1].at * 2 == at);
  CHECK(steps[1].length == quarter);
  CHECK(steps[1].play.degrees[0] == Degree{3, 0});
  CHECK(steps[1].condition == Condition::noMajorThirdOrNoRoom);
  CHECK((steps[2].at - crush) * 2 == at);
  CHECK(steps[2].length + crush == quarter);
  CHECK(steps[2].play.degrees[0] == Degree{3, 0});
  CHECK(steps[2].condition == Condition::majorThirdWithRoom);
  for (int i = 0; i < 3; ++i) CHECK(steps[i].row == 2);  // one row of the file, three steps
}

TEST_CASE("Steps stand in the order of time, the bass first where two fall together", "[idiom_file]") {
  const auto text = test::changed("  { beat = 1, length = 1, part = \"bass\", play = \"1\", stress = 1 },",
                                  "  { beat = 4, length = 1, part = \"chords\", play = \"5\" },\n"
                                  "  { beat = 1, length = 1, part = \"chords\", play = \"5\" },\n"
                                  "  { beat = 1, length = 1, part = \"bass\", play = \"1\", stress = 1 },");
  const auto result = compileIdiom(text, "oom-pah.toml");
  REQUIRE(result.idiom != nullptr);
  const auto& steps = result.idiom->steps;
  CHECK(steps[0].at == Ticks{0});
  CHECK(result.idiom->parts[steps[0].part].kind == PartKind::bass);
  CHECK(steps[0].row == 2);
  CHECK(steps[1].at == Ticks{0});
  CHECK(result.idiom->parts[steps[1].part].kind == PartKind::chords);
  CHECK(steps[4].at == quarter * 3);
  CHECK(steps[4].row == 0);
}

TEST_CASE("A density that the file leaves out is lent by the leaner one, or else by the fuller", "[idiom_file]") {
  const auto result = compileIdiom(test::goodFile, "oom-pah.toml");
  REQUIRE(result.idiom != nullptr);
  const auto& lean = result.idiom->at(Density::lean);
  const auto& medium = result.idiom->at(Density::medium);
  const auto& full = result.idiom->at(Density::full);
  CHECK((lean.written && medium.written && !full.written));
  CHECK(full.statement.index == medium.statement.index);
  CHECK(medium.statement.index != lean.statement.index);
  REQUIRE(medium.shortCount == 1);  // short forms are needed at every density
  CHECK(medium.shortForms[0].index == lean.shortForms[0].index);
  const auto onlyMedium =
      compileIdiom(std::string(test::goodFile.substr(0, test::goodFile.find("[lean]"))) +
                       std::string(test::goodFile.substr(test::goodFile.find("[medium.statement]"))),
                   "oom-pah.toml");
  REQUIRE(onlyMedium.idiom != nullptr);
  CHECK(onlyMedium.idiom->at(Density::lean).statement.index == onlyMedium.idiom->at(Density::medium).statement.index);
  CHECK_FALSE(onlyMedium.idiom->at(Density::lean).written);
}

TEST_CASE("Two words are as far apart as a typist's slips between them", "[idiom_file]") {
  CHECK(editDistance("waltz", "waltz") == 0);
  CHECK(editDistance("walz", "waltz") == 1);
  CHECK(editDistance("lenght", "length") == 1);   // two letters exchanged: one slip
  CHECK(editDistance("kitten", "sitting") == 3);  // the textbook example of the Levenshtein distance
  CHECK(editDistance("", "abc") == 3);
}
