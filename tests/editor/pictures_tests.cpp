// Pictures of the real thing: into the folder that SEGUENTE_PICTURES names, as docs/editor.png was made.
#include <cstdlib>

#include "tests/catch.h"
#include "tests/editor/desk.h"

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

void soundG7(Desk& desk) {
  for (const auto& chord : {std::initializer_list<int>{48, 52, 55}, {53, 57, 60 - 3}, {48, 52, 55}}) {
    desk.press(chord);
    desk.play(118);
    desk.letGo(chord);
  }
  desk.press({47, 53, 55});
  desk.press({74});
  desk.play(20);
}

}  // namespace

TEST_CASE("The window is drawn at every size, on light and dark paper, idle and with a chord") {
  Desk desk;
  desk.processor().values().set(ParameterId::idiom, 1);
  desk.play(1);
  picture(desk, "idle");
  soundG7(desk);
  picture(desk, "editor");
  for (const int percent : screen::sizes) {
    desk.window().setPercent(percent);
    picture(desk, "size-" + juce::String(percent));
  }
  desk.window().setPercent(100);
  desk.window().setDark(true);
  picture(desk, "dark");
  desk.processor().session().give(Signal::hold);
  desk.processor().signals().set(Signal::hold, {GiverKind::controller, 0, 67});
  desk.processor().signals().learn(Signal::hold);
  desk.play(4);
  picture(desk, "dark-holding");
  desk.window().setDark(false);
  desk.sizeTo(screen::smallestWidth, screen::smallestHeight);
  shownElements(desk)[3]->focusGained(juce::Component::focusChangedByTabKey);
  picture(desk, "small");
  desk.page().open(screen::Opened::settings);
  picture(desk, "small-settings");
  desk.sizeTo(960, 640);
  fieldOf(desk, ParameterId::ownTempo)->focusGained(juce::Component::focusChangedByTabKey);
  picture(desk, "settings");
  desk.page().open(screen::Opened::help);
  picture(desk, "help");
  desk.processor().setStateInformation("version = 99", 12);
  desk.play(1);
  desk.page().open(screen::Opened::messages);
  picture(desk, "messages");
  desk.page().open(screen::Opened::desk);
  desk.sizeTo(1400, 900);
  picture(desk, "large");
}
