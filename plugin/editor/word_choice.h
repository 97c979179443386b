// A line of words of which one is chosen: bold, and with a thick rule under it.
#pragma once

#include "plugin/editor/element.h"

namespace seguente::screen {

/// Where words stand on a line, each with room for bold letters so that nothing moves when another is chosen.
std::vector<juce::Rectangle<int>> placeWords(const Letters& letters, const juce::StringArray& words,
                                             juce::Rectangle<int> line);
/// Width that the words need.
int widthOfWords(const Letters& letters, const juce::StringArray& words);
/// The rules under the words. chosen: -1 for none.
void drawWordRules(juce::Graphics& g, const Palette& palette, const std::vector<juce::Rectangle<int>>& places,
                   int chosen);
/// What an arrow, Home or End chooses; -1 when the key is none of these.
int chosenByKey(const juce::KeyPress& key, int chosen, int count);

class WordChoice final : public Element {
 public:
  /// label: shown before the words when `labelled`, the title in any case.
  WordChoice(const Look& look, const juce::String& label, bool labelled, juce::StringArray wordsShown);
  std::function<void(int)> choose;
  void setChosen(int chosen);
  void setWords(const juce::StringArray& words) { show(*this, words_, words); }
  int chosen() const { return chosen_; }
  int widthNeeded() const;

  std::vector<PlacedText> texts() const override;
  std::vector<juce::Rectangle<int>> targets() const override;
  bool keyPressed(const juce::KeyPress& key) override;
  void mouseDown(const juce::MouseEvent& event) override;

 private:
  void drawMarks(juce::Graphics& g) const override;
  void act() override { give(chosen_ + 1 < words_.size() ? chosen_ + 1 : 0); }
  void give(int word);
  int labelWidth() const;

  const Look& look_;
  juce::String label_;
  bool labelled_;
  juce::StringArray words_;
  int chosen_ = -1;
};

}  // namespace seguente::screen
