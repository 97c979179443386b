#include <atomic>
#include <thread>

#include "plugin/editor/strings.h"
#include "tests/catch.h"
#include "tests/editor/desk.h"

using namespace seguente;
using namespace seguente::test;

namespace {

/// Stands where JUCE keeps a component's picture, and notes every area that is to be drawn anew.
class Repaints final : public juce::CachedComponentImage {
 public:
  explicit Repaints(std::vector<juce::Rectangle<int>>& areas) : areas_(areas) {}
  void paint(juce::Graphics&) override {}
  bool invalidateAll() override { return areas_.push_back({0, 0, 100000, 100000}), true; }
  bool invalidate(const juce::Rectangle<int>& area) override { return areas_.push_back(area), true; }
  void releaseResources() override {}

 private:
  std::vector<juce::Rectangle<int>>& areas_;
};

juce::StringArray wordsOf(const screen::Element& element) {
  juce::StringArray all;
  for (const auto& placed : element.texts()) all.add(placed.text);
  return all;
}

template <class Wanted>
Wanted& the(Desk& desk) {
  for (auto* element : shownElements(desk))
    if (auto* wanted = dynamic_cast<Wanted*>(element)) return *wanted;
  throw std::runtime_error("not shown");
}

}  // namespace

TEST_CASE("How it is made says what the hand holds and what it is called") {
  Desk desk;
  auto& made = the<screen::MadeView>(desk);
  CHECK(wordsOf(made).contains(words::noChord));
  desk.press({47, 53, 55});  // beginners' dominant seventh
  desk.play(40);
  CHECK(wordsOf(made).contains("You hold B F G: that is G7, fifth left out."));
  desk.letGo({47, 53, 55});
  desk.play(200);
  desk.press({48});
  desk.play(40);
  CHECK(wordsOf(made).contains(words::oneKey));
}

TEST_CASE("How it is made follows a chord that is named a little after its keys went down") {
  Desk desk;
  auto& made = the<screen::MadeView>(desk);
  desk.press({45, 48, 52});
  desk.play(100);
  desk.letGo({45, 48, 52}, false);
  desk.press({53, 57});  // two keys: the gather window passes before they are named
  desk.play(30);
  const auto view = desk.processor().score().view();
  CHECK(desk.page().desk().preview().chord() == view.chord);
  CHECK(wordsOf(made).joinIntoString(" ").contains("You hold F A: that is F"));
}

TEST_CASE("The time is written as over a score: tempo and who gives it") {
  Desk desk;
  desk.play(1);
  auto& time = the<screen::TimeView>(desk);
  CHECK(wordsOf(time).contains("= 96"));
  CHECK(wordsOf(time).contains("from the host"));
  CHECK(time.getTitle().contains("playing"));
  CHECK_FALSE(wordsOf(time).contains("stopped"));
  desk.roll(false);
  desk.play(2);
  CHECK(wordsOf(time).contains("stopped"));
}

TEST_CASE("Bar and beat count from the last bar line, also before the session's start") {
  View view;
  view.meter = {3, 4};
  view.tick = quarter * -1;
  CHECK(screen::barBeatOf(view) == screen::BarBeat{0, 3});
  view.barStart = quarter * 3;
  view.bar = 2;
  view.tick = quarter * 11;  // the line that is known is not the last one
  CHECK(screen::barBeatOf(view) == screen::BarBeat{4, 3});
}

TEST_CASE("The legend has a word for each mark, and the keyboard says what sounds") {
  Desk desk;
  CHECK(wordsOf(the<screen::Legend>(desk)) == juce::StringArray("held", "melody", "accompaniment", "next"));
  desk.press({48, 52, 55, 76});
  desk.play(20);
  const auto title = the<screen::KeyboardView>(desk).getTitle();
  CHECK(title.contains("held C3 E3 G3; melody E5"));
  CHECK_FALSE(title.contains("accompaniment nothing"));
  CHECK(wordsOf(the<screen::KeyboardView>(desk)).contains("chord hand, up to B3"));
  desk.processor().values().set(ParameterId::handSplit, 0);
  desk.play(20);
  CHECK(wordsOf(the<screen::KeyboardView>(desk)).contains("hands are told apart by listening"));
}

TEST_CASE("What nothing has happened to is not drawn again, and a key that changes draws itself alone") {
  Desk desk;
  desk.press({48, 52, 55, 76});
  desk.play(3);
  std::vector<juce::Rectangle<int>> areas;
  desk.window().setCachedComponentImage(new Repaints(areas));
  areas.clear();  // of setting it

  for (int i = 0; i < 30; ++i) desk.window().refresh();
  CHECK(areas.empty());

  desk.letGo({76});
  auto& keyboard = the<screen::KeyboardView>(desk);
  const auto whole = desk.window().getLocalArea(&keyboard, keyboard.getLocalBounds());
  int onKeys = 0;
  for (const auto& area : areas) {
    INFO(area.toString());
    if (!whole.contains(area)) continue;
    ++onKeys;
    CHECK(area.getWidth() < 3 * 22);
  }
  CHECK(onKeys >= 1);

  areas.clear();
  desk.processor().values().set(ParameterId::splitKey, 61);  // the wedge under the keys
  desk.window().refresh();
  CHECK_FALSE(areas.empty());
  for (const auto& area : areas) CHECK(area.getHeight() < 200);
}

TEST_CASE("The last message stands in the footnote, the rest behind it") {
  Desk desk;
  auto& footnote = the<screen::Footnote>(desk);
  CHECK(wordsOf(footnote).contains(words::firstRemark));
  desk.processor().setStateInformation("?", 1);
  desk.processor().setStateInformation("!", 1);
  desk.play(1);
  CHECK(footnote.getTitle().contains("cannot be read"));
  CHECK(pressKey(footnote, juce::KeyPress::returnKey));
  CHECK(desk.page().opened() == screen::Opened::messages);
  const auto text = wordsOf(the<screen::TextPage>(desk)).joinIntoString(" ");
  CHECK(text.indexOf("cannot be read") != text.lastIndexOf("cannot be read"));
}

TEST_CASE("Help says to take care of ears and hands") {
  Desk desk;
  desk.page().open(screen::Opened::help);
  CHECK(wordsOf(the<screen::TextPage>(desk)).joinIntoString(" ").contains("Take care of ears and hands"));
}

TEST_CASE("A window may be opened, used and closed while another thread plays") {
  Processor processor;
  processor.prepareToPlay(48000, 64);
  std::atomic<bool> stop{false};
  std::atomic<std::uint64_t> blocks{0};
  std::thread audioThread([&] {
    juce::AudioBuffer<float> audio(0, 64);
    juce::MidiBuffer midi;
    for (std::uint64_t n = 0; !stop.load(); ++n) {
      midi.clear();
      const int key = 40 + static_cast<int>(n / 40 * 7 % 40);
      if (n % 40 == 0) midi.addEvent(juce::MidiMessage::noteOn(1, key, juce::uint8{70}), 3);
      if (n % 40 == 35) midi.addEvent(juce::MidiMessage::noteOff(1, key), 5);
      processor.processBlock(audio, midi);
      blocks.store(n + 1);
    }
  });
  for (int i = 0; i < 60; ++i) {
    std::unique_ptr<juce::AudioProcessorEditor> editor(processor.createEditor());
    auto& window = dynamic_cast<screen::Window&>(*editor);
    window.setVisible(true);
    const auto before = blocks.load();
    while (blocks.load() < before + 5) std::this_thread::yield();
    window.page().open(static_cast<screen::Opened>(i % 6));
    processor.signals().learn(i % 2 == 0 ? std::optional(Signal::hold) : std::nullopt);
    processor.session().give(static_cast<Signal>(i % static_cast<int>(signalCount)));
    processor.values().set(ParameterId::idiom, i % 7);
    window.refresh();
    window.setPercent(screen::sizes[i % 5]);
    window.createComponentSnapshot(window.getLocalBounds(), true, 0.25f);
  }
  stop.store(true);
  audioThread.join();
  CHECK(blocks.load() >= 300);
}
