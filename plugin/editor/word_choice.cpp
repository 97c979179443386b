#include "plugin/editor/word_choice.h"

#include <algorithm>

namespace seguente::screen {
namespace {
constexpr int gap = 8;
juce::Font wordFont(const Letters& letters, bool chosen) {
  return letters.font(type::body, chosen ? Weight::bold : Weight::roman);
}
}  // namespace

std::vector<juce::Rectangle<int>> placeWords(const Letters& letters, const juce::StringArray& words,
                                             juce::Rectangle<int> line) {
  std::vector<juce::Rectangle<int>> places;
  for (const auto& word : words) {
    const int width = std::max(smallestTarget, widthOf(wordFont(letters, true), word));
    places.push_back(line.removeFromLeft(width));
    line.removeFromLeft(gap);
  }
  return places;
}

int widthOfWords(const Letters& letters, const juce::StringArray& words) {
  const auto places = placeWords(letters, words, {0, 0, 100000, smallestTarget});
  return places.empty() ? 0 : places.back().getRight();
}

void drawWordRules(juce::Graphics& g, const Palette& palette, const std::vector<juce::Rectangle<int>>& places,
                   int chosen) {
  for (int i = 0; i < static_cast<int>(places.size()); ++i) {
    g.setColour(i == chosen ? palette.ink : palette.rule);
    const int thick = i == chosen ? 3 : 1;
    g.fillRect(places[static_cast<std::size_t>(i)].withTop(places[static_cast<std::size_t>(i)].getBottom() - thick));
  }
}

int chosenByKey(const juce::KeyPress& key, int chosen, int count) {
  using juce::KeyPress;
  const int code = key.getKeyCode();
  if (key.getModifiers().isAnyModifierKeyDown()) return -1;
  if (code == KeyPress::leftKey || code == KeyPress::downKey) return std::clamp(chosen - 1, 0, count - 1);
  if (code == KeyPress::rightKey || code == KeyPress::upKey) return std::clamp(chosen + 1, 0, count - 1);
  if (code == KeyPress::homeKey) return 0;
  if (code == KeyPress::endKey) return count - 1;
  return -1;
}

WordChoice::WordChoice(const Look& look, const juce::String& label, bool labelled, juce::StringArray wordsShown)
    : Element(look, label, juce::AccessibilityRole::comboBox),
      look_(look),
      label_(label),
      labelled_(labelled),
      words_(std::move(wordsShown)) {
  setWantsKeyboardFocus(true);
}

int WordChoice::labelWidth() const { return labelled_ ? widthOf(font(type::comment), label_) + 12 : 0; }
int WordChoice::widthNeeded() const { return labelWidth() + widthOfWords(look_.letters, words_) + 2 * edge; }

void WordChoice::setChosen(int chosen) {
  if (!show(*this, chosen_, chosen)) return;
  setTitle(chosen < 0 ? label_ : label_ + ", " + words_[chosen]);
}

std::vector<juce::Rectangle<int>> WordChoice::targets() const {
  auto line = getLocalBounds().reduced(edge);
  line.removeFromLeft(labelWidth());
  return placeWords(look_.letters, words_, line);
}

std::vector<PlacedText> WordChoice::texts() const {
  std::vector<PlacedText> all;
  if (labelled_)
    all.push_back({label_, font(type::comment), getLocalBounds().reduced(edge).withWidth(labelWidth()), Ink::soft});
  const auto places = targets();
  for (int i = 0; i < words_.size(); ++i)
    all.push_back({words_[i], wordFont(look_.letters, i == chosen_), places[static_cast<std::size_t>(i)], Ink::ink,
                   Side::middle});
  return all;
}

void WordChoice::drawMarks(juce::Graphics& g) const { drawWordRules(g, palette(), targets(), chosen_); }

bool WordChoice::keyPressed(const juce::KeyPress& key) {
  const int word = chosenByKey(key, chosen_, words_.size());
  if (word < 0) return false;
  give(word);
  return true;
}

void WordChoice::mouseDown(const juce::MouseEvent& event) {
  const auto places = targets();
  for (std::size_t i = 0; i < places.size(); ++i)
    if (places[i].contains(event.getPosition())) give(static_cast<int>(i));
}

void WordChoice::give(int word) {
  if (choose) choose(word);
}

}  // namespace seguente::screen
