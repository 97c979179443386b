#include "plugin/editor/settings_page.h"

#include <algorithm>

#include "plugin/editor/strings.h"

namespace seguente::screen {
namespace {

constexpr int narrowestColumn = 226;
constexpr int gap = 12;
constexpr int windowRow = 36;

juce::StringArray paperWords() {
  juce::StringArray all;
  for (const auto* word : words::papers) all.add(plain(word));
  return all;
}
juce::StringArray sizeWords() {
  juce::StringArray all;
  for (const int size : sizes) all.add(juce::String(size) + plain(words::perCent));
  return all;
}

}  // namespace

SettingsPage::SettingsPage(const Look& look, Processor& processor)
    : paper_(look, plain(words::paper), true, paperWords()), size_(look, plain(words::size), true, sizeWords()) {
  paper_.setHelpText(plain(words::paperRemark));
  size_.setHelpText(plain(words::sizeRemark));
  paper_.choose = [this](int word) {
    if (chooseDark) chooseDark(word == 1);
  };
  size_.choose = [this](int word) {
    if (chooseSize) chooseSize(sizes[word]);
  };
  int order = 1;
  const auto add = [&](Element& element) {
    addAndMakeVisible(element);
    element.setExplicitFocusOrder(order++);
  };
  add(paper_);
  add(size_);
  for (const auto& row : parameterTable())
    add(*rows_.emplace_back(std::make_unique<ParameterControl>(look, processor, row.which)));
}

void SettingsPage::showWindow(bool dark, int percent) {
  paper_.setChosen(dark ? 1 : 0);
  const auto* found = std::find(std::begin(sizes), std::end(sizes), percent);
  size_.setChosen(found == std::end(sizes) ? -1 : static_cast<int>(found - std::begin(sizes)));
}

void SettingsPage::refreshValues() {
  for (auto& row : rows_) row->refresh();
}

void SettingsPage::fit(int width) {
  paper_.setBounds(0, 0, paper_.widthNeeded(), windowRow);
  size_.setBounds(paper_.getRight() + 24, 0, size_.widthNeeded(), windowRow);
  const int columns = std::max(1, (width + gap) / (narrowestColumn + gap));
  const int column = (width + gap) / columns;
  const int top = windowRow + 8;
  for (std::size_t i = 0; i < rows_.size(); ++i) {
    const int at = static_cast<int>(i);
    rows_[i]->setBounds((at % columns) * column, top + (at / columns) * (ParameterControl::height + 4), column - gap,
                        ParameterControl::height);
  }
  setSize(width, rows_.back()->getBottom() + edge);
}

}  // namespace seguente::screen
