// Where one types what an idiom may be called.
#pragma once

#include "plugin/editor/element.h"

namespace seguente::screen {

class FindField final : public Element {
 public:
  static constexpr int height = 32;
  explicit FindField(const Look& look);
  /// Told with every letter.
  std::function<void(const juce::String&)> sought;
  /// Return, or the arrow down: on to what was found.
  std::function<void()> leave;
  const juce::String& words() const { return words_; }
  void set(const juce::String& words);

  std::vector<PlacedText> texts() const override;
  std::vector<juce::Rectangle<int>> targets() const override { return {getLocalBounds()}; }
  bool keyPressed(const juce::KeyPress& key) override;
  void mouseDown(const juce::MouseEvent&) override;
  std::unique_ptr<juce::AccessibilityHandler> createAccessibilityHandler() override;

 private:
  void drawMarks(juce::Graphics& g) const override;
  juce::String words_;
};

}  // namespace seguente::screen
