// The first start, on the right page: three things to do, and the caution. It gives way to the page by itself when the
// first whole bar has been played.
#pragma once

#include "plugin/editor/drawing.h"
#include "plugin/editor/element.h"
#include "plugin/editor/word_target.h"
#include "plugin/page/engraving.h"

namespace seguente::home {

using screen::WordTarget;

class Home;

/// One chord to begin with, as it is printed and by the key that holds it; held while it is pressed.
class ChordCard final : public screen::Element {
 public:
  ChordCard(const screen::Look& look, char letter, const char* numeral);
  std::function<void(char letter, bool down)> hold;
  std::vector<screen::PlacedText> texts() const override;
  std::vector<juce::Rectangle<int>> targets() const override { return {getLocalBounds().reduced(screen::edge)}; }
  void resized() override;
  bool keyPressed(const juce::KeyPress& key) override;
  bool keyStateChanged(bool isKeyDown) override;
  void mouseDown(const juce::MouseEvent&) override { press(true); }
  void mouseUp(const juce::MouseEvent&) override { press(false); }
  void focusLost(FocusChangeType cause) override;

 private:
  void drawMarks(juce::Graphics& g) const override;
  void press(bool down);
  char letter_;
  const char* numeral_;
  bool down_ = false;
  screen::Drawing drawing_;
};

class FirstPage final : public screen::Element {
 public:
  FirstPage(const screen::Look& look, Home& home);
  std::function<void(char letter, bool down)> hold;
  /// With a piano keyboard, and without sound, it says other things.
  void refresh();
  void resized() override;
  std::vector<screen::PlacedText> texts() const override;
  WordTarget& softNote() { return note_; }
  template <class Visit>
  void forEach(Visit&& visit) {
    visit(*this);
    visit(note_);
    for (auto& card : cards_) visit(*card);
  }

 private:
  struct Shown {
    bool piano = false, sound = true;
    friend bool operator==(const Shown&, const Shown&) = default;
  };
  void drawMarks(juce::Graphics&) const override {}
  juce::Rectangle<int> step(int which) const;

  Home& home_;
  Shown shown_;
  WordTarget note_;
  std::array<std::unique_ptr<ChordCard>, 3> cards_;
};

}  // namespace seguente::home
