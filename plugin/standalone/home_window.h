// The window of the program that stands by itself: the plugin's own screen, with a row of its own, the first page, and
// the computer's keys as an instrument.
#pragma once

#include "plugin/editor/window.h"
#include "plugin/standalone/computer_keys.h"
#include "plugin/standalone/first_page.h"
#include "plugin/standalone/home.h"
#include "plugin/standalone/home_row.h"
#include "plugin/standalone/sound_rows.h"

namespace seguente::home {

class HomeWindow final : private juce::KeyListener, private juce::FocusChangeListener, private juce::Timer {
 public:
  explicit HomeWindow(Home& home);
  ~HomeWindow() override;
  screen::Window& window() { return *screen_; }
  /// Once the window is on the screen: sound, keyboards, and the focus on what is to be done first.
  void begin();
  /// What the timer does, twice a second. Tests call it themselves.
  void look();
  /// Every key of the computer that plays is let go: the window is no longer the one that is typed into.
  void letGo();
  /// Told what is going on, whenever that is another thing.
  std::function<void(const juce::String&)> tellStatus;
  /// Whether a key of the computer is down now; a test says so itself.
  std::function<bool(int)> isDown = [](int key) { return juce::KeyPress::isKeyCurrentlyDown(key); };
  /// A key that seems up is let go when it still is after so many milliseconds: where X11 repeats a key that is held,
  /// it sends releases that are none, each with a press just behind it.
  int releaseAfter = 30;
  bool showsFirstPage() const { return first_ != nullptr; }
  FirstPage* firstPage() { return first_.get(); }
  HomeRow& row() { return row_; }
  SoundRows& sound() { return sound_; }

  bool keyPressed(const juce::KeyPress& key, juce::Component* from) override;
  bool keyStateChanged(bool isKeyDown, juce::Component* from) override;

 private:
  struct Release final : juce::Timer {
    explicit Release(HomeWindow& window) : owner(window) {}
    void timerCallback() override {
      stopTimer();
      owner.releaseKeys();
    }
    HomeWindow& owner;
  };
  void releaseKeys();
  void globalFocusChanged(juce::Component* focused) override;
  void timerCallback() override { look(); }
  void endFirstPage();
  void hold(char letter, bool down);

  Home& home_;
  std::unique_ptr<screen::Window> screen_;
  HomeRow row_;
  SoundRows sound_;
  std::unique_ptr<FirstPage> first_;
  ComputerKeys keys_;
  Release release_{*this};
  char pressed_ = 0;  // a card's letter, while it is pressed
  juce::String status_;
};

}  // namespace seguente::home
