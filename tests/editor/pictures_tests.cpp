// Pictures of the real thing: into the folder that SEGUENTE_PICTURES names, as docs/editor.png was made.
#include <cstdlib>

#include "tests/catch.h"
#include "tests/editor/desk.h"
#include "tests/editor/own_home.h"

using namespace seguente;
using namespace seguente::test;

namespace {

void picture(Desk& desk, const juce::String& name) {
  const float scale = 1;
  const auto image = desk.window().createComponentSnapshot(desk.window().getLocalBounds(), true, scale);
  int ink = 0;
  for (int x = 0; x < image.getWidth(); x += 2)
    for (int y = 0; y < image.getHeight(); y += 2)
      ink += image.getPixelAt(x, y) == desk.window().look().palette.page ? 0 : 1;
  CHECK(ink * 4 > image.getWidth() * image.getHeight() / 50);  // more than one part in fifty is drawn on
  const char* folder = std::getenv("SEGUENTE_PICTURES");
  if (folder == nullptr) return;
  const auto file = juce::File(juce::String::fromUTF8(folder)).getChildFile(name + ".png");
  file.deleteFile();
  juce::FileOutputStream out(file);
  CHECK(juce::PNGImageFormat().writeImageToStream(image, out));
}

}  // namespace

TEST_CASE("The window is drawn at every size, on light and dark paper, idle and with a chord") {
  Desk desk;
  desk.count(3, 4);
  desk.processor().values().set(ParameterId::idiom, 1);
  desk.processor().values().set(ParameterId::density, 0);
  desk.play(1);
  picture(desk, "idle");
  desk.processor().session().give(Signal::silenceAll);
  playWaltz(desk, 6);
  picture(desk, "editor");
  for (const int percent : screen::sizes) {
    desk.window().setPercent(percent);
    picture(desk, "size-" + juce::String(percent));
  }
  desk.window().setPercent(100);
  desk.page().open(screen::Opened::stand);
  desk.play(1);
  picture(desk, "stand");
  desk.page().open(screen::Opened::desk);
  desk.window().setDark(true);
  picture(desk, "dark");
  desk.processor().session().give(Signal::hold);
  desk.processor().signals().set(Signal::hold, {GiverKind::controller, 0, 67});
  desk.play(4);
  picture(desk, "dark-holding");
  desk.processor().session().give(Signal::goOn);
  desk.window().setDark(false);
  for (const auto& [width, height] : {std::pair{760, 500}, {720, 480}, {640, 400}, {1024, 768}, {1920, 1080}}) {
    desk.sizeTo(width, height);
    desk.play(1);
    picture(desk, "at-" + juce::String(width));
  }
  desk.sizeTo(760, 500);
  desk.page().open(screen::Opened::contents);
  picture(desk, "small-contents");
  desk.page().open(screen::Opened::stand);
  desk.play(1);
  picture(desk, "small-stand");
  desk.page().open(screen::Opened::settings);
  picture(desk, "small-settings");
  desk.sizeTo(1280, 800);
  fieldOf(desk, ParameterId::ownTempo)->focusGained(juce::Component::focusChangedByTabKey);
  picture(desk, "settings");
  desk.page().open(screen::Opened::help);
  picture(desk, "help");
  desk.processor().setStateInformation("version = 99", 12);
  desk.play(1);
  desk.page().open(screen::Opened::messages);
  picture(desk, "messages");
  desk.page().open(screen::Opened::desk);
  desk.page().desk().score().freeze(1);
  desk.page().desk().score().step(1);
  desk.page().desk().score().step(1);
  picture(desk, "frozen");
}

TEST_CASE("A figure that is played in is drawn from the first bar to its name") {
  Desk desk;
  const auto press = [&](const char* word) {
    for (auto* element : shownElements(desk))
      if (element->getTitle() == word) pressKey(*element, juce::KeyPress::returnKey);
  };
  desk.press({72, 76, 79});
  press("Play one in");
  for (int i = 0; i < 10; ++i) {
    desk.press({i % 2 == 0 ? 36 : 43});
    desk.play(Desk::quarterBlocks - 11);
    desk.letGo({i % 2 == 0 ? 36 : 43});
    desk.play(9);
  }
  picture(desk, "playing-in");
  press("That was it");
  picture(desk, "played-in");
  desk.sizeTo(640, 400);
  desk.page().open(screen::Opened::contents);
  picture(desk, "small-played-in");
}

TEST_CASE("A figure that is edited is drawn with its step framed and all that can be done to it") {
  OwnHome home;
  home.write("my-march.toml", ownMarch("my-march", "My march"));
  Desk desk;
  desk.play(1);
  desk.page().desk().editing().press();
  picture(desk, "copying");
  desk.page().desk().editing().press();
  for (const auto slot : desk.processor().shelf().filled())
    if (desk.processor().shelf().entry(slot).id == "my-march")
      desk.processor().values().set(ParameterId::idiom, static_cast<double>(slot));
  desk.press({48, 52, 55});
  desk.play(Desk::quarterBlocks * 5);
  desk.page().desk().editing().press();
  desk.page().desk().made().picked(FigureKind::statement, 2);
  picture(desk, "editing");
  desk.window().setDark(true);
  picture(desk, "dark-editing");
  desk.window().setDark(false);
  for (const auto& [width, height] : {std::pair{640, 400}, {760, 500}, {1024, 768}}) {
    desk.sizeTo(width, height);
    picture(desk, "editing-" + juce::String(width));
  }
}
