// A question that must be answered before anything is written: a sentence, and two words of which one is pressed.
#pragma once

#include "plugin/editor/element.h"

namespace seguente::screen {

/// Stands over the foot of the page while it is asked; Escape is the second answer.
class Question final : public Element {
 public:
  explicit Question(const Look& look);
  /// yes and no: words; the second does nothing. answer: told once.
  void ask(const juce::String& text, const juce::String& yes, const juce::String& no, std::function<void(bool)> answer);
  static constexpr int height = 72;

  std::vector<PlacedText> texts() const override;
  std::vector<juce::Rectangle<int>> targets() const override;
  juce::String remark() const override { return text_; }
  bool keyPressed(const juce::KeyPress& key) override;
  void mouseDown(const juce::MouseEvent& event) override;

 private:
  void drawMarks(juce::Graphics& g) const override;
  void act() override { give(chosen_ == 0); }
  void give(bool yes);
  void choose(int answer);

  juce::String text_;
  juce::StringArray words_;
  std::function<void(bool)> answer_;
  int chosen_ = 1;  // nothing is done by a key that was meant for something else
};

}  // namespace seguente::screen
