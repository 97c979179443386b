// By mouse alone: whatever a key does, a press on its target does too.
#include "tests/catch.h"
#include "tests/editor/desk.h"

using namespace seguente;
using namespace seguente::test;

namespace {

juce::MouseEvent mouse(juce::Component& on, juce::Point<int> at, juce::Point<int> downAt) {
  const auto now = juce::Time();
  return {juce::Desktop::getInstance().getMainMouseSource(),
          at.toFloat(),
          juce::ModifierKeys::leftButtonModifier,
          0,
          0,
          0,
          0,
          0,
          &on,
          &on,
          now,
          downAt.toFloat(),
          now,
          1,
          at != downAt};
}

void click(juce::Component& on, juce::Point<int> at) {
  on.mouseDown(mouse(on, at, at));
  on.mouseUp(mouse(on, at, at));
}
void click(screen::Element& on, std::size_t target) { click(on, on.targets()[target].getCentre()); }

template <class Wanted>
Wanted* find(Desk& desk, const juce::String& title) {
  for (auto* element : shownElements(desk))
    if (auto* wanted = dynamic_cast<Wanted*>(element); wanted != nullptr && element->getTitle().startsWith(title))
      return wanted;
  return nullptr;
}

}  // namespace

TEST_CASE("A word of a choice is pressed, less and more step, and the host hears each as one change") {
  Desk desk;
  desk.page().open(screen::Opened::settings);
  HostEar host(desk.processor());
  click(*fieldOf(desk, ParameterId::density), 2);
  CHECK(desk.processor().values().get(ParameterId::density) == 2);
  CHECK(host.heard == std::vector<std::string>{"begin density", "density", "end density"});
  auto& split = *fieldOf(desk, ParameterId::splitKey);
  click(split, 2);
  click(split, 2);
  click(split, 0);
  CHECK(desk.processor().values().get(ParameterId::splitKey) == 61);
  click(*fieldOf(desk, ParameterId::density), 2);  // it is chosen already
  CHECK(host.heard.size() == 12);
}

TEST_CASE("A value that is dragged upwards grows, in one gesture from press to release") {
  Desk desk;
  auto& tempo = *fieldOf(desk, ParameterId::ownTempo);
  const auto from = tempo.targets()[1].getCentre();
  HostEar host(desk.processor());
  tempo.mouseDown(mouse(tempo, from, from));
  for (const int up : {8, 16, 24}) tempo.mouseDrag(mouse(tempo, from.translated(0, -up), from));
  tempo.mouseUp(mouse(tempo, from.translated(0, -24), from));
  CHECK(desk.processor().values().get(ParameterId::ownTempo) > 100);
  CHECK(host.heard ==
        std::vector<std::string>{"begin own-tempo", "own-tempo", "own-tempo", "own-tempo", "end own-tempo"});
  CHECK(tempo.getNumChildComponents() == 0);  // a drag does not open the entry
}

TEST_CASE("A value is pressed and typed over; Escape leaves it as it was") {
  Desk desk;
  auto& tempo = *fieldOf(desk, ParameterId::ownTempo);
  const auto entry = [&] { return dynamic_cast<juce::TextEditor*>(tempo.getChildComponent(0)); };
  click(tempo, 1);
  REQUIRE(entry() != nullptr);
  CHECK(tempo.getLocalBounds().contains(entry()->getBounds()));
  entry()->setText("84", false);
  entry()->onReturnKey();
  CHECK(entry() == nullptr);
  CHECK(desk.processor().values().get(ParameterId::ownTempo) == 84);
  click(tempo, 1);
  REQUIRE(entry() != nullptr);
  entry()->setText("200", false);
  entry()->onEscapeKey();
  CHECK(entry() == nullptr);
  CHECK(desk.processor().values().get(ParameterId::ownTempo) == 84);
}

TEST_CASE("An idiom on the shelf, a signal, and all that gives it are pressed") {
  Desk desk;
  auto* shelf = find<screen::ShelfList>(desk, "Contents");
  REQUIRE(shelf != nullptr);
  click(*shelf, 4);
  const auto fourth = desk.processor().session().slot();
  CHECK(shelf->getTitle().contains(
      screen::plain(desk.processor().shelf().entry(static_cast<std::size_t>(fourth)).title)));

  desk.page().open(screen::Opened::settings);
  auto* next = find<screen::SignalTarget>(desk, "Next");
  click(*next, 0);
  desk.play(2);
  CHECK(desk.processor().session().slot() != fourth);

  auto* giver = find<screen::GiverTarget>(desk, "Next: ");
  auto& map = desk.processor().signals();
  map.set(Signal::next, {GiverKind::key, 0, 30});
  desk.play(1);
  click(*giver, 0);
  CHECK(map.learning() == Signal::next);
  click(*giver, 1);  // cancel
  CHECK_FALSE(map.learning());
  CHECK(map.get(Signal::next).number == 30);
  click(*giver, 0);
  click(*giver, 0);  // none
  CHECK_FALSE(map.learning());
  CHECK(map.get(Signal::next) == Giver{});
}

TEST_CASE("A view is opened by its word, and what the mouse is on is explained") {
  Desk desk;
  auto* views = find<screen::WordChoice>(desk, "Views");
  REQUIRE(views != nullptr);
  click(*views, 3);
  CHECK(desk.page().opened() == screen::Opened::settings);
  auto& force = *fieldOf(desk, ParameterId::force);
  force.mouseEnter(mouse(force, {5, 5}, {5, 5}));
  juce::String said;
  for (const auto& placed : find<screen::Footnote>(desk, "")->texts()) said << placed.text << " ";
  CHECK(said.startsWith(juce::String(parameter(ParameterId::force).about).dropLastCharacters(1)));
}

TEST_CASE("A key of the screen's keyboard is pressed and sounds, by mouse and by arrows and Space") {
  Desk desk;
  desk.play(1);
  auto* keyboard = find<screen::KeyboardView>(desk, "Keyboard");
  REQUIRE(keyboard != nullptr);
  const auto place = keyboard->keys().of(72).getCentre().toInt();
  keyboard->mouseDown(mouse(*keyboard, place, place));
  desk.play(2);
  keyboard->mouseUp(mouse(*keyboard, place, place));
  desk.play(2);
  CHECK(desk.struck() == std::vector<int>{72});
  CHECK(pressKey(*keyboard, juce::KeyPress::rightKey));  // C4
  CHECK(pressKey(*keyboard, juce::KeyPress::rightKey));
  CHECK(keyboard->remark().startsWith(screen::plain("C\u266f4")));
  CHECK(pressKey(*keyboard, juce::KeyPress::spaceKey));
  desk.play(2);
  CHECK(desk.struck() == std::vector<int>{72, 61});
}

TEST_CASE("On the stand no text is smaller than 40, and its five targets are 112 high") {
  Desk desk;
  desk.sizeTo(1280, 800);
  desk.press({48, 52, 55});
  desk.play(40);
  desk.page().open(screen::Opened::stand);
  desk.play(1);
  const screen::Letters letters;
  int targets = 0;
  for (auto* element : shownElements(desk)) {
    for (const auto& placed : element->texts()) {
      INFO(placed.text);
      if (placed.text.isNotEmpty()) CHECK(letters.emOf(placed.font) >= 39.9f);
    }
    if (dynamic_cast<screen::SignalTarget*>(element) == nullptr) continue;
    ++targets;
    CHECK(element->targets().front().getHeight() >= 112);
  }
  CHECK(targets == 5);
  auto* back = find<screen::LeaveTarget>(desk, "Desk");
  REQUIRE(back != nullptr);
  click(*back, 0);
  CHECK(desk.page().opened() == screen::Opened::desk);
}
