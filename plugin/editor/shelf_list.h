// The shelf as a book's contents: chapters by meter; title, leaders, and how much it asks of the left hand; the chosen
// one bold, with a bookmark and what it is for. Choosing is hearing: it sets the idiom parameter at once.
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
  /// Shows what answers to these words: by title, by any name that a teacher uses, by what it is for, by meter.
  void find(const juce::String& words);
  std::size_t slotOf(std::size_t row) const { return rows_[row].slot; }
  /// How many are shown.
  std::size_t found() const { return rows_.size(); }

  std::vector<PlacedText> texts() const override;
  std::vector<juce::Rectangle<int>> targets() const override;
  juce::String remark() const override;
  bool keyPressed(const juce::KeyPress& key) override;
  void mouseDown(const juce::MouseEvent& event) override;
  void focusGained(FocusChangeType cause) override;

  /// Whether a letter goes to the next title that begins with it; where letters play they do not.
  void setByLetter(bool on) { byLetter_ = on; }

 private:
  struct Row {
    std::size_t slot = 0;
    SlotEntry entry;
    int measure = 1;
    juce::String sought;  // all that it answers to
    juce::Rectangle<int> line, whole;
    std::vector<juce::String> about;
  };
  struct Chapter {
    Meter meter{};  // not valid: of any meter, or your own
    juce::String title;
    juce::Rectangle<int> line;
    std::size_t first = 0;  // row
  };
  void drawMarks(juce::Graphics& g) const override;
  void read();
  void place();
  void choose(std::size_t slot);
  void chooseRow(std::ptrdiff_t row);
  std::ptrdiff_t chosenRow() const;  // -1: an empty slot is chosen, or one that is not shown
  bool chooseByLetter(juce::juce_wchar letter);
  bool byLetter_ = true;
  void say();

  Processor& processor_;
  std::vector<Row> all_, rows_;  // rows_: those that are shown, chapter by chapter
  std::vector<Chapter> chapters_;
  juce::String words_;
  int chosen_ = -1;
  std::uint32_t changes_ = 0;
  bool opened_ = false;
  std::size_t before_ = 0;  // the idiom in force when the focus came
};

}  // namespace seguente::screen
