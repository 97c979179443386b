// The row that a program of its own has over the fields: take, tap, pace, count, and the piano's own sound.
#pragma once

#include "plugin/editor/word_choice.h"
#include "plugin/editor/word_target.h"

namespace seguente::home {

using screen::WordTarget;

class Home;

class HomeRow final : public juce::Component {
 public:
  HomeRow(const screen::Look& look, Home& home);
  void refresh();
  void resized() override;
  template <class Visit>
  void forEach(Visit&& visit) {
    visit(take_);
    visit(tap_);
    visit(pace_);
    visit(count_);
    visit(piano_);
  }

 private:
  Home& home_;
  WordTarget take_, tap_;
  screen::WordChoice pace_, count_, piano_;
};

}  // namespace seguente::home
