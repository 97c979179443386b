// Under Settings: where the sound goes, how loud it is, how takes are written and where they lie.
#pragma once

#include "plugin/editor/word_choice.h"
#include "plugin/standalone/word_target.h"

namespace seguente::home {

class Home;

/// The volume as a word with less and more, as the fields of the window have it.
class VolumeField final : public screen::Element {
 public:
  VolumeField(const screen::Look& look, Home& home);
  void refresh();
  std::vector<screen::PlacedText> texts() const override;
  std::vector<juce::Rectangle<int>> targets() const override;
  bool keyPressed(const juce::KeyPress& key) override;
  void mouseDown(const juce::MouseEvent& event) override;
  static constexpr int wide = 220;

 private:
  void drawMarks(juce::Graphics& g) const override;
  void step(double by);
  Home& home_;
  int shown_ = -1;
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
    visit(*this);
    visit(device_);
    visit(volume_);
    visit(takes_);
  }

 private:
  void choose(int device);
  Home& home_;
  screen::WordChoice device_;
  VolumeField volume_;
  screen::WordChoice takes_;
  juce::StringArray names_;  // devices: "type: name", as offered
  std::vector<std::pair<juce::String, juce::String>> places_;
};

}  // namespace seguente::home
