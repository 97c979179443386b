// An engraved sheet on the screen: marks as JUCE's paths and letters, and which of them are new, so that only those
// rectangles are drawn again.
#pragma once

#include <vector>

#include "plugin/editor/element.h"
#include "plugin/page/engraving.h"

namespace seguente::screen {

juce::Colour colourOf(const Palette& palette, page::Token token);
Weight weightOf(page::Style style);

/// One sheet where it stands. [message] throughout.
class Drawing {
 public:
  /// space: pixels a staff space; origin: of the sheet. Hands every rectangle that must be drawn again to `dirty`.
  template <class Dirty>
  void set(page::Sheet sheet, float space, juce::Point<float> origin, Dirty&& dirty) {
    auto before = std::move(placed_);
    place(std::move(sheet), space, origin);
    for (const auto& area : differences(before, placed_)) dirty(area);
  }
  void paint(juce::Graphics& g, const Look& look) const;

  const page::Sheet& sheet() const { return sheet_; }
  float space() const { return space_; }
  juce::Point<float> toScreen(page::Point p) const {
    return {origin_.x + static_cast<float>(p.x) * space_, origin_.y + static_cast<float>(p.y) * space_};
  }
  page::Point toSheet(juce::Point<float> p) const {
    return {static_cast<double>((p.x - origin_.x) / space_), static_cast<double>((p.y - origin_.y) / space_)};
  }

 private:
  struct Placed {
    juce::Rectangle<int> box;
    std::uint64_t hash = 0;
  };
  void place(page::Sheet sheet, float space, juce::Point<float> origin);
  static std::vector<juce::Rectangle<int>> differences(const std::vector<Placed>& a, const std::vector<Placed>& b);
  void draw(juce::Graphics& g, const Look& look, const page::Mark& mark) const;

  page::Sheet sheet_;
  std::vector<Placed> placed_;  // as sheet_.marks
  float space_ = 8;
  juce::Point<float> origin_;
};

/// A glyph with its zero at `at`, `space` pixels to the staff space.
void drawGlyph(juce::Graphics& g, page::Glyph glyph, juce::Point<float> at, float space);

}  // namespace seguente::screen
