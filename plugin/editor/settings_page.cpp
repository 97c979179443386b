#include "plugin/editor/settings_page.h"

#include <algorithm>

#include "plugin/editor/strings.h"
#include "plugin/processor.h"

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

juce::StringArray motionWords() {
  juce::StringArray all;
  for (const auto* word : words::motions) all.add(plain(word));
  return all;
}

}  // namespace

SettingsPage::SettingsPage(const Look& look, Processor& processor)
    : paper_(look, plain(words::paper), true, paperWords()),
      size_(look, plain(words::size), true, sizeWords()),
      motion_(look, plain(words::motion), true, motionWords()),
      signals_(look, processor.session(), processor.signals()) {
  paper_.setHelpText(plain(words::paperRemark));
  size_.setHelpText(plain(words::sizeRemark));
  paper_.choose = [this](int word) {
    if (chooseDark) chooseDark(word == 1);
  };
  size_.choose = [this](int word) {
    if (chooseSize) chooseSize(sizes[word]);
  };
  motion_.setHelpText(plain(words::motionRemark));
  motion_.choose = [this](int word) {
    if (chooseReducedMotion) chooseReducedMotion(word == 1);
  };
  int order = 1;
  const auto add = [&](Element& element) {
    addAndMakeVisible(element);
    element.setExplicitFocusOrder(order++);
  };
  add(paper_);
  add(size_);
  add(motion_);
  for (const auto& row : parameterTable())
    add(*rows_.emplace_back(std::make_unique<ParameterControl>(look, processor, row.which)));
  addAndMakeVisible(signals_);
  signals_.setExplicitFocusOrder(order++);
}

void SettingsPage::showWindow(bool dark, int percent, bool reducedMotion) {
  paper_.setChosen(dark ? 1 : 0);
  motion_.setChosen(reducedMotion ? 1 : 0);
  const auto* found = std::find(std::begin(sizes), std::end(sizes), percent);
  size_.setChosen(found == std::end(sizes) ? -1 : static_cast<int>(found - std::begin(sizes)));
}

void SettingsPage::setOwnRows(juce::Component& rows, std::function<int(int)> heightFor) {
  ownRows_ = &rows;
  ownHeight_ = std::move(heightFor);
  addAndMakeVisible(rows);
  rows.setExplicitFocusOrder(signals_.getExplicitFocusOrder() + 1);
}

void SettingsPage::refreshValues() {
  for (auto& row : rows_) row->refresh();
}

void SettingsPage::fit(int width) {
  int x = 0, y = 0;
  for (auto* choice : {&paper_, &size_, &motion_}) {
    const int wide = choice->widthNeeded();
    if (x > 0 && x + wide > width) {
      x = 0;
      y += windowRow;
    }
    choice->setBounds(x, y, wide, windowRow);
    x += wide + 24;
  }
  const int columns = std::max(1, (width + gap) / (narrowestColumn + gap));
  const int column = (width + gap) / columns;
  const int top = y + windowRow + 8;
  for (std::size_t i = 0; i < rows_.size(); ++i) {
    const int at = static_cast<int>(i);
    rows_[i]->setBounds((at % columns) * column, top + (at / columns) * (ParameterControl::height + 4), column - gap,
                        ParameterControl::height);
  }
  signals_.setBounds(0, rows_.back()->getBottom() + 12, width, signals_.heightFor(width));
  int bottom = signals_.getBottom();
  if (ownRows_ != nullptr) {
    ownRows_->setBounds(0, bottom + 12, width, ownHeight_(width));
    bottom = ownRows_->getBottom();
  }
  setSize(width, bottom + edge);
}

}  // namespace seguente::screen
