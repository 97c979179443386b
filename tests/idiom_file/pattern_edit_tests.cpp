// A figure that is edited: the file stays the teacher's own. Common practice, no source.
#include "dsp/idiom_file.h"
#include "dsp/idiom_steps.h"
#include "dsp/pattern_edit.h"
#include "tests/catch.h"

using namespace seguente;

namespace {

const std::string march = R"(# My own march, for Tuesday's pupils.
format = 1
id     = "my-march"
title  = "My march"   # the name on the shelf
about  = "Für Anfänger: root and fifth."
meter  = "2/4"
tempo  = [100, 126]
rejoin = [1]

[parts.bass]
kind     = "bass"
register = ["E2", "Eb3"]

[parts.chords]
kind     = "chords"
register = ["C3", "C4"]

[medium]
statement = [
  { beat = 1,       length = "1/2", part = "bass",   play = "1", stress = 1 },  # the foot
  { beat = "1 1/2", length = "1/2", part = "chords", play = "C" },

  # Now the other foot.
  { beat = 2,       length = "1/2", part = "bass",   play = "5" },  # {not} a "row"
  { beat = "2 1/2", length = "1/2", part = "chords", play = "C" }
]

[[medium.short]]
beats = 1
steps = [ { beat = 1, length = 1, part = "bass", play = "1" }, { beat = 1, length = 1, part = "chords", play = "C" } ]
)";

const FigureName statement{Density::medium, FigureKind::statement};
constexpr Ticks eighth{quarter.value / 2};

std::string replaced(std::string text, const std::string& from, const std::string& to) {
  const auto at = text.find(from);
  REQUIRE(at != std::string::npos);
  return text.replace(at, from.size(), to);
}

}  // namespace

TEST_CASE("A step's row is read as it is written", "[edit]") {
  PatternEdit edit(march);
  REQUIRE(edit.good());
  const auto steps = edit.steps(statement);
  REQUIRE(steps.size() == 4);
  CHECK(steps[0] == WrittenStep{{}, eighth, "bass", "1", 1});
  CHECK(steps[3] == WrittenStep{eighth * 3, eighth, "chords", "C", 0});
  CHECK(edit.written(Density::full) == Density::medium);
  CHECK(edit.written(Density::lean) == Density::medium);
}

TEST_CASE("A fifth that becomes a sixth changes one word of the file, and every remark stays", "[edit]") {
  PatternEdit edit(march);
  auto step = edit.steps(statement)[2];
  step.play = "6";
  REQUIRE(edit.change(statement, 2, step));
  CHECK(edit.text() == replaced(march, "play = \"5\"", "play = \"6\""));
}

TEST_CASE("A step that moves, grows and is stressed says so in its own row", "[edit]") {
  PatternEdit edit(march);
  auto step = edit.steps(statement)[2];
  step.at = step.at - Ticks{quarter.value / 4};
  step.length = Ticks{quarter.value};
  step.stress = 2;
  REQUIRE(edit.change(statement, 2, step));
  CHECK(edit.text() == replaced(march, R"({ beat = 2,       length = "1/2", part = "bass",   play = "5" })",
                                R"({ beat = "1 3/4",       length = 1, part = "bass",   play = "5", stress = 2 })"));
  CHECK(edit.steps(statement)[2] == step);
}

TEST_CASE("A step more stands on a line of its own behind the one it was made from", "[edit]") {
  PatternEdit edit(march);
  WrittenStep step{eighth * 3, eighth, "bass", "6", 0};
  REQUIRE(edit.add(statement, 2, step));
  const std::string fresh = R"({ beat = "2 1/2", length = "1/2", part = "bass", play = "6" },)";
  CHECK(edit.text() == replaced(march, "# {not} a \"row\"\n", "# {not} a \"row\"\n  " + fresh + "\n"));
  SECTION("behind the last, which had no comma") {
    REQUIRE(edit.undo());
    REQUIRE(edit.add(statement, 3, step));
    CHECK(edit.steps(statement).size() == 5);
    CHECK(edit.steps(statement)[4] == step);
  }
}

TEST_CASE("A step that is taken out takes its line with it, but not the remark that stands there", "[edit]") {
  PatternEdit edit(march);
  REQUIRE(edit.remove(statement, 1));
  CHECK(edit.text() ==
        replaced(march, "  { beat = \"1 1/2\", length = \"1/2\", part = \"chords\", play = \"C\" },\n", ""));
  REQUIRE(edit.remove(statement, 1));
  CHECK(edit.steps(statement).size() == 2);
  CHECK(edit.text().find("# {not} a \"row\"") != std::string::npos);
  CHECK(edit.text().find("# Now the other foot.") != std::string::npos);
}

TEST_CASE("What is no figure is refused with its reason, and nothing has happened", "[edit]") {
  PatternEdit edit(march);
  auto step = edit.steps(statement)[0];
  step.play = "H";
  CHECK_FALSE(edit.change(statement, 0, step));
  CHECK(edit.fault().find("H") != std::string::npos);
  step = edit.steps(statement)[0];
  step.at = Ticks{quarter.value * 9};  // behind the bar
  CHECK_FALSE(edit.change(statement, 0, step));
  CHECK(edit.text() == march);
  CHECK_FALSE(edit.canUndo());
  for (int i = 0; i < 3; ++i) REQUIRE(edit.remove(statement, 0));
  CHECK_FALSE(edit.remove(statement, 0));  // a figure of nothing
  CHECK(edit.steps(statement).size() == 1);
}

TEST_CASE("Every change is undone and done again, letter by letter", "[edit]") {
  PatternEdit edit(march);
  std::vector<std::string> texts{edit.text()};
  for (const char* play : {"3", "8", "1+5"}) {
    auto step = edit.steps(statement)[0];
    step.play = play;
    REQUIRE(edit.change(statement, 0, step));
    texts.push_back(edit.text());
  }
  for (std::size_t i = 3; i-- > 0;) {
    REQUIRE(edit.undo());
    CHECK(edit.text() == texts[i]);
  }
  CHECK_FALSE(edit.undo());
  for (std::size_t i = 1; i < 4; ++i) {
    REQUIRE(edit.redo());
    CHECK(edit.text() == texts[i]);
  }
  CHECK_FALSE(edit.redo());
}

TEST_CASE("Arrows go through a chord's degrees, the hand's keys or a drummer's, and stay at the ends", "[edit]") {
  CHECK(nextPlay("1", PartKind::bass, 1) == "3");
  CHECK(nextPlay("1", PartKind::bass, -1) == "1");
  CHECK(nextPlay("5", PartKind::bass, -1) == "3");
  CHECK(nextPlay("lowest", PartKind::bass, 1) == "2nd");
  CHECK(nextPlay("b3>3", PartKind::chords, 1) == "1");
  for (const auto kind : {PartKind::bass, PartKind::chords, PartKind::percussion}) {
    std::string play = nextPlay("none", kind, 1), expected;
    for (int i = 0; i < 20; ++i) {
      INFO(play);
      CHECK(parsePlay(play, kind, expected));
      play = nextPlay(play, kind, 1);
    }
  }
}

TEST_CASE(
    "Each shipped idiom under another name is the same but for its name, and its first and last steps can be edited") {
  IdiomLibrary library({SEGUENTE_PATTERNS});
  REQUIRE(library.entries().size() > 30);
  for (const auto& entry : library.entries()) {
    std::vector<Fault> faults;
    const auto* idiom = library.find(entry.id, faults);
    REQUIRE(idiom != nullptr);
    INFO(entry.id);
    const auto copy = renamedPattern(idiom->text, "mine", "Mine \"own\"");
    REQUIRE(copy);
    PatternEdit edit(*copy);
    REQUIRE(edit.good());
    CHECK(edit.idiom().id == "mine");
    CHECK(edit.idiom().title == "Mine \"own\"");
    CHECK(edit.idiom().steps.size() == idiom->steps.size());
    for (const auto d : {Density::lean, Density::medium, Density::full}) {
      const FigureName name{edit.written(d), FigureKind::statement};
      const auto steps = edit.steps(name);
      REQUIRE_FALSE(steps.empty());
      for (const auto row : {std::size_t{0}, steps.size() - 1}) {
        auto step = steps[row];
        step.stress = step.stress > 0 ? step.stress - 1 : step.stress + 1;
        CHECK(edit.change(name, row, step));
        CHECK(edit.steps(name)[row] == step);
        CHECK(edit.undo());
      }
    }
    CHECK(edit.text() == *copy);
  }
}
