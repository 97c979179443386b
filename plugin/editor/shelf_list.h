// The shelf as a book's contents: place, title, meter; the chosen one bold, with a bookmark and what it is for.
// Choosing is hearing: it sets the idiom parameter at once.
#pragma once

#include "plugin/editor/element.h"
#include "plugin/shelf.h"

namespace seguente {
class Processor;
}

namespace seguente::screen {

/// As tall as it needs to be: stands in a Scroll.
class ShelfList final : public Element {
 public:
  ShelfList(const Look& look, Processor& processor);
  /// Looks at the shelf and at the idiom in force; repaints what has changed.
  void refresh();
  /// Lays itself out anew for this width.
  void fit(int width);

  std::vector<PlacedText> texts() const override;
  std::vector<juce::Rectangle<int>> targets() const override;
  juce::String remark() const override;
  bool keyPressed(const juce::KeyPress& key) override;
  void mouseDown(const juce::MouseEvent& event) override;
  void focusGained(FocusChangeType cause) override;

 private:
  struct Row {
    std::size_t slot = 0;
    SlotEntry entry;
    juce::Rectangle<int> line;  // place, title, meter
    std::vector<juce::String> about;
    juce::Rectangle<int> whole;
  };
  void drawMarks(juce::Graphics& g) const override;
  void place();
  void choose(std::size_t slot);
  void chooseRow(std::ptrdiff_t row);
  std::ptrdiff_t chosenRow() const;  // -1: an empty slot is chosen
  bool chooseByLetter(juce::juce_wchar letter);
  void say();

  Processor& processor_;
  std::vector<Row> rows_;
  int chosen_ = -1;
  std::uint32_t changes_ = 0;
  bool opened_ = false;
  std::size_t before_ = 0;  // the idiom in force when the focus came
};

}  // namespace seguente::screen
