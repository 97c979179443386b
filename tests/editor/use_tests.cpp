#include <cstdlib>

#include "dsp/harmony.h"
#include "tests/catch.h"
#include "tests/editor/desk.h"

using namespace seguente;
using namespace seguente::test;
using juce::KeyPress;

namespace {

std::vector<std::string> namesInTabOrder(Desk& desk) {
  std::vector<std::string> names;
  for (const auto* component : tabOrder(desk.page()))
    names.push_back(component->getTitle().upToFirstOccurrenceOf(",", false, false).toStdString());
  return names;
}

template <class Wanted>
Wanted* find(Desk& desk, const juce::String& title) {
  for (auto* element : shownElements(desk))
    if (auto* wanted = dynamic_cast<Wanted*>(element); wanted != nullptr && element->getTitle().startsWith(title))
      return wanted;
  return nullptr;
}

}  // namespace

TEST_CASE("Tab goes through the desk as one reads it") {
  Desk desk;
  const std::vector<std::string> wanted{"Views",
                                        "Find",
                                        "Contents",
                                        "Play one in",
                                        "Page",
                                        "How it is made",
                                        "Edit",
                                        "density",
                                        "Own tempo",
                                        "Time",
                                        "Wait for my chord",
                                        "Keep",
                                        "Hold",
                                        "Go on",
                                        "End",
                                        "Round",
                                        "Silence all",
                                        "Keyboard",
                                        "Messages: No messages so far."};
  CHECK(namesInTabOrder(desk) == wanted);
}

TEST_CASE("Every row of the table is reached by Tab, has a name, changes by a key press, and the host is told") {
  Desk desk;
  desk.page().open(screen::Opened::settings);
  const auto stops = tabOrder(desk.page());
  std::size_t next = 0;
  for (const auto& row : parameterTable()) {
    INFO(row.id);
    while (next < stops.size() && stops[next] != fieldOf(desk, row.which)) ++next;  // in the table's order
    REQUIRE(next < stops.size());
    auto& field = *stops[next];
    CHECK(field.getTitle().startsWith(row.name));
    CHECK(field.getHelpText() == screen::plain(row.about));

    HostEar host(desk.processor());
    const double before = desk.processor().values().get(row.which);
    const std::string id = row.id;
    CHECK(pressKey(field, before < row.high ? KeyPress::upKey : KeyPress::downKey));
    CHECK(desk.processor().values().get(row.which) == Approx(before + (before < row.high ? row.step : -row.step)));
    CHECK(host.heard == std::vector<std::string>{"begin " + id, id, "end " + id});

    CHECK(pressKey(field, KeyPress::endKey));
    CHECK(desk.processor().values().get(row.which) == Approx(row.high));
    CHECK(pressKey(field, KeyPress::homeKey));
    CHECK(desk.processor().values().get(row.which) == Approx(row.low));
    pressKey(field, KeyPress::deleteKey);
    CHECK(desk.processor().values().get(row.which) == Approx(row.standard));
  }
}

TEST_CASE("Each stop of Tab has a name, and shows a frame of two pixels when it has the focus") {
  Desk desk;
  for (const auto view : {screen::Opened::desk, screen::Opened::stand, screen::Opened::settings, screen::Opened::help,
                          screen::Opened::messages}) {
    desk.page().open(view);
    for (auto* stop : tabOrder(desk.page())) {
      INFO(stop->getTitle());
      CHECK(stop->getTitle().isNotEmpty());
      CHECK_FALSE(pressKey(*stop, KeyPress::tabKey));  // never a trap
      stop->focusGained(juce::Component::focusChangedByTabKey);
      const auto with = stop->createComponentSnapshot(stop->getLocalBounds());
      stop->focusLost(juce::Component::focusChangedByTabKey);
      const auto ink = desk.window().look().palette.ink;
      for (int i = 0; i < 2; ++i) CHECK(with.getPixelAt(i, stop->getHeight() / 2) == ink);
      const auto without = stop->createComponentSnapshot(stop->getLocalBounds());
      CHECK_FALSE(without.getPixelAt(1, 1) == ink);
    }
  }
}

TEST_CASE("Choosing on the shelf is hearing: arrows, Home, End, first letters; Escape gives the old idiom back") {
  Desk desk;
  auto* shelf = find<screen::ShelfList>(desk, "Contents");
  REQUIRE(shelf != nullptr);
  shelf->focusGained(juce::Component::focusChangedByTabKey);
  std::vector<std::size_t> filled;  // in the order of the contents: by meter
  for (std::size_t row = 0; row < shelf->found(); ++row) filled.push_back(shelf->slotOf(row));
  REQUIRE(filled.size() == desk.processor().shelf().filled().size());
  REQUIRE(filled.size() >= 3);
  const auto chosen = [&] { return static_cast<std::size_t>(desk.processor().session().slot()); };
  const auto before = chosen();

  HostEar host(desk.processor());
  CHECK(pressKey(*shelf, KeyPress::homeKey));
  CHECK(chosen() == filled.front());
  CHECK(host.heard == std::vector<std::string>{"begin idiom", "idiom", "end idiom"});
  CHECK(pressKey(*shelf, KeyPress::downKey));
  CHECK(chosen() == filled[1]);
  CHECK(pressKey(*shelf, KeyPress::endKey));
  CHECK(chosen() == filled.back());
  CHECK(pressKey(*shelf, KeyPress::downKey));
  CHECK(chosen() == filled.back());
  CHECK(shelf->keyPressed(KeyPress('w', {}, 'w')));
  CHECK(desk.processor().shelf().entry(chosen()).title.front() == 'W');
  CHECK(shelf->getTitle().contains(screen::plain(desk.processor().shelf().entry(chosen()).title)));
  CHECK(pressKey(*shelf, KeyPress::escapeKey));
  CHECK(chosen() == before);
  CHECK_FALSE(pressKey(*shelf, KeyPress::escapeKey));  // nothing to give back: it goes on to the page
}

TEST_CASE("A value can be typed in words or numbers, and what means nothing changes nothing") {
  Desk desk;
  auto& tempo = *fieldOf(desk, ParameterId::ownTempo);
  CHECK(tempo.type("92.5"));
  CHECK(desk.processor().values().get(ParameterId::ownTempo) == Approx(92.5));
  CHECK_FALSE(tempo.type("briskly"));
  CHECK(desk.processor().values().get(ParameterId::ownTempo) == Approx(92.5));
  desk.page().open(screen::Opened::settings);
  CHECK(fieldOf(desk, ParameterId::idiom)->type("waltz"));
  CHECK(desk.processor().shelf().entry(static_cast<std::size_t>(desk.processor().session().slot())).id == "waltz");
}

TEST_CASE("A signal is given by a key press: silence all ends every note, and the host's bar goes on") {
  Desk desk;
  desk.press({48, 52, 55});
  desk.play(30);
  View view;
  REQUIRE(desk.processor().view().read(view));
  REQUIRE_FALSE(view.ours.empty());
  auto* silence = find<screen::SignalTarget>(desk, "Silence all");
  REQUIRE(silence != nullptr);
  CHECK(pressKey(*silence, KeyPress::returnKey));
  desk.play(2);
  REQUIRE(desk.processor().view().read(view));
  CHECK(view.ours.empty());
}

TEST_CASE("While it holds, the target says so in reverse print, and a fermata takes the wedge's place on the page") {
  Desk desk;
  View view;
  view.hasChord = true;
  auto* hold = find<screen::SignalTarget>(desk, "Hold");
  REQUIRE(hold != nullptr);
  const auto& palette = desk.window().look().palette;
  const auto corner = [&] { return hold->createComponentSnapshot(hold->getLocalBounds()).getPixelAt(8, 8); };
  hold->refresh(view);
  CHECK(hold->getTitle() == "Hold");
  CHECK(corner() != palette.ink);
  view.holding = true;
  hold->refresh(view);
  CHECK(hold->getTitle() == "Holding");
  CHECK(corner() == palette.ink);

  desk.press({48, 52, 55});
  desk.play(80);
  auto& score = desk.page().desk().score();
  const auto overStaff = [&] {
    const auto band = score.band();
    const auto image = score.createComponentSnapshot(score.getLocalBounds());
    std::vector<juce::uint32> pixels;
    for (int y = band.getY() - 14; y < band.getY(); ++y)
      for (int x = -12; x <= 12; ++x) pixels.push_back(image.getPixelAt(band.getCentreX() + x, y).getARGB());
    return pixels;
  };
  const auto wedge = overStaff();
  desk.processor().session().give(Signal::hold);
  desk.play(130);
  REQUIRE(desk.processor().score().view().holding);
  CHECK(overStaff() != wedge);
}

TEST_CASE("A pedal is given to a signal by pressing it; cancel and Delete undo") {
  Desk desk;
  desk.page().open(screen::Opened::settings);
  auto* giver = find<screen::GiverTarget>(desk, "End: ");
  REQUIRE(giver != nullptr);
  auto& map = desk.processor().signals();
  CHECK(pressKey(*giver, KeyPress::returnKey));
  CHECK(map.learning() == Signal::end);
  CHECK(giver->remark().contains("listens"));
  CHECK(pressKey(*giver, KeyPress::returnKey));
  CHECK_FALSE(map.learning());

  pressKey(*giver, KeyPress::returnKey);
  desk.control(67, 127);
  CHECK(map.get(Signal::end) == Giver{GiverKind::controller, 0, 67});
  CHECK_FALSE(map.learning());
  CHECK(giver->getTitle() == "End: given by controller 67, channel 1");
  CHECK(pressKey(*giver, KeyPress::deleteKey));
  CHECK(map.get(Signal::end) == Giver{});
}

TEST_CASE("Escape closes what is open; pressed again, it silences all") {
  Desk desk;
  desk.press({48, 52, 55});
  desk.play(30);
  desk.page().open(screen::Opened::help);
  CHECK(pressKey(desk.page(), KeyPress::escapeKey));
  CHECK(desk.page().opened() == screen::Opened::desk);
  CHECK(pressKey(desk.page(), KeyPress::escapeKey));
  desk.play(2);
  View view;
  REQUIRE(desk.processor().view().read(view));
  CHECK(view.ours.empty());
}

TEST_CASE("A window that is opened again looks as it did: paper, scale, size") {
  Desk desk;
  desk.page().open(screen::Opened::settings);
  auto* paper = find<screen::WordChoice>(desk, "Paper");
  auto* size = find<screen::WordChoice>(desk, "Size");
  REQUIRE((paper != nullptr && size != nullptr));
  CHECK(pressKey(*paper, KeyPress::rightKey));
  CHECK(pressKey(*size, KeyPress::rightKey));  // 100 to 125 per cent
  desk.sizeTo(1000, 700);
  const auto bounds = desk.window().getLocalBounds();
  CHECK(bounds.getWidth() == 1250);
  desk.reopen();
  CHECK(desk.window().getLocalBounds() == bounds);
  CHECK(desk.window().look().palette.page == screen::darkPalette().page);
}

TEST_CASE("Round lies under the page and on the stand, says that it goes, and lets go when it is pressed again") {
  Desk desk;
  desk.sizeTo(1280, 800);
  desk.count(3, 4);
  desk.processor().values().set(ParameterId::idiom, 1);
  const int bar = 3 * Desk::quarterBlocks;
  desk.press({48, 52, 55}, false);
  desk.play(bar);
  for (const auto view : {screen::Opened::desk, screen::Opened::stand}) {
    INFO(static_cast<int>(view));
    desk.page().open(view);
    desk.play(1);
    auto* target = find<screen::SignalTarget>(desk, "Round");
    REQUIRE(target != nullptr);
    if (view == screen::Opened::stand) CHECK(target->getHeight() >= 100);
    CHECK(pressKey(*target, KeyPress::returnKey));
    desk.play(2 * bar);
    CHECK(desk.processor().score().view().round);
    CHECK(target->getTitle() == "Round on");
    CHECK(pressKey(*target, KeyPress::returnKey));
    desk.play(bar);
    CHECK(!desk.processor().score().view().round);
    CHECK(target->getTitle() == "Round");
  }
}

TEST_CASE(
    "An order that is open: the stand says the present piece and, on Next, the one to come; the list leads to any") {
  Desk desk;
  desk.sizeTo(1280, 800);
  desk.count(3, 4);
  desk.processor().orders().restore(SavedOrder{
      "evening.toml",
      "format = 1\ntitle = \"A summer evening\"\nabout = \"Three songs.\"\n"
      "[[presets]]\ntitle = \"Clementine\"\nabout = \"four verses, start alone\"\nidiom = \"country-waltz\"\n"
      "[[presets]]\ntitle = \"Amazing Grace\"\nidiom = \"gospel-slow\"\ntranspose = -2\n"
      "[[presets]]\ntitle = \"Silent Night\"\nidiom = \"berceuse\"\n",
      0});
  desk.page().open(screen::Opened::stand);
  playWaltz(desk, 3);
  const auto shown = [&](screen::Element* element) {
    REQUIRE(element != nullptr);
    juce::String all;
    for (const auto& placed : element->texts()) all << placed.text << "|";
    return all;
  };
  const auto stand = [&] { return shown(find<screen::StandView>(desk, "Stand")); };
  const auto next = [&] { return shown(find<screen::SignalTarget>(desk, "Next")); };
  CHECK(stand().contains("1. Clementine"));
  CHECK(stand().contains("four verses, start alone"));
  CHECK(next().contains("2. Amazing Grace"));
  if (const auto* folder = std::getenv("SEGUENTE_PICTURES")) {
    const auto shot = desk.window().createComponentSnapshot(desk.window().getLocalBounds());
    juce::FileOutputStream out(juce::File(folder).getChildFile("stand-order.png"));
    juce::PNGImageFormat().writeImageToStream(shot, out);
  }
  desk.processor().session().give(Signal::next);
  desk.play(1);
  CHECK(stand().contains("2. Amazing Grace"));
  CHECK(!stand().contains("four verses"));
  desk.processor().session().give(Signal::next);
  desk.play(1);
  CHECK(stand().contains("3. Silent Night"));
  CHECK(next().contains("end of the order"));

  desk.page().open(screen::Opened::order);
  desk.play(1);
  auto* list = find<screen::OrderList>(desk, "Running order");
  REQUIRE(list != nullptr);
  CHECK(shown(list).contains("A summer evening"));
  CHECK(shown(list).contains("Country waltz"));
  if (const auto* folder = std::getenv("SEGUENTE_PICTURES")) {
    const auto shot = desk.window().createComponentSnapshot(desk.window().getLocalBounds());
    juce::FileOutputStream out(juce::File(folder).getChildFile("order.png"));
    juce::PNGImageFormat().writeImageToStream(shot, out);
  }
  for (int i = 0; i < 9; ++i) CHECK(pressKey(*list, KeyPress::upKey));
  CHECK(list->getTitle() == "Running order, 1, Clementine, Country waltz");
  CHECK(pressKey(*list, KeyPress::downKey));
  CHECK(pressKey(*list, KeyPress::returnKey));
  CHECK(desk.processor().orders().place() == 1);
  desk.play(4 * Desk::quarterBlocks);
  CHECK(desk.processor().values().get(ParameterId::transpose) == -2);
  CHECK(list->getTitle() == "Running order, 2, Amazing Grace, Slow gospel, now");

  juce::MemoryBlock saved;  // the host saves, and another instance opens
  desk.processor().getStateInformation(saved);
  Processor other;
  other.setStateInformation(saved.getData(), static_cast<int>(saved.getSize()));
  CHECK(other.orders().place() == 1);
  REQUIRE(other.orders().current());
  CHECK(other.orders().current()->title == "A summer evening");
}

TEST_CASE("The host is told of all that a preset has set") {
  Desk desk;
  desk.processor().orders().restore(
      SavedOrder{"e.toml",
                 "format = 1\ntitle = \"E\"\n[[presets]]\ntitle = \"A\"\nidiom = \"waltz\"\n"
                 "[[presets]]\ntitle = \"B\"\nidiom = \"waltz\"\nlevel = 60\n",
                 0});
  desk.play(1);
  HostEar ear(desk.processor());
  desk.processor().session().give(Signal::next);
  desk.play(1);
  desk.processor().tick();
  CHECK(ear.heard ==
        std::vector<std::string>{"begin idiom", "idiom", "end idiom", "begin level", "level", "end level"});
}

TEST_CASE("The stand says what comes then, and in a kept round when the singer is in; else nothing") {
  Desk desk;
  desk.sizeTo(1280, 800);
  desk.count(3, 4);
  desk.processor().values().set(ParameterId::idiom, 1);
  desk.page().open(screen::Opened::stand);
  const int bar = 3 * Desk::quarterBlocks;
  const auto stand = [&] {
    desk.play(1);
    auto* view = find<screen::StandView>(desk, "Stand");
    return view != nullptr ? view->getTitle() : juce::String();
  };
  const std::vector<std::vector<int>> chords{{48, 52, 55}, {48, 53, 57}, {47, 53, 55}};
  for (const auto& chord : chords) {
    for (const int key : chord) desk.press({key}, false);
    desk.play(bar - 5);
    CHECK(!stand().contains("then"));
    if (chord == chords.back()) desk.processor().session().give(Signal::round);
    for (const int key : chord) desk.letGo({key}, false);
    desk.play(4);
  }
  desk.play(20);
  CHECK(stand().contains("C, "));
  CHECK(stand().contains("then F"));
  CHECK(stand().contains("round"));
  CHECK(!stand().contains("singer"));
  desk.play(2 * bar);
  CHECK(stand().contains("G7, "));
  CHECK(stand().contains("then C"));
  CHECK(stand().contains("singer in 3"));
  if (const auto* folder = std::getenv("SEGUENTE_PICTURES")) {
    const auto shot = desk.window().createComponentSnapshot(desk.window().getLocalBounds());
    juce::FileOutputStream out(juce::File(folder).getChildFile("stand-round.png"));
    juce::PNGImageFormat().writeImageToStream(shot, out);
  }
  desk.play(Desk::quarterBlocks);
  CHECK(stand().contains("singer in 2"));
  desk.processor().session().give(Signal::round);
  desk.play(2);
  CHECK(!stand().contains("then"));
}
