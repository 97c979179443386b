// How it is made: the plain chord that the hand holds and the figure that is played on it, side by side; over each step
// its degrees, under it the count.
#pragma once

#include "plugin/editor/drawing.h"
#include "plugin/editor/preview.h"
#include "plugin/editor/word_choice.h"

namespace seguente {
class LiveScore;
}

namespace seguente::screen {

class MadeView final : public Element {
 public:
  static constexpr int height = 132, lowHeight = 118;
  explicit MadeView(const Look& look);
  /// fresh: the preview is another one.
  void refresh(const Preview& preview, const LiveScore& score, bool fresh);

  std::vector<PlacedText> texts() const override;
  juce::String remark() const override;
  bool keyPressed(const juce::KeyPress& key) override;
  void mouseMove(const juce::MouseEvent& event) override;
  void mouseDown(const juce::MouseEvent& event) override;
  void resized() override;
  /// The row that is edited has a frame; null while nothing is.
  using EditedRow = std::pair<FigureKind, std::size_t>;
  void setEdited(std::optional<EditedRow> row);
  /// A row of the step that was pressed: where it has several, each press means the next.
  std::function<void(FigureKind, std::size_t)> picked;
  /// True: that key has been seen to.
  std::function<bool(const juce::KeyPress&)> editKey;
  /// More and less of it by + and -.
  std::function<void(int)> density;
  const Drawing& drawing() const { return drawing_; }
  /// Room at the right of its heading for somebody else's words.
  void keepRight(int pixels) { right_ = pixels; }

 private:
  struct Step {
    std::size_t bar = 0;
    Ticks at{};
    double x = 0;  // staff spaces
    juce::String degrees, names;
    FigureKind figure{};
    std::vector<std::size_t> rows;  // of the file's figure
    juce::String count;
  };
  void drawMarks(juce::Graphics& g) const override;
  void write();
  page::Bar plainChord() const;
  page::Sheet written(float space, page::Box& reach);
  void figureBars(page::Sheet& sheet, double from, double right, page::Box& reach);
  void drawBar(page::Sheet& sheet, const page::Bar& bar, double left, double right, double first, page::Box& reach);
  juce::String sentence() const;
  juce::String stepTitle(const Step& step) const;
  void say();
  std::optional<std::size_t> stepAt(juce::Point<float> place) const;
  std::optional<std::size_t> framed() const;

  const Preview* preview_ = nullptr;
  Drawing drawing_;
  std::vector<Step> steps_;
  std::optional<std::size_t> cursor_;
  std::optional<EditedRow> edited_;
  std::optional<std::pair<FigureKind, Ticks>> now_;  // the figure that sounds, and the place of its step in the bar
  juce::String sentence_, label_;
  double degreesAt_ = -2, labelsAt_ = -4.2, countAt_ = 7.2;  // rows, in staff spaces from the upper line
  int right_ = 0;
};

}  // namespace seguente::screen
