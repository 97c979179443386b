// A word that is pressed, on a line of its own; in a frame where it is the next thing to do.
#pragma once

#include "plugin/editor/element.h"

namespace seguente::screen {

class WordTarget final : public Element {
 public:
  WordTarget(const Look& look, const juce::String& word, const juce::String& remark);
  std::function<void()> press;
  /// Shown in its place, and said; the letter that presses it stands behind.
  void setWord(const juce::String& word, bool on = false);
  void setLetter(const juce::String& letter) { show(*this, letter_, letter); }
  void setFramed(bool framed) { show(*this, framed_, framed); }
  int widthNeeded() const;

  std::vector<PlacedText> texts() const override;
  std::vector<juce::Rectangle<int>> targets() const override { return {getLocalBounds().reduced(edge, 2)}; }
  bool keyPressed(const juce::KeyPress& key) override;
  void mouseDown(const juce::MouseEvent&) override { act(); }

 private:
  void drawMarks(juce::Graphics& g) const override;
  void act() override {
    if (press) press();
  }
  juce::String word_, letter_;
  bool on_ = false, framed_ = false;
};

}  // namespace seguente::screen
