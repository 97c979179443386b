// A line of letters that one types, behind its label.
#pragma once

#include "plugin/editor/element.h"

namespace seguente::screen {

class TypedLine final : public Element {
 public:
  static constexpr int height = 32;
  TypedLine(const Look& look, const juce::String& label, const juce::String& remark);
  /// Told with every letter.
  std::function<void(const juce::String&)> typed;
  /// Return, Escape.
  std::function<void()> done, leave;
  const juce::String& words() const { return words_; }
  /// Tells nobody.
  void set(const juce::String& words);

  std::vector<PlacedText> texts() const override;
  std::vector<juce::Rectangle<int>> targets() const override { return {getLocalBounds()}; }
  bool keyPressed(const juce::KeyPress& key) override;
  void mouseDown(const juce::MouseEvent&) override;
  std::unique_ptr<juce::AccessibilityHandler> createAccessibilityHandler() override;
  /// As if typed.
  void type(const juce::String& words);

 private:
  void drawMarks(juce::Graphics& g) const override;
  int labelRoom() const { return widthOf(font(screen::type::comment), label_) + 10; }
  juce::String label_, words_;
};

}  // namespace seguente::screen
