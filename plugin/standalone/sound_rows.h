// Under Settings: where the sound goes, how loud it is, how takes are written and where they lie.
#pragma once

#include "plugin/editor/word_choice.h"
#include "plugin/editor/word_target.h"

namespace seguente::home {

using screen::WordTarget;

class Home;

/// A value with less and more, as the fields of the window have it.
class StepField final : public screen::Element {
 public:
  StepField(const screen::Look& look, const juce::String& label, const juce::String& remark);
  /// By so many, up or down: 1, or 10 by the Page keys.
  std::function<void(int)> step;
  void setText(const juce::String& text);
  std::vector<screen::PlacedText> texts() const override;
  std::vector<juce::Rectangle<int>> targets() const override;
  bool keyPressed(const juce::KeyPress& key) override;
  void mouseDown(const juce::MouseEvent& event) override;

 private:
  void drawMarks(juce::Graphics& g) const override;
  juce::String label_, text_;
};

class SoundRows final : public screen::Element {
 public:
  SoundRows(const screen::Look& look, Home& home);
  void refresh();
  int heightFor(int width) const;
  void resized() override;
  std::vector<screen::PlacedText> texts() const override;
  template <class Visit>
  void forEach(Visit&& visit) {
    visit(device_);
    visit(volume_);
    visit(takes_);
  }

 private:
  void choose(int device);
  Home& home_;
  StepField device_, volume_;
  screen::WordChoice takes_;
  std::vector<std::pair<juce::String, juce::String>> places_;  // kind and name of all that can sound
  int chosen_ = -1;                                            // of them
};

}  // namespace seguente::home
