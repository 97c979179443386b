// Every row of the table of parameters, in the table's order, and how this window looks.
#pragma once

#include <memory>
#include <vector>

#include "plugin/editor/parameter_control.h"
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
  void showWindow(bool dark, int percent);
  void refreshValues();
  void fit(int width);
  template <class Visit>
  void forEach(Visit&& visit) {
    visit(paper_);
    visit(size_);
    for (auto& row : rows_) visit(*row);
  }

 private:
  WordChoice paper_, size_;
  std::vector<std::unique_ptr<ParameterControl>> rows_;
};

}  // namespace seguente::screen
