// Where one plays a figure in: a word that is pressed under the contents; while it listens, which bar it is; then what
// was read, and the name that it shall have.
#pragma once

#include "plugin/editor/playing_in.h"
#include "plugin/editor/typed_line.h"
#include "plugin/editor/word_target.h"

namespace seguente::screen {

class PlayingInPanel final : public juce::Component {
 public:
  PlayingInPanel(const Look& look, Processor& processor);
  /// The height has changed: whoever holds it lays it out anew.
  std::function<void()> grown;
  void refresh();
  int heightFor(int width) const;
  void resized() override;
  bool typing() const { return name_.hasKeyboardFocus(false) || over_.hasKeyboardFocus(false); }
  PlayingIn& model() { return model_; }
  TypedLine& name() { return name_; }
  TypedLine& over() { return over_; }
  template <class Visit>
  void forEach(Visit&& visit) {
    visit(told_);
    visit(name_);
    visit(over_);
    visit(go_);
    visit(forget_);
  }

 private:
  /// What it says, in as many lines as that needs.
  class Told final : public Element {
   public:
    explicit Told(const Look& look);
    void tell(const juce::String& words);
    int heightFor(int width) const;
    bool tells() const { return words_.isNotEmpty(); }
    std::vector<PlacedText> texts() const override;

   private:
    juce::String words_;
  };
  void press();
  void forget();
  void keep();
  void tell();
  void place();
  juce::String sentence() const;

  PlayingIn model_;
  Told told_;
  TypedLine name_, over_;
  WordTarget go_, forget_;
  PlayingInStage shown_ = PlayingInStage::rests;
};

}  // namespace seguente::screen
