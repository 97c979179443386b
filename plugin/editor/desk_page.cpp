#include "plugin/editor/desk_page.h"

#include <algorithm>

#include "plugin/editor/strings.h"
#include "plugin/processor.h"

namespace seguente::screen {
namespace {

constexpr int headingHeight = 34;
constexpr int gutter = 28;
constexpr int columns = 3;

/// What is changed while playing; all rows of the table stand under Settings.
constexpr ParameterId onTheDesk[] = {ParameterId::density,    ParameterId::time,      ParameterId::ownTempo,
                                     ParameterId::bass,       ParameterId::chords,    ParameterId::counterLine,
                                     ParameterId::percussion, ParameterId::handSplit, ParameterId::splitKey};

int shelfWidth(int whole) { return std::clamp(whole * 30 / 100, 216, 340); }

}  // namespace

DeskPage::Heading::Heading(const Look& look)
    : Element(look, plain(words::contents), juce::AccessibilityRole::staticText) {}

std::vector<PlacedText> DeskPage::Heading::texts() const {
  auto area = getLocalBounds().withTrimmedLeft(2 * edge);
  const auto bold = font(type::name, Weight::bold), comment = font(type::small, Weight::italic);
  const auto title = plain(words::contents), hint = plain(words::contentsHint);
  std::vector<PlacedText> all{{title, bold, area.removeFromLeft(widthOf(bold, title) + 1)}};
  area.removeFromLeft(10);
  if (widthOf(comment, hint) <= area.getWidth())
    all.push_back({hint, comment, area.withTrimmedTop(3), Ink::soft, Side::right});
  return all;
}

DeskPage::DeskPage(const Look& look, Processor& processor)
    : look_(look),
      processor_(processor),
      heading_(look),
      scroll_(look),
      shelf_(look, processor),
      time_(look),
      chord_(look) {
  scroll_.setViewedComponent(&shelf_, false);
  addAndMakeVisible(heading_);
  addAndMakeVisible(scroll_);
  addAndMakeVisible(time_);
  addAndMakeVisible(chord_);
  for (const auto which : onTheDesk)
    addAndMakeVisible(*fields_.emplace_back(std::make_unique<ParameterControl>(look, processor, which)));
  int order = 1;  // Tab goes as one reads
  scroll_.setExplicitFocusOrder(order++);
  for (auto& field : fields_) field->setExplicitFocusOrder(order++);
}

void DeskPage::refresh(const View& view) {
  shelf_.refresh();
  chord_.refresh(view);
  time_.refresh(view, static_cast<TimeSource>(static_cast<int>(processor_.values().get(ParameterId::time))));
}

void DeskPage::refreshValues() {
  for (auto& field : fields_) field->refresh();
}

void DeskPage::resized() {
  auto area = getLocalBounds();
  auto left = area.removeFromLeft(shelfWidth(getWidth()));
  heading_.setBounds(left.removeFromTop(headingHeight).withTrimmedBottom(6));
  scroll_.setBounds(left);
  shelf_.fit(scroll_.getMaximumVisibleWidth());
  shelf_.fit(scroll_.getMaximumVisibleWidth());  // again: only now is it known whether it scrolls

  area.removeFromLeft(gutter);
  time_.setBounds(area.removeFromTop(TimeView::height));
  const int rows = (static_cast<int>(fields_.size()) + columns - 1) / columns;
  area.removeFromBottom(2);
  auto grid = area.removeFromBottom(rows * ParameterControl::height);
  chord_.setBounds(area.withTrimmedBottom(4));
  const int width = grid.getWidth() / columns;
  for (std::size_t i = 0; i < fields_.size(); ++i) {
    const int row = static_cast<int>(i) / columns, column = static_cast<int>(i) % columns;
    fields_[i]->setBounds(grid.getX() + column * width, grid.getY() + row * ParameterControl::height, width - 8,
                          ParameterControl::height);
  }
}

/// The fold of the book, a double hairline, and the rule over the fields.
void DeskPage::paint(juce::Graphics& g) {
  const auto& p = look_.palette;
  const int left = shelfWidth(getWidth());
  g.setColour(p.hair);
  drawFine(g, {left + gutter / 2 - 2, 0, 1, getHeight()});
  drawFine(g, {left + gutter / 2 + 2, 0, 1, getHeight()});
  g.setColour(p.rule);
  g.fillRect(left + gutter + edge, fields_.front()->getY() - 3, getWidth() - left - gutter - edge, 1);
}

}  // namespace seguente::screen
