// Under the page, over how it is made: the step of one's own figure that is edited, in words, and everything that can
// be done to it, as words to press; the same by keys on the figure itself.
#pragma once

#include <array>
#include <memory>

#include "plugin/editor/figure_edit.h"
#include "plugin/editor/typed_line.h"
#include "plugin/editor/word_target.h"

namespace seguente::screen {

class EditBand final : public juce::Component {
 public:
  EditBand(const Look& look, Processor& processor);
  /// Opened, closed, or as high as it was not before; and: another step is meant.
  std::function<void()> grown, changed;
  FigureEdit& model() { return model_; }
  bool opened() const { return asks_ || model_.on(); }
  /// Opens: the idiom in force if it is one's own, else asks for the name of a copy. Opened: closes.
  void press();
  void choose(FigureKind figure, std::size_t row);
  /// True when it is a key of editing.
  bool key(const juce::KeyPress& key);
  void refresh();
  int heightFor(int width) const;
  void resized() override;
  bool keyPressed(const juce::KeyPress& pressed) override { return model_.on() && isCommand(pressed) && key(pressed); }
  bool typing() const { return name_.hasKeyboardFocus(false) || plays_.hasKeyboardFocus(false); }
  TypedLine& name() { return name_; }
  TypedLine& plays() { return plays_; }
  juce::String sentence() const;
  template <class Visit>
  void forEach(Visit&& visit) {
    visit(told_);
    visit(name_);
    visit(plays_);
    for (auto& target : targets_) visit(*target);
    visit(keep_);
    visit(leave_);
  }

 private:
  class Told final : public Element {
   public:
    explicit Told(const Look& look) : Element(look, {}, juce::AccessibilityRole::staticText) {}
    void tell(const juce::String& words);
    std::vector<PlacedText> texts() const override;

   private:
    juce::String words_;
  };
  static bool isCommand(const juce::KeyPress& key) { return key.getModifiers().isCommandDown(); }
  void act(EditAct act);
  void copy();
  void close();
  void tell();
  template <class Put>
  int walk(int width, Put&& put) const;

  FigureEdit model_;
  Told told_;
  TypedLine name_, plays_;
  std::array<std::unique_ptr<WordTarget>, editActs> targets_;
  WordTarget keep_, leave_;
  bool asks_ = false;  // for the name of a copy
};

}  // namespace seguente::screen
