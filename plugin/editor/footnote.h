// The last message, as a footnote; pressed, all of them. And the line that says what is pointed at.
#pragma once

#include "plugin/editor/element.h"

namespace seguente::screen {

class Footnote final : public Element {
 public:
  explicit Footnote(const Look& look);
  std::function<void()> open;
  void setMessage(const juce::String& message);
  std::vector<PlacedText> texts() const override;
  std::vector<juce::Rectangle<int>> targets() const override { return {getLocalBounds()}; }
  bool keyPressed(const juce::KeyPress& key) override;
  void mouseDown(const juce::MouseEvent&) override { act(); }

 private:
  void act() override;
  juce::String message_;
};

class RemarkLine final : public Element {
 public:
  static constexpr int height = 36;
  explicit RemarkLine(const Look& look);
  void say(const juce::String& remark);
  std::vector<PlacedText> texts() const override;

 private:
  juce::String remark_;
};

/// A heading and paragraphs, as tall as they need to be; stands in a Scroll. Arrows and Page keys turn it.
class TextPage final : public Element {
 public:
  TextPage(const Look& look, const juce::String& heading);
  void setParagraphs(const juce::StringArray& paragraphs);
  void fit(int width);
  std::vector<PlacedText> texts() const override;
  bool keyPressed(const juce::KeyPress& key) override;

 private:
  std::vector<juce::String> linesOf(const juce::String& paragraph) const;
  juce::String heading_;
  juce::StringArray paragraphs_;
};

}  // namespace seguente::screen
