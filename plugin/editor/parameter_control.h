// One row of the table of parameters as a field: its name over its value. A choice shows its words where they fit; all
// else shows the value with less and more beside it. Tells the host of every change, with its beginning and end.
#pragma once

#include "plugin/editor/element.h"
#include "plugin/parameters.h"

namespace seguente {
class Processor;
}

namespace seguente::screen {

class ParameterControl final : public Element {
 public:
  static constexpr int height = 44;

  ParameterControl(const Look& look, Processor& processor, ParameterId which);
  ParameterId which() const { return row_.which; }
  /// Looks at the value in force; repaints if it has changed.
  void refresh();
  /// As if somebody had typed it: false, and nothing changes, when it means nothing.
  bool type(const juce::String& text);

  std::vector<PlacedText> texts() const override;
  std::vector<juce::Rectangle<int>> targets() const override;
  juce::String remark() const override;
  bool keyPressed(const juce::KeyPress& key) override;
  void mouseDown(const juce::MouseEvent& event) override;
  void mouseDrag(const juce::MouseEvent& event) override;
  void mouseUp(const juce::MouseEvent& event) override;
  void resized() override;
  std::unique_ptr<juce::AccessibilityHandler> createAccessibilityHandler() override;

 private:
  void drawMarks(juce::Graphics& g) const override;
  void act() override;
  double value() const;
  void set(double plain);
  void step(double steps);
  void openEntry();
  void closeEntry(bool take);
  juce::String valueText() const;
  juce::String label() const;
  juce::Rectangle<int> line() const;  // where the value stands
  bool asWords() const { return !wordPlaces_.empty(); }

  const Look& look_;
  Processor& processor_;
  const Parameter& row_;
  juce::StringArray words_;                       // of a choice or a switch
  std::vector<juce::Rectangle<int>> wordPlaces_;  // empty: the value with less and more
  std::unique_ptr<juce::TextEditor> entry_;
  std::unique_ptr<juce::TextEditor> closed_;  // must outlive its own callback: goes with the next one
  juce::String shown_;
  double dragFrom_ = 0;
  bool dragging_ = false;
};

}  // namespace seguente::screen
