// Every row of the table of parameters, in the table's order, and how this window looks.
#pragma once

#include <memory>
#include <vector>

#include "plugin/editor/parameter_control.h"
#include "plugin/editor/signal_row.h"
#include "plugin/editor/word_choice.h"

namespace seguente::screen {

/// Sizes of everything, in per cent.
inline constexpr int sizes[] = {75, 100, 125, 150, 200};

/// As tall as it needs to be: stands in a Scroll.
class SettingsPage final : public juce::Component {
 public:
  SettingsPage(const Look& look, Processor& processor);
  std::function<void(bool)> chooseDark;
  std::function<void(int)> chooseSize;  // per cent
  std::function<void(bool)> chooseReducedMotion;
  void showWindow(bool dark, int percent, bool reducedMotion);
  /// Rows of whoever stands around the window, under all others; heightFor is told the width. Lent.
  void setOwnRows(juce::Component& rows, std::function<int(int)> heightFor);
  void refreshValues();
  void refresh(const View& view) { signals_.refresh(view); }
  void fit(int width);
  template <class Visit>
  void forEach(Visit&& visit) {
    visit(paper_);
    visit(size_);
    visit(motion_);
    for (auto& row : rows_) visit(*row);
    signals_.forEach(visit);
  }

 private:
  WordChoice paper_, size_, motion_;
  std::vector<std::unique_ptr<ParameterControl>> rows_;
  SignalRows signals_;
  juce::Component* ownRows_ = nullptr;
  std::function<int(int)> ownHeight_;
};

}  // namespace seguente::screen
