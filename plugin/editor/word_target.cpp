#include "plugin/editor/word_target.h"

#include "plugin/editor/strings.h"

namespace seguente::screen {

WordTarget::WordTarget(const Look& look, const juce::String& word, const juce::String& remark)
    : Element(look, word, juce::AccessibilityRole::button), word_(word) {
  setHelpText(remark);
  setWantsKeyboardFocus(true);
}

void WordTarget::setWord(const juce::String& word, bool on) {
  const bool other = show(*this, on_, on);
  if (show(*this, word_, word) || other) setTitle(word);
}

int WordTarget::widthNeeded() const {
  const int letter = letter_.isEmpty() ? 0 : widthOf(font(type::small), plain(words::letterKey) + letter_) + 8;
  return widthOf(font(type::body, Weight::bold), word_) + letter + 4 * edge + 2;
}

std::vector<PlacedText> WordTarget::texts() const {
  auto area = getLocalBounds().reduced(2 * edge, edge);
  const auto ink = on_ ? Ink::reversed : Ink::ink;
  const auto face = font(framed_ ? type::value : type::body, framed_ || on_ ? Weight::bold : Weight::roman);
  if (letter_.isEmpty()) return {{word_, face, area, ink, framed_ ? Side::middle : Side::left}};
  std::vector<PlacedText> all{{word_, face, area.removeFromLeft(widthOf(face, word_) + 1), ink}};
  area.removeFromLeft(8);
  all.push_back({plain(words::letterKey) + letter_, font(type::small), area, on_ ? ink : Ink::soft});
  return all;
}

void WordTarget::drawMarks(juce::Graphics& g) const {
  const auto frame = getLocalBounds().reduced(edge);
  g.setColour(on_ || framed_ ? palette().ink : palette().rule);
  if (on_)
    g.fillRect(frame);
  else if (framed_)
    g.drawRect(frame, 1);
  else
    g.fillRect(frame.withTop(frame.getBottom() - 1));
}

bool WordTarget::keyPressed(const juce::KeyPress& key) {
  if (key.getModifiers().isAnyModifierKeyDown()) return false;
  if (key.getKeyCode() != juce::KeyPress::returnKey && key.getKeyCode() != juce::KeyPress::spaceKey) return false;
  act();
  return true;
}

}  // namespace seguente::screen
