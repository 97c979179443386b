// The window at home, without a display and without a sound card: what the computer's keys play, what the first page
// does, what is said, and that everything can be reached, is named, and has room.
#include <unistd.h>

#include <algorithm>
#include <cstdlib>
#include <set>
#include <string>
#include <vector>

#include "plugin/editor/strings.h"
#include "plugin/standalone/home_window.h"
#include "tests/catch.h"

using namespace seguente;
using namespace seguente::home;
using screen::plain;

namespace {

/// A home with made-up devices in a folder of its own, played in blocks of 480 at 48 kHz: a hundredth of a second each.
class Evening {
 public:
  explicit Evening(bool again = false) {
    if (!again) folder().deleteRecursively();
    open();
  }
  static juce::File folder() {
    return juce::File::getSpecialLocation(juce::File::tempDirectory)
        .getChildFile("seguente-home-" + juce::String(static_cast<juce::int64>(getpid())));
  }
  Home& home() { return *home_; }
  HomeWindow& window() { return *window_; }
  screen::Page& page() { return window_->window().page(); }
  void play(double seconds) {
    for (int left = static_cast<int>(seconds * 100); left > 0; --left) {
      home_->live().block(nullptr, 0, 480);
      window_->window().refresh();
    }
    window_->look();
  }
  void press(int key) {
    down.insert(key);
    window_->keyPressed(juce::KeyPress(key), nullptr);
  }
  void letGo(int key) {
    down.erase(key);
    window_->keyStateChanged(false, nullptr);
  }
  View view() {
    home_->processor().score().read();
    return home_->processor().score().view();
  }
  std::set<int> down;
  std::vector<PortInfo> inputs, outputs;
  std::vector<std::vector<std::uint8_t>> sent;
  SendMidi piano;
  juce::StringArray said;

 private:
  void open() {
    Surroundings s;
    s.midi.inputs = [this] { return inputs; };
    s.midi.outputs = [this] { return outputs; };
    s.midi.listen = [this](const PortInfo&, SendMidi hear) -> std::shared_ptr<void> {
      piano = std::move(hear);
      return std::make_shared<int>(0);
    };
    s.midi.open = [this](const PortInfo&) -> SendMidi {
      return [this](std::span<const std::uint8_t> b) { sent.emplace_back(b.begin(), b.end()); };
    };
    s.settings = folder().getChildFile("home.settings");
    s.takes = folder().getChildFile("takes");
    s.card = s.time = false;
    home_ = std::make_unique<Home>(std::move(s));
    home_->live().prepare(48000);
    window_ = std::make_unique<HomeWindow>(*home_);
    window_->releaseAfter = 0;
    window_->isDown = [this](int key) { return down.count(key) > 0; };
    window_->window().setVisible(true);
    home_->say = [this, told = home_->say](const juce::String& words) {
      said.add(words);
      told(words);
    };
    window_->look();
  }
  std::unique_ptr<Home> home_;
  std::unique_ptr<HomeWindow> window_;
};

std::vector<screen::Element*> ownElements(Evening& e) {
  std::vector<screen::Element*> all;
  const auto add = [&](screen::Element& element) {
    if (element.isVisible()) all.push_back(&element);
  };
  e.window().row().forEach(add);
  e.window().sound().forEach(add);
  if (auto* first = e.window().firstPage()) first->forEach(add);
  return all;
}

void picture(Evening& e, const std::string& name) {
  const char* folder = std::getenv("SEGUENTE_PICTURES");
  if (folder == nullptr) return;
  auto& window = e.window().window();
  const auto image = window.createComponentSnapshot(window.getLocalBounds(), true, 1.0f);
  const juce::File file(juce::String(folder) + "/home-" + name + ".png");
  file.deleteFile();
  juce::FileOutputStream out(file);
  juce::PNGImageFormat().writeImageToStream(image, out);
}

}  // namespace

TEST_CASE("the first evening: one key held, and a waltz sounds") {
  Evening e;
  CHECK(e.window().showsFirstPage());
  CHECK(e.home().status().contains(plain(words::noKeyboardYet)));
  picture(e, "first");
  e.press('C');
  e.play(0.1);
  CHECK(e.view().playing);
  CHECK(e.view().meter == Meter{3, 4});
  CHECK(e.view().held.count() == 3);
  CHECK_FALSE(e.view().ours.empty());
  e.play(2.5);
  CHECK_FALSE(e.window().showsFirstPage());  // a bar has been played
  CHECK_FALSE(e.home().firstTime());
  picture(e, "page");
}

TEST_CASE("the first page comes once; how things are set comes again") {
  {
    Evening e;
    e.press('C');
    e.play(3);
    e.home().processor().values().set(ParameterId::idiom, 8);
    e.home().setVolume(35);
    e.home().remember();
  }
  Evening again(true);
  CHECK_FALSE(again.window().showsFirstPage());
  CHECK(again.home().processor().session().slot() == 8);
  CHECK(again.home().volume() == Approx(35));
}

TEST_CASE("the caution stands on the first page and in Help, word for word") {
  Evening e;
  juce::String first;
  for (const auto& placed : e.window().firstPage()->texts()) first << placed.text << " ";
  CHECK(first.contains(plain(words::caution)));
  CHECK(std::string(words::helpParagraphs[0]) == words::caution);
}

TEST_CASE("a key that repeats strikes once; figures play the tune over the chord; letting go ends them") {
  Evening e;
  e.press('C');
  e.press('C');
  e.press('5');
  e.play(0.2);
  CHECK(e.view().tune.has({67}));
  CHECK(e.view().held.count() == 3);
  e.letGo('5');
  e.letGo('C');
  e.play(1.5);
  CHECK(e.view().tune.empty());
  CHECK(e.view().held.empty());
}

TEST_CASE("when another program is typed into, every key goes up") {
  Evening e;
  e.press('C');
  e.press('1');
  e.play(0.2);
  e.window().letGo();
  e.play(0.2);
  CHECK(e.view().held.empty());
  CHECK(e.view().tune.empty());
}

TEST_CASE("with the piano plugged in its keys play too, and when it is pulled they go up") {
  Evening e;
  e.inputs.push_back({"20-0", "Piano"});
  e.window().look();
  CHECK(e.said[e.said.size() - 1] == plain(words::pianoFound).replace("%", "Piano"));
  CHECK(e.home().status().startsWith("Piano"));
  for (const auto key : std::vector<std::uint8_t>{48, 53, 57}) e.piano(std::vector<std::uint8_t>{0x90, key, 80});
  e.play(0.3);
  CHECK(e.view().held.count() == 3);
  CHECK(e.view().playing);
  e.inputs.clear();
  e.window().look();
  e.play(1.5);
  CHECK(e.view().held.empty());
  CHECK(e.said[e.said.size() - 1] == plain(words::pianoGone).replace("%", "Piano"));
}

TEST_CASE("a piano that may sound by itself: it is said, its sound can be turned off, and is given back") {
  Evening e;
  CHECK_FALSE(e.home().pianoMaySound());
  e.inputs.push_back({"20-0", "Piano"});
  e.outputs.push_back({"20-0", "Piano"});
  e.window().look();
  CHECK(e.said[e.said.size() - 1] == plain(words::pianoMaySound).replace("%", "Piano"));
  CHECK(e.sent.empty());
  e.home().setPianoSound(PianoSound::silent);
  CHECK(e.sent.size() == 16);
  CHECK(e.sent[0] == std::vector<std::uint8_t>{0xB0, 122, 0});
  e.home().setPianoSound(PianoSound::asItIs);
  CHECK(e.sent.back() == std::vector<std::uint8_t>{0xBF, 122, 127});
}

TEST_CASE("tapped twice and more, the own tempo is what was tapped; a pause begins anew; the pace is taken out") {
  Evening e;
  const auto tempo = [&] { return e.home().processor().values().get(ParameterId::ownTempo); };
  e.home().tap(10);
  CHECK(tempo() == Approx(100));
  e.home().tap(10.5);
  e.home().tap(11);
  CHECK(tempo() == Approx(120));
  e.home().tap(20);
  CHECK(tempo() == Approx(120));
  e.home().setPace(50);
  e.home().tap(21);
  CHECK(tempo() == Approx(120));  // sixty are heard
}

TEST_CASE("a take is written where it says, with what was played and what sounded") {
  Evening e;
  e.window().keyPressed(juce::KeyPress('R'), nullptr);
  CHECK(e.home().recording());
  e.press('C');
  e.play(2);
  e.letGo('C');
  e.window().keyPressed(juce::KeyPress('R'), nullptr);
  CHECK_FALSE(e.home().recording());
  const auto files = Evening::folder().getChildFile("takes").findChildFiles(juce::File::findFiles, false);
  CHECK(files.size() == 3);
  for (const auto& file : files) CHECK(e.said[e.said.size() - 1].contains(file.getFileName()));
}

TEST_CASE("everything of the program's own is named, says what it does, can be reached, and has room") {
  for (const auto& [width, height] :
       {std::pair{1280, 800}, std::pair{1024, 700}, std::pair{720, 480}, std::pair{640, 400}}) {
    Evening e;
    e.inputs.push_back({"20-0", "Piano"});
    e.outputs.push_back({"20-0", "Piano"});
    e.window().window().setSize(width, height);
    e.window().look();
    INFO(width << " by " << height);
    picture(e, std::to_string(width));
    for (auto* element : ownElements(e)) {
      INFO(element->getTitle());
      CHECK(element->getTitle().isNotEmpty());
      for (const auto& placed : element->texts()) {
        INFO(placed.text);
        CHECK(element->getLocalBounds().expanded(1).contains(
            placed.area.withWidth(std::min(placed.area.getWidth(), screen::widthOf(placed.font, placed.text)))));
      }
      for (const auto& target : element->targets())
        CHECK((target.getWidth() >= screen::smallestTarget && target.getHeight() >= screen::smallestTarget));
      if (element->getWantsKeyboardFocus()) CHECK(element->remark().isNotEmpty());
    }
    const auto order = juce::KeyboardFocusTraverser().getAllComponents(&e.page());
    for (auto* element : ownElements(e))
      if (element->getWantsKeyboardFocus() && element->isShowing())
        CHECK(std::find(order.begin(), order.end(), element) != order.end());
  }
}
