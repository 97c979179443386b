#include <set>

#include "plugin/editor/strings.h"
#include "tests/catch.h"
#include "tests/editor/desk.h"
#include "tests/editor/own_home.h"

using namespace seguente;
using namespace seguente::test;

namespace {

/// No two shown children of one component overlap, and none leaves it. What scrolls may be taller than its window.
void checkChildren(const juce::Component& parent) {
  const auto* scroll = dynamic_cast<const juce::Viewport*>(&parent);
  std::vector<const juce::Component*> shown;
  for (const auto* child : parent.getChildren())
    if (child->isVisible()) shown.push_back(child);
  for (std::size_t i = 0; i < shown.size(); ++i) {
    const auto bounds = shown[i]->getBounds();
    INFO(shown[i]->getTitle() << " at " << bounds.toString() << " in " << parent.getTitle() << " of "
                              << parent.getLocalBounds().toString());
    CHECK(bounds.getWidth() > 0);
    CHECK(bounds.getHeight() > 0);
    CHECK(parent.getLocalBounds().contains(bounds));
    for (std::size_t j = i + 1; j < shown.size(); ++j) {
      INFO("beside " << shown[j]->getTitle() << " at " << shown[j]->getBounds().toString());
      // Contents, the way back on the stand and the density's words stand where others leave room for them: their
      // texts are looked at below.
      const bool guest = dynamic_cast<const screen::LeaveTarget*>(shown[j]) != nullptr ||
                         dynamic_cast<const screen::LeaveTarget*>(shown[i]) != nullptr ||
                         dynamic_cast<const screen::MadeView*>(shown[i]) != nullptr ||
                         dynamic_cast<const screen::MadeView*>(shown[j]) != nullptr ||
                         dynamic_cast<const screen::ContentsPage*>(shown[i]) != nullptr ||
                         dynamic_cast<const screen::ContentsPage*>(shown[j]) != nullptr;
      if (!guest) CHECK_FALSE(bounds.intersects(shown[j]->getBounds()));
    }
    if (scroll == nullptr && dynamic_cast<const juce::TextEditor*>(shown[i]) == nullptr) checkChildren(*shown[i]);
  }
  if (scroll == nullptr) return;
  const auto* inside = scroll->getViewedComponent();
  CHECK(inside->getWidth() <= scroll->getViewWidth());  // nothing scrolls sideways
  checkChildren(*inside);
}

/// Where the letters of a text really stand.
juce::Rectangle<int> inkOf(const screen::PlacedText& placed) {
  const int width = screen::widthOf(placed.font, placed.text);
  const auto area = placed.area;
  if (placed.side == screen::Side::right) return area.withLeft(area.getRight() - width);
  if (placed.side == screen::Side::middle) return area.withSizeKeepingCentre(width, area.getHeight());
  return area.withWidth(width);
}

void checkTexts(const screen::Element& element) {
  static const screen::Letters letters;
  const auto placed = element.texts();
  for (std::size_t i = 0; i < placed.size(); ++i) {
    INFO("'" << placed[i].text << "' at " << placed[i].area.toString() << " needs "
             << screen::widthOf(placed[i].font, placed[i].text) << " in " << element.getTitle() << " "
             << element.getLocalBounds().toString());
    CHECK(element.getLocalBounds().contains(placed[i].area));
    CHECK(screen::widthOf(placed[i].font, placed[i].text) <= placed[i].area.getWidth());
    CHECK(letters.emOf(placed[i].font) <= static_cast<float>(placed[i].area.getHeight()) + 1);
    if (placed[i].text.isEmpty()) continue;
    for (std::size_t j = i + 1; j < placed.size(); ++j) {
      INFO("beside '" << placed[j].text << "' at " << placed[j].area.toString());
      if (placed[j].text.isNotEmpty()) CHECK_FALSE(inkOf(placed[i]).intersects(inkOf(placed[j])));
    }
  }
}

void checkTargets(const screen::Element& element) {
  for (const auto& target : element.targets()) {
    INFO(element.getTitle() << ": " << target.toString());
    CHECK(target.getWidth() >= screen::smallestTarget);
    CHECK(target.getHeight() >= screen::smallestTarget);
    CHECK(element.getLocalBounds().contains(target));
  }
}

void checkPage(Desk& desk) {
  checkChildren(desk.page());
  std::vector<std::pair<juce::Rectangle<int>, juce::String>> inks;
  for (const auto* element : shownElements(desk)) {
    checkTexts(*element);
    checkTargets(*element);
    if (element->findParentComponentOfClass<juce::Viewport>() != nullptr) continue;
    for (const auto& placed : element->texts())
      if (placed.text.isNotEmpty()) inks.emplace_back(desk.page().getLocalArea(element, inkOf(placed)), placed.text);
  }
  for (std::size_t i = 0; i < inks.size(); ++i)
    for (std::size_t j = i + 1; j < inks.size(); ++j) {
      INFO("'" << inks[i].second << "' and '" << inks[j].second << "'");
      CHECK_FALSE(inks[i].first.reduced(0, 4).intersects(inks[j].first.reduced(0, 4)));
    }
}

void checkAllViews(Desk& desk) {
  for (const auto view : {screen::Opened::contents, screen::Opened::desk, screen::Opened::stand, screen::Opened::order,
                          screen::Opened::settings, screen::Opened::help, screen::Opened::messages}) {
    INFO("view " << static_cast<int>(view));
    desk.page().open(view);
    checkPage(desk);
  }
  desk.page().open(screen::Opened::desk);
}

}  // namespace

TEST_CASE("The letters of this program have sharps and flats") {
  const screen::Letters letters;
  for (const auto weight : {screen::Weight::roman, screen::Weight::italic, screen::Weight::bold})
    CHECK(screen::widthOf(letters.font(16, weight), "x") > 0);
  const auto drawn = [&](const juce::String& text) {
    const juce::Image image(juce::Image::RGB, 40, 40, true);
    juce::Graphics g(image);
    g.setColour(juce::Colours::white);
    g.setFont(letters.font(30, screen::Weight::bold));
    g.drawText(text, 0, 0, 40, 40, juce::Justification::centred, false);
    std::string pixels;
    for (int y = 0; y < 40; ++y)
      for (int x = 0; x < 40; ++x) pixels += static_cast<char>(image.getPixelAt(x, y).getRed());
    return pixels;
  };
  std::set<std::string> different{drawn(" "), drawn(juce::String::charToString(0xFFFF))};
  for (const auto* sign : {"\u266f", "\u266d", "\u00b0", "\u00f8"})
    CHECK(different.insert(drawn(screen::plain(sign))).second);
}

TEST_CASE("Nothing overlaps, is cut or is too small to press at any size from 75 to 200 per cent") {
  Desk desk;
  for (const int percent : screen::sizes)
    for (const auto& [width, height] :
         {std::pair{640, 400}, {720, 480}, {760, 500}, {960, 640}, {1280, 800}, {2560, 1440}}) {
      INFO(percent << " % of " << width << " by " << height);
      desk.window().setPercent(percent);
      desk.sizeTo(width, height);
      CHECK(desk.page().getWidth() >= width);
      CHECK(std::abs(desk.window().getLocalArea(&desk.page(), desk.page().getLocalBounds()).getWidth() -
                     desk.window().getWidth()) <= 2);
      checkAllViews(desk);
    }
}

TEST_CASE("The page holds what is longest: every value, long chords, pedals, beats, messages") {
  Desk desk;
  desk.sizeTo(screen::smallestWidth, screen::smallestHeight);
  SECTION("each row at its ends") {
    for (const auto& row : parameterTable())
      for (const double value : {row.low, row.high}) {
        INFO(row.id << " at " << value);
        desk.processor().values().set(row.which, value);
        desk.play(1);
        checkAllViews(desk);
        desk.processor().values().set(row.which, row.standard);
      }
  }
  SECTION("chords with and without a name") {
    desk.processor().values().set(ParameterId::handSplit, 1);  // by key: nobody holds these with one hand
    desk.press({36, 37, 38, 39, 40, 41, 42, 43, 44});
    desk.play(40);
    checkPage(desk);
    desk.letGo({36, 37, 38, 39, 40, 41, 42, 43, 44});
    desk.press({42, 46, 49, 52, 55});
    desk.play(40);
    desk.press({20, 109, 110});
    checkPage(desk);
  }
  SECTION("every signal with the longest giver, and one that listens") {
    for (std::size_t i = 0; i < signalCount; ++i)
      desk.processor().signals().set(static_cast<Signal>(i),
                                     {GiverKind::controller, static_cast<std::uint8_t>(15 - i), 119});
    desk.processor().signals().learn(Signal::silenceAll);
    desk.play(1);
    checkPage(desk);
  }
  SECTION("a running order with long titles, a preset without its idiom, and a message on the stand") {
    std::string text = "format = 1\ntitle = \"" + std::string(110, 'W') + "\"\nabout = \"" + std::string(50, 'w') +
                       " " + std::string(60, 'w') + "\"\n";
    for (int i = 0; i < 14; ++i)
      text += "[[presets]]\ntitle = \"" + std::string(30 + static_cast<std::size_t>(i) * 6, 'M') + "\"\nabout = \"" +
              std::string(100, 'm') + "\"\nidiom = \"" + (i % 2 == 0 ? "waltz" : std::string(60, 'n')) + "\"\n";
    desk.processor().orders().restore(SavedOrder{std::string(80, 'f') + ".toml", text, 9});
    desk.play(1);
    checkAllViews(desk);
    desk.sizeTo(1280, 800);
    checkAllViews(desk);
  }
  SECTION("a long message") {
    const std::string rubbish = "version = 1\n" + std::string(400, 'x') + " = {";
    desk.processor().setStateInformation(rubbish.data(), static_cast<int>(rubbish.size()));
    desk.play(1);
    REQUIRE(desk.processor().messageCount() == 1);
    checkAllViews(desk);
    for (auto* element : shownElements(desk))
      if (auto* footnote = dynamic_cast<screen::Footnote*>(element))
        footnote->setMessage(juce::String::repeatedString("so many words ", 60));
    checkPage(desk);
  }
}

TEST_CASE("Nothing overlaps or is cut while a figure is edited, or its copy is asked for its name") {
  OwnHome home;
  home.write("my-long-march.toml", ownMarch("my-long-march", "A march with a long name of my own"));
  Desk desk;
  const auto everywhere = [&] {
    for (const int percent : {75, 100, 200})
      for (const auto& [width, height] : {std::pair{640, 400}, {720, 480}, {960, 640}, {1280, 800}}) {
        INFO(percent << " % of " << width << " by " << height);
        desk.window().setPercent(percent);
        desk.sizeTo(width, height);
        checkPage(desk);
      }
  };
  desk.press({48, 52, 55});
  desk.play(8);
  desk.page().desk().editing().press();
  everywhere();  // it is shipped
  desk.page().desk().editing().press();
  for (const auto slot : desk.processor().shelf().filled())
    if (desk.processor().shelf().entry(slot).id == "my-long-march")
      desk.processor().values().set(ParameterId::idiom, static_cast<double>(slot));
  desk.play(8);
  desk.page().desk().editing().press();
  REQUIRE(desk.page().desk().editing().model().on());
  everywhere();
}

TEST_CASE("Nothing overlaps or is cut while a figure is played in, is asked for its name, or was too little") {
  Desk desk;
  auto& panel = desk.page().contents().playIn();
  const auto everywhere = [&] {
    for (const auto& [width, height] : {std::pair{640, 400}, {960, 640}, {1280, 800}}) {
      INFO(width << " by " << height);
      desk.sizeTo(width, height);
      for (const auto view : {screen::Opened::contents, screen::Opened::desk}) {
        desk.page().open(view);
        checkPage(desk);
      }
    }
  };
  const auto press = [&] {
    panel.forEach([](screen::Element& element) {
      if (element.getHelpText() == screen::plain(words::playOneInRemark)) pressKey(element, juce::KeyPress::returnKey);
    });
  };
  desk.press({72, 76, 79});
  press();
  everywhere();
  press();
  everywhere();  // nothing was played in
  press();
  desk.letGo({72, 76, 79});
  for (int i = 0; i < 8; ++i) {
    desk.press({i % 2 == 0 ? 36 : 43});
    desk.play(Desk::quarterBlocks - 11);
    desk.letGo({i % 2 == 0 ? 36 : 43});
    desk.play(9);
  }
  press();
  panel.name().set(juce::String::repeatedString("M", 40));
  CHECK(panel.name().isVisible());
  everywhere();
}
