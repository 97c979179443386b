// Where the keys of a piano keyboard lie in a rectangle. Common practice, no source: seven equal white keys an octave,
// black keys 0.58 as wide and 0.6 as long, those of a group of two and of three spread a little outwards.
#pragma once

#include <juce_graphics/juce_graphics.h>

#include <cmath>

#include "dsp/pitch.h"

namespace seguente::screen {

constexpr bool isBlack(int key) {
  const int c = key % 12;
  return c == 1 || c == 3 || c == 6 || c == 8 || c == 10;
}

class KeyboardKeys {
 public:
  /// The widest stretch of the piano with white keys of at least `narrowest`: all 88, C1 to C7, C1 to C6, C2 to C6, or
  /// C2 to C5.
  KeyboardKeys() = default;
  KeyboardKeys(juce::Rectangle<int> area, int narrowest) : area_(area) {
    constexpr std::pair<int, int> stretches[] = {{21, 108}, {24, 96}, {24, 84}, {36, 84}, {36, 72}};
    for (const auto& [low, high] : stretches) {
      low_ = low;
      high_ = high;
      if (area.getWidth() >= whitesBelow(high + 1) * narrowest) break;
    }
    white_ = static_cast<float>(area.getWidth()) / static_cast<float>(whitesBelow(high_ + 1));
  }
  int low() const { return low_; }
  int high() const { return high_; }
  bool shows(int key) const { return key >= low_ && key <= high_; }
  juce::Rectangle<int> area() const { return area_; }

  /// Empty for a key that is not shown.
  juce::Rectangle<float> of(int key) const {
    if (!shows(key)) return {};
    const auto top = static_cast<float>(area_.getY()), high = static_cast<float>(area_.getHeight());
    const float left = edgeOf(whitesBelow(key));
    if (!isBlack(key)) return {left, top, edgeOf(whitesBelow(key) + 1) - left, high};
    const float wide = std::round(white_ * 0.58f);
    return {left - std::round(wide * beforeLine(key % 12)), top, wide, std::round(high * 0.6f)};
  }

 private:
  /// On whole pixels, so that every line between keys is drawn alike.
  float edgeOf(int whites) const {
    return static_cast<float>(area_.getX()) + std::round(static_cast<float>(whites) * white_);
  }
  /// White keys from the lowest shown up to, not including, `key`.
  int whitesBelow(int key) const {
    int count = 0;
    for (int k = low_; k < key; ++k) count += isBlack(k) ? 0 : 1;
    return count;
  }
  /// How much of a black key lies left of the line between its white neighbours.
  static constexpr float beforeLine(int pitchClass) {
    switch (pitchClass) {
      case 1:
        return 0.62f;
      case 3:
        return 0.38f;
      case 6:
        return 0.66f;
      case 10:
        return 0.34f;
      default:
        return 0.5f;
    }
  }
  juce::Rectangle<int> area_;
  int low_ = 24, high_ = 96;
  float white_ = 20;
};

}  // namespace seguente::screen
