// The contents: chapters, search, the measure of the left hand.
#include "dsp/idiom_effort.h"
#include "plugin/editor/strings.h"
#include "tests/catch.h"
#include "tests/editor/desk.h"

using namespace seguente;
using namespace seguente::test;

namespace {

void typeInto(screen::FindField& field, const char* text) {
  for (const char* c = text; *c != 0; ++c) field.keyPressed(juce::KeyPress(*c, {}, static_cast<juce::juce_wchar>(*c)));
}

juce::StringArray shownTitles(screen::ShelfList& list) {
  juce::StringArray all;
  for (const auto& placed : list.texts()) all.add(placed.text);
  return all;
}

}  // namespace

TEST_CASE("An idiom is found under any name that its file gives it, by its meter, and by what it is for") {
  Desk desk;
  desk.play(1);
  auto& field = desk.page().contents().field();
  auto& list = desk.page().contents().list();
  const auto all = list.found();
  REQUIRE(all >= 7);
  typeInto(field, "oom-pah");  // patterns/waltz.toml, also
  CHECK(shownTitles(list).contains("Waltz"));
  CHECK(list.found() < all);
  CHECK(pressKey(field, juce::KeyPress::escapeKey));
  CHECK(list.found() == all);
  typeInto(field, "three");
  CHECK(shownTitles(list).contains("Waltz"));
  CHECK(shownTitles(list).contains("In three"));
  field.set({});
  typeInto(field, "no such thing");
  CHECK(list.found() == 0);
  CHECK(shownTitles(list).joinIntoString(" ").startsWith("No idiom by that name."));
  for (int i = 0; i < 20; ++i) pressKey(field, juce::KeyPress::backspaceKey);
  CHECK(list.found() == all);
}

TEST_CASE("The figures at the right of the contents stand beside the scroll bar, not under it") {
  Desk desk;
  desk.play(1);
  const auto& list = desk.page().contents().list();
  const auto* scroll = list.findParentComponentOfClass<juce::Viewport>();
  REQUIRE(scroll != nullptr);
  REQUIRE(list.getHeight() > scroll->getHeight());
  for (const auto& placed : list.texts()) CHECK(placed.area.getRight() <= scroll->getMaximumVisibleWidth());
}

TEST_CASE("What is chosen on the shelf is heard at once on the held chord, and how it is made follows") {
  Desk desk;
  desk.play(1);
  desk.press({48, 52, 55});
  desk.play(20);
  auto& list = desk.page().contents().list();
  list.find("blues");
  REQUIRE(list.found() >= 1);
  pressKey(list, juce::KeyPress::homeKey);
  desk.play(2);
  const auto* plays = desk.page().desk().preview().plays();
  REQUIRE(plays != nullptr);
  CHECK(plays->title ==
        desk.processor().shelf().entry(static_cast<std::size_t>(desk.processor().session().slot())).title);
  CHECK_FALSE(desk.page().desk().preview().bars().empty());
}

TEST_CASE("How it is made follows the density: a full figure has at least as many notes as a lean one") {
  Desk desk;
  desk.count(3, 4);
  desk.processor().values().set(ParameterId::idiom, 1);
  desk.press({48, 52, 55});
  desk.play(20);
  auto& page = desk.page().desk();
  const auto notes = [&](int density) {
    desk.processor().values().set(ParameterId::density, density);
    desk.play(2);
    std::size_t count = 0;
    for (const auto& bar : page.preview().bars())
      for (const auto& voice : bar.staff(page::StaffKind::lower).voices)
        for (const auto& event : voice.events) count += event.notes.size();
    return count;
  };
  const auto lean = notes(0);
  desk.press({84});  // a tune, so that it is the statement and not the vamp
  desk.play(Desk::quarterBlocks * 6);
  const auto before = desk.struck().size();
  desk.play(Desk::quarterBlocks * 6);  // two bars
  CHECK(lean == desk.struck().size() - before);
  CHECK(notes(2) > lean);
}

TEST_CASE("Held chords ask less of a hand than a waltz does, and nothing asks for more than five") {
  Desk desk;
  desk.play(1);
  const auto measure = [&](std::size_t slot) { return effortOf(*desk.processor().shelf().idiom(slot)).grade; };
  CHECK(measure(0) == 1);
  CHECK(measure(0) <= measure(1));
  for (const auto slot : desk.processor().shelf().filled()) {
    CHECK(measure(slot) >= 1);
    CHECK(measure(slot) <= 5);
  }
}
