// A figure that is played in at the desk, by mouse and by keys. Common practice, no source.
#include <fstream>
#include <iterator>
#include <set>

#include "plugin/editor/strings.h"
#include "tests/catch.h"
#include "tests/editor/desk.h"
#include "tests/editor/own_home.h"

using namespace seguente;
using namespace seguente::test;

namespace {

constexpr int beat = Desk::quarterBlocks;

void strike(Desk& desk, std::initializer_list<int> keys, int blocks = beat) {
  desk.press(keys);
  desk.play(blocks - 11);
  desk.letGo(keys);
  desk.play(9);
}

void march(Desk& desk, int bars) {
  for (int i = 0; i < bars; ++i) {
    strike(desk, {36});
    strike(desk, {52, 55});
    strike(desk, {43});
    strike(desk, {52, 55});
  }
}

void write(screen::TypedLine& line, const char* text) {
  for (const char* c = text; *c != 0; ++c) line.keyPressed(juce::KeyPress(*c, {}, static_cast<juce::juce_wchar>(*c)));
}

screen::Element& target(Desk& desk, const char* word) {
  for (auto* element : shownElements(desk))
    if (element->getTitle() == word) return *element;
  FAIL("no target " << word);
  return desk.page().contents().field();
}

void press(Desk& desk, const char* word) { CHECK(pressKey(target(desk, word), juce::KeyPress::returnKey)); }

std::string told(Desk& desk) {
  juce::StringArray all;
  desk.page().contents().playIn().forEach([&](screen::Element& element) {
    if (element.isVisible())
      for (const auto& text : element.texts()) all.add(text.text);
  });
  return all.joinIntoString(" ").toStdString();
}

bool has(const std::string& text, const std::string& what) { return text.find(what) != std::string::npos; }

std::string chosenTitle(Desk& desk) {
  return desk.processor().shelf().entry(static_cast<std::size_t>(desk.processor().session().slot())).title;
}

/// A march over C, read, and its name asked for.
void playMarch(Desk& desk) {
  desk.press({72, 76, 79});
  desk.play(3 * beat - 1);  // to the bar line, with the three beats before it
  press(desk, "Play one in");
  desk.play(beat);
  march(desk, 3);
  press(desk, "That was it");
  desk.letGo({72, 76, 79});
}

}  // namespace

TEST_CASE("A march that is played in is called by its name, stands on the shelf, and is heard over any chord") {
  OwnHome home;
  Desk desk;
  desk.play(1);
  playMarch(desk);
  INFO(told(desk));
  CHECK(has(told(desk), "4/4"));
  CHECK(has(told(desk), "one bar"));
  CHECK(desk.page().contents().playIn().over().words() == "C");
  write(desk.page().contents().playIn().name(), "My march");
  CHECK(pressKey(desk.page().contents().playIn().name(), juce::KeyPress::returnKey));
  CHECK(chosenTitle(desk) == "My march");
  CHECK(has(home.read("my-march.toml"), "played in over C at 96"));
  CHECK(told(desk) == "Play one in");
  // Over F, from the next bar line: root, chord, fifth, chord.
  desk.play(4 * beat);
  desk.press({53, 57, 60});
  desk.play(4 * beat);
  const auto before = desk.struck().size();
  desk.play(4 * beat);
  std::set<int> classes;
  for (auto i = before; i < desk.struck().size(); ++i) classes.insert(desk.struck()[i] % 12);
  CHECK(desk.struck().size() - before == 6);
  CHECK(classes == std::set<int>{0, 5, 9});  // C, F, A
}

TEST_CASE("While a figure is played in the accompaniment is silent, and what is played passes") {
  OwnHome home;
  Desk desk;
  desk.play(1);
  desk.press({48, 52, 55});
  desk.play(2 * beat);
  press(desk, "Play one in");
  desk.play(2);
  const auto before = desk.struck().size();
  strike(desk, {36});
  strike(desk, {40});
  desk.play(8 * beat);
  CHECK(std::vector<int>(desk.struck().begin() + static_cast<std::ptrdiff_t>(before), desk.struck().end()) ==
        std::vector<int>{36, 40});
  press(desk, "Forget it");
  desk.play(8 * beat);
  CHECK(desk.struck().size() > before + 4);  // the chord is still held
}

TEST_CASE("A name that is taken asks for another, and nothing is written over") {
  OwnHome home;
  home.write("my-march.toml", "# mine\n");  // no idiom at all, and yet a file of that name
  Desk desk;
  desk.play(1);
  playMarch(desk);
  auto& name = desk.page().contents().playIn().name();
  for (const char* taken : {"My march", "Waltz", "waltz"}) {
    name.set({});
    write(name, taken);
    press(desk, "Keep it");
    CHECK(has(told(desk), "That name is taken"));
  }
  CHECK(home.read("my-march.toml") == "# mine\n");
  CHECK(home.files() == 1);
  name.set({});
  press(desk, "Keep it");
  CHECK(has(told(desk), "It needs a name"));
  write(name, "My second march");
  press(desk, "Keep it");
  CHECK(chosenTitle(desk) == "My second march");
  CHECK(home.files() == 2);
}

TEST_CASE("A figure over no held chord asks over which it was, and is then read by that chord's degrees") {
  OwnHome home;
  Desk desk;
  desk.play(4 * beat - 2);
  press(desk, "Play one in");
  desk.play(2);
  march(desk, 3);
  press(desk, "That was it");
  CHECK(has(told(desk), "Over which chord was that?"));
  auto& panel = desk.page().contents().playIn();
  write(panel.over(), "H");
  CHECK(has(told(desk), "no chord symbol"));
  panel.over().set({});
  write(panel.over(), "C");
  CHECK(has(told(desk), "one bar"));
  write(panel.name(), "Over C");
  press(desk, "Keep it");
  CHECK(chosenTitle(desk) == "Over C");
}

TEST_CASE("What is too little to be a figure is said in one line, and nothing is asked") {
  OwnHome home;
  Desk desk;
  desk.play(1);
  desk.press({72, 76, 79});
  press(desk, "Play one in");
  desk.play(4 * beat);
  press(desk, "That was it");
  CHECK(has(told(desk), "Nothing was played in"));
  press(desk, "Play one in");
  strike(desk, {36});
  desk.play(2 * beat);
  press(desk, "That was it");
  INFO(told(desk));
  CHECK(has(told(desk), "less than a bar"));
  CHECK(has(told(desk), "Play one in"));
  CHECK(home.files() == 0);
}

TEST_CASE("A window that is closed while it listens does not leave the accompaniment silent") {
  OwnHome home;
  Desk desk;
  desk.play(1);
  desk.press({48, 52, 55});
  press(desk, "Play one in");
  desk.play(beat);
  desk.reopen();
  const auto before = desk.struck().size();
  desk.play(8 * beat);
  CHECK(desk.struck().size() > before);
}
