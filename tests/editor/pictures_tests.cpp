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

/// Eight bars of C, F and G7 in three, with a tune over them; the last note comes in bar six.
void waltz(Desk& desk, int bars) {
  struct Bar {
    std::initializer_list<int> chord;
    std::vector<std::pair<int, int>> tune;  // key, quarters
  };
  const std::vector<Bar> piece{{{48, 52, 55}, {{64, 2}, {67, 1}}}, {{48, 52, 55}, {{72, 2}}},
                               {{48, 53, 57}, {{69, 1}, {72, 2}}}, {{48, 53, 57}, {{69, 1}, {68, 1}, {69, 1}}},
                               {{47, 53, 55}, {{67, 2}, {71, 1}}}, {{47, 53, 55}, {{74, 2}, {71, 1}}},
                               {{48, 52, 55}, {{72, 3}}}};
  constexpr int quarterBlocks = 59;  // 512 samples at 48 kHz, 96 quarters a minute: 58.6
  const std::initializer_list<int>* last = nullptr;
  static int carry = 0;
  carry = 0;
  for (int b = 0; b < bars; ++b) {
    const auto& bar = piece[static_cast<std::size_t>(b) % piece.size()];
    if (last == nullptr || !std::equal(last->begin(), last->end(), bar.chord.begin(), bar.chord.end())) {
      if (last != nullptr) desk.letGo(*last);
      desk.press(bar.chord);
      carry += last != nullptr ? 2 : 1;
      last = &bar.chord;
    }
    int left = 3;
    for (const auto& [key, quarters] : bar.tune) {
      desk.press({key});
      if (b + 1 == bars) {  // stops inside its first note
        desk.play(20);
        return;
      }
      const int blocks = quarters * quarterBlocks - 2 - carry - quarters * 4 / 10;
      carry = 0;
      desk.play(std::max(1, blocks));
      desk.letGo({key});
      left -= quarters;
    }
    if (left > 0) desk.play(left * quarterBlocks - carry - left * 4 / 10);
  }
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
  waltz(desk, 6);
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
