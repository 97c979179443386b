// The running order as a programme is printed: what is open, piece by piece, the present one bold with a bookmark;
// under it what can be done with it, and the player's other orders.
#pragma once

#include "plugin/editor/element.h"

namespace seguente {
class Processor;
}

namespace seguente::screen {

/// As tall as it needs to be: stands in a Scroll.
class OrderList final : public Element {
 public:
  OrderList(const Look& look, Processor& processor);
  /// Looks at the orders and at the place in the open one; repaints what has changed.
  void refresh();
  void fit(int width);
  /// What somebody must be told: a fault of a file that was to be opened.
  std::function<void(const juce::String&)> say;

  std::vector<PlacedText> texts() const override;
  std::vector<juce::Rectangle<int>> targets() const override;
  bool keyPressed(const juce::KeyPress& key) override;
  void mouseDown(const juce::MouseEvent& event) override;

 private:
  enum class Kind : std::uint8_t { title, remark, preset, add, close, begin, chapter, file };
  struct Line {
    Kind kind = Kind::remark;
    int index = 0;                   // of the preset or the file
    juce::String text, detail;       // detail: to the right, behind leaders
    std::vector<juce::String> more;  // under it
    juce::Rectangle<int> area;
    bool pressable() const { return kind != Kind::title && kind != Kind::remark && kind != Kind::chapter; }
  };
  void drawMarks(juce::Graphics& g) const override;
  void act() override;
  void read();
  void place();
  void press(const Line& line);
  void move(int by);
  void name();
  juce::Font faceOf(const Line& line) const;
  juce::Rectangle<int> lineOf(const Line& line) const;

  Processor& processor_;
  std::vector<Line> lines_;
  std::vector<std::string> files_;
  int now_ = -1;            // the preset
  std::size_t cursor_ = 0;  // line that Return presses
  std::uint32_t changes_ = 0;
  std::uint32_t shelf_ = 0;
  bool opened_ = false;
};

}  // namespace seguente::screen
