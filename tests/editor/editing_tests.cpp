// A figure of one's own that is edited while it plays. Common practice, no source.
#include <set>

#include "plugin/editor/strings.h"
#include "tests/catch.h"
#include "tests/editor/desk.h"
#include "tests/editor/own_home.h"

using namespace seguente;
using namespace seguente::test;
using juce::KeyPress;

namespace {

constexpr int beat = Desk::quarterBlocks;

const std::string march = ownMarch("my-march", "My march");

void choose(Desk& desk, const std::string& id) {
  for (const auto slot : desk.processor().shelf().filled())
    if (desk.processor().shelf().entry(slot).id == id)
      desk.processor().values().set(ParameterId::idiom, static_cast<double>(slot));
  desk.play(2);
}

screen::Element* shown(Desk& desk, const char* word) {
  for (auto* element : shownElements(desk))
    if (element->getTitle() == word) return element;
  return nullptr;
}

void press(Desk& desk, const char* word) {
  INFO(word);
  auto* element = shown(desk, word);
  REQUIRE(element != nullptr);
  CHECK(pressKey(*element, KeyPress::returnKey));
}

bool has(const std::string& text, const std::string& what) { return text.find(what) != std::string::npos; }

std::string sentence(Desk& desk) { return desk.page().desk().editing().sentence().toStdString(); }

/// Pitch classes that are struck in a bar.
std::set<int> bar(Desk& desk) {
  const auto before = desk.struck().size();
  desk.play(4 * beat);
  std::set<int> all;
  for (auto i = before; i < desk.struck().size(); ++i) all.insert(desk.struck()[i] % 12);
  return all;
}

}  // namespace

TEST_CASE("A fifth that is made a sixth while the march plays is heard as one, and the file says so, remarks and all") {
  OwnHome home;
  home.write("my-march.toml", march);
  Desk desk;
  choose(desk, "my-march");
  desk.press({48, 52, 55});
  desk.play(4 * beat);
  CHECK(bar(desk) == std::set<int>{0, 4, 7});
  press(desk, "Edit");
  CHECK(has(sentence(desk), "statement, beat 1: bass plays 1"));
  auto& made = desk.page().desk().made();
  pressKey(made, KeyPress::rightKey);
  pressKey(made, KeyPress::rightKey);
  CHECK(has(sentence(desk), "beat 3: bass plays 5"));
  pressKey(made, KeyPress::upKey);
  CHECK(has(sentence(desk), "beat 3: bass plays 6"));
  auto wanted = march;
  wanted.replace(wanted.find("play = \"5\""), 10, "play = \"6\"");
  CHECK(home.read("my-march.toml") == wanted);
  desk.play(4 * beat);
  CHECK(bar(desk) == std::set<int>{0, 4, 7, 9});
  made.keyPressed(KeyPress('z', juce::ModifierKeys::commandModifier, 0));
  CHECK(home.read("my-march.toml") == march);
  desk.play(4 * beat);
  CHECK(bar(desk) == std::set<int>{0, 4, 7});
  press(desk, "Redo");
  CHECK(home.read("my-march.toml") == wanted);
  press(desk, "Done");
  CHECK(shown(desk, "Redo") == nullptr);
}

TEST_CASE("A step is moved by the grid, made longer, stressed, doubled and taken out by words that are pressed") {
  OwnHome home;
  home.write("my-march.toml", march);
  Desk desk;
  choose(desk, "my-march");
  press(desk, "Edit");
  press(desk, "Later");  // by a half, the plainest grid in which the figure fits
  CHECK(has(home.read("my-march.toml"), R"({ beat = "1 1/2", length = 1, part = "bass",   play = "1" },  # the foot)"));
  press(desk, "Earlier");
  press(desk, "Shorter");
  press(desk, "Heavier");
  CHECK(has(home.read("my-march.toml"),
            R"({ beat = 1, length = "1/2", part = "bass",   play = "1", stress = 1 },  # the foot)"));
  press(desk, "Add");
  CHECK(has(sentence(desk), "beat 1 1/2: bass plays 1, length 1/2"));
  press(desk, "Higher");
  CHECK(has(sentence(desk), "bass plays 3"));
  press(desk, "Take out");
  CHECK_FALSE(has(home.read("my-march.toml"), "1 1/2"));
  CHECK(desk.page().desk().editing().model().rows().size() == 4);
}

TEST_CASE("What a step cannot play is said, and neither file nor sound has changed") {
  OwnHome home;
  home.write("my-march.toml", march);
  Desk desk;
  choose(desk, "my-march");
  press(desk, "Edit");
  auto& plays = desk.page().desk().editing().plays();
  plays.set("H");
  pressKey(plays, KeyPress::returnKey);
  CHECK(has(sentence(desk), "expected"));
  CHECK(home.read("my-march.toml") == march);
  plays.set("1+5");
  pressKey(plays, KeyPress::returnKey);
  CHECK(has(home.read("my-march.toml"), "play = \"1+5\""));
}

TEST_CASE("A shipped idiom is copied under another name before it is edited, and stays as it was") {
  OwnHome home;
  Desk desk;
  choose(desk, "waltz");
  const auto shipped = desk.processor().shelf().text(1).text;
  press(desk, "Edit");
  CHECK(has(sentence(desk), "not your own"));
  auto& band = desk.page().desk().editing();
  band.name().type("Waltz");
  pressKey(band.name(), KeyPress::returnKey);
  CHECK(has(sentence(desk), "taken"));
  band.name().type("My waltz");
  pressKey(band.name(), KeyPress::returnKey);
  CHECK(has(sentence(desk), "statement, beat 1"));
  const auto slot = static_cast<std::size_t>(desk.processor().session().slot());
  CHECK(desk.processor().shelf().entry(slot).title == "My waltz");
  press(desk, "Later");
  CHECK(has(home.read("my-waltz.toml"), "# Sources: MacDowell"));
  CHECK(home.files() == 1);
  CHECK(desk.processor().shelf().text(1).text == shipped);
}

TEST_CASE("A file that another program saves meanwhile is what is edited from then on") {
  OwnHome home;
  home.write("my-march.toml", march);
  Desk desk;
  choose(desk, "my-march");
  press(desk, "Edit");
  auto theirs = march;
  theirs.replace(theirs.find("# the foot"), 10, "# left foot");
  home.write("my-march.toml", theirs);
  desk.processor().tick();
  desk.play(8);
  press(desk, "Heavier");
  CHECK(has(home.read("my-march.toml"), "stress = 1 },  # left foot"));
}

TEST_CASE("A step is meant by pressing it where it is drawn, and another idiom ends the editing") {
  OwnHome home;
  home.write("my-march.toml", march);
  Desk desk;
  choose(desk, "my-march");
  desk.press({48, 52, 55});
  desk.play(4 * beat);
  press(desk, "Edit");
  desk.page().desk().made().picked(FigureKind::statement, 2);
  CHECK(has(sentence(desk), "beat 3"));
  choose(desk, "waltz");
  CHECK(shown(desk, "Done") == nullptr);
}
