#include "plugin/editor/question.h"

#include "plugin/editor/strings.h"
#include "plugin/editor/word_choice.h"

namespace seguente::screen {
namespace {
constexpr int lineHeight = 32;
}

Question::Question(const Look& look) : Element(look, plain(words::question), juce::AccessibilityRole::dialogWindow) {
  setWantsKeyboardFocus(true);
}

void Question::ask(const juce::String& text, const juce::String& yes, const juce::String& no,
                   std::function<void(bool)> answer) {
  text_ = text;
  words_ = {yes, no};
  answer_ = std::move(answer);
  choose(1);
  setVisible(true);
  toFront(false);
  if (isShowing()) grabKeyboardFocus();
  repaint();
}

void Question::choose(int answer) {
  chosen_ = answer;
  setTitle(text_ + " " + words_[answer]);
  repaint();
}

void Question::give(bool yes) {
  setVisible(false);
  if (const auto answer = std::exchange(answer_, nullptr)) answer(yes);
}

std::vector<juce::Rectangle<int>> Question::targets() const {
  std::vector<juce::Rectangle<int>> all;
  auto line = getLocalBounds().reduced(2 * edge, edge).removeFromBottom(lineHeight);
  const auto face = font(type::body, Weight::bold);
  for (const auto& word : words_) {
    all.push_back(line.removeFromLeft(std::min(line.getWidth(), widthOf(face, word) + 4 * edge)));
    line.removeFromLeft(16);
  }
  return all;
}

std::vector<PlacedText> Question::texts() const {
  const auto face = font(type::body);
  auto area = getLocalBounds().reduced(2 * edge, edge);
  const auto line = area.removeFromTop(area.getHeight() - lineHeight);
  std::vector<PlacedText> all{{shortened(face, text_, line.getWidth()), face, line}};
  const auto places = targets();
  for (int i = 0; i < words_.size(); ++i)
    all.push_back({words_[i], font(type::body, i == chosen_ ? Weight::bold : Weight::roman),
                   places[static_cast<std::size_t>(i)], Ink::ink, Side::middle});
  return all;
}

void Question::drawMarks(juce::Graphics& g) const {
  g.fillAll(palette().page);
  g.setColour(palette().ink);
  g.fillRect(getLocalBounds().withHeight(2));
  const auto places = targets();
  for (std::size_t i = 0; i < places.size(); ++i) {
    const bool chosen = static_cast<int>(i) == chosen_;
    g.setColour(chosen ? palette().ink : palette().rule);
    g.fillRect(places[i].withTop(places[i].getBottom() - (chosen ? 3 : 1)));
  }
}

bool Question::keyPressed(const juce::KeyPress& key) {
  using juce::KeyPress;
  const int code = key.getKeyCode();
  if (code == KeyPress::escapeKey)
    give(false);
  else if (code == KeyPress::returnKey || code == KeyPress::spaceKey)
    act();
  else if (code == KeyPress::leftKey || code == KeyPress::rightKey)
    choose(code == KeyPress::leftKey ? 0 : 1);
  else
    return false;
  return true;
}

void Question::mouseDown(const juce::MouseEvent& event) {
  const auto places = targets();
  for (std::size_t i = 0; i < places.size(); ++i)
    if (places[i].contains(event.getPosition())) return give(i == 0);
}

}  // namespace seguente::screen
