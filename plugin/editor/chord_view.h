// The chord that is heard, large, with its numeral in which key, and what the hand holds.
#pragma once

#include "plugin/editor/element.h"
#include "plugin/view.h"

namespace seguente::screen {

class ChordView final : public Element {
 public:
  explicit ChordView(const Look& look);
  void refresh(const View& view);
  std::vector<PlacedText> texts() const override;

 private:
  struct Shown {
    juce::String symbol, numeral, key, below;
    bool holding = false;
    friend bool operator==(const Shown&, const Shown&) = default;
  };
  void drawMarks(juce::Graphics& g) const override;
  struct Places {
    juce::Rectangle<int> symbol, below;
  };
  Places places() const;
  Shown shown_;
};

/// The keys that a hand holds by the names that they have in its chord: "B F G". [message]
juce::String namesOf(const KeySet& held, const Chord& chord);

/// A fermata: an arc over a dot, `width` wide, standing on `foot`.
void drawFermata(juce::Graphics& g, juce::Point<float> foot, float width);

}  // namespace seguente::screen
