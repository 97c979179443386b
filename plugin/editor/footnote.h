// The foot of the page: what is pointed at, else the last message; pressed, all of them.
#pragma once

#include "plugin/editor/element.h"

namespace seguente::screen {

class Footnote final : public Element {
 public:
  explicit Footnote(const Look& look);
  std::function<void()> open;
  void setMessage(const juce::String& message);
  /// What is pointed at; empty: the last message again.
  void say(const juce::String& remark);
  int widthNeeded() const;
  std::vector<PlacedText> texts() const override;
  std::vector<juce::Rectangle<int>> targets() const override { return {getLocalBounds()}; }
  bool keyPressed(const juce::KeyPress& key) override;
  void mouseDown(const juce::MouseEvent&) override { act(); }

 private:
  void act() override;
  juce::String line() const;
  juce::String message_, remark_;
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
