#include "plugin/editor/element.h"

namespace seguente::screen {

juce::Colour colourOf(const Palette& palette, Ink ink) {
  switch (ink) {
    case Ink::soft:
      return palette.soft;
    case Ink::coming:
      return palette.coming;
    case Ink::reversed:
      return palette.page;
    case Ink::ink:
      break;
  }
  return palette.ink;
}

Element::Element(const Look& look, const juce::String& title, juce::AccessibilityRole role) : look_(look), role_(role) {
  setTitle(title);
}

void Element::paint(juce::Graphics& g) {
  drawMarks(g);
  for (const auto& placed : texts()) {
    g.setColour(colourOf(palette(), placed.ink));
    g.setFont(placed.font);
    const auto at = placed.side == Side::left    ? juce::Justification::centredLeft
                    : placed.side == Side::right ? juce::Justification::centredRight
                                                 : juce::Justification::centred;
    g.drawText(placed.text, placed.area, at, false);
  }
  if (!focused_) return;
  g.setColour(palette().ink);
  g.drawRect(getLocalBounds(), frameWidth);
}

void Element::focusGained(FocusChangeType) {
  focused_ = true;
  repaint();
  if (auto* scroll = findParentComponentOfClass<Scroll>())
    scroll->follow(scroll->getViewedComponent()->getLocalArea(this, getLocalBounds()));
  if (pointed) pointed(this);
}

void Element::focusLost(FocusChangeType) {
  focused_ = false;
  repaint();
  if (pointed) pointed(nullptr);
}

void Element::mouseEnter(const juce::MouseEvent&) {
  if (pointed) pointed(this);
}

void Element::mouseExit(const juce::MouseEvent&) {
  if (pointed) pointed(nullptr);
}

std::unique_ptr<juce::AccessibilityHandler> Element::createAccessibilityHandler() {
  juce::AccessibilityActions actions;
  actions.addAction(juce::AccessibilityActionType::press, [this] { act(); });
  return std::make_unique<juce::AccessibilityHandler>(*this, role_, std::move(actions));
}

Scroll::Scroll(const Look& look) : look_(look) {
  setScrollBarsShown(true, false);
  setScrollBarThickness(12);
  setWantsKeyboardFocus(false);  // what is inside has the focus
  recolour();
}

void Scroll::recolour() {
  auto& bar = getVerticalScrollBar();
  bar.setColour(juce::ScrollBar::thumbColourId, look_.palette.rule);
  bar.setColour(juce::ScrollBar::trackColourId, look_.palette.page);
  bar.setColour(juce::ScrollBar::backgroundColourId, look_.palette.page);
}

void Scroll::follow(juce::Rectangle<int> area) {
  const auto seen = getViewArea();
  if (area.getBottom() > seen.getBottom()) setViewPosition(0, area.getBottom() - seen.getHeight());
  if (area.getY() < getViewPositionY()) setViewPosition(0, area.getY());
}

}  // namespace seguente::screen
