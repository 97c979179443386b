// A keyboard, drawn plainly: what is held has a black outline and an open head, the melody is blue with a filled head,
// the accompaniment vermillion and hatched. Under it the wedge where the hands part. Only keys that change are drawn
// anew.
#pragma once

#include "plugin/editor/element.h"
#include "plugin/editor/keyboard_keys.h"
#include "plugin/parameters.h"
#include "plugin/view.h"

namespace seguente::screen {

class KeyboardView final : public Element {
 public:
  explicit KeyboardView(const Look& look);
  void refresh(const View& view, const ParameterValues& values);
  std::vector<PlacedText> texts() const override;
  void paint(juce::Graphics& g) override;
  void resized() override;
  const KeyboardKeys& keys() const { return keys_; }

 private:
  struct Sounds {
    KeySet held, melody, accompaniment;
  };
  struct Hands {
    juce::String left, right;
    int wedge = -1;  // the melody's lowest key; -1: the hands part otherwise
    friend bool operator==(const Hands&, const Hands&) = default;
  };
  void drawKey(juce::Graphics& g, int key) const;
  juce::String outside(bool lower) const;
  void say();

  const Look& look_;
  KeyboardKeys keys_;
  Sounds sounds_;
  Hands hands_;
  juce::String lower_, higher_;  // what sounds beyond the keys that are shown
};

/// "C4", with its accidental as a sharp where it has one.
juce::String keyName(int key);
/// The names of keys, from the bottom: "C3 E3 G3".
juce::String keyNames(const KeySet& keys);

// The three marks, in a key's lower end or in the legend.
void drawHeldHead(juce::Graphics& g, juce::Rectangle<float> place, juce::Colour line, juce::Colour hole);
void drawMelodyHead(juce::Graphics& g, juce::Rectangle<float> place, juce::Colour fill);
void drawHatching(juce::Graphics& g, juce::Rectangle<float> place, juce::Colour line, juce::Colour ground);

/// What the marks mean, in words.
class Legend final : public Element {
 public:
  explicit Legend(const Look& look);
  int widthNeeded() const;
  std::vector<PlacedText> texts() const override;

 private:
  void drawMarks(juce::Graphics& g) const override;
  std::vector<juce::Rectangle<int>> marks() const;
};

}  // namespace seguente::screen
