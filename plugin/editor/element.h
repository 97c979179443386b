// What everything on the page has in common: it says which texts it shows and where (so that tests can measure them),
// draws its marks under them, shows a frame when it has the keyboard's focus, and has a sentence to say about itself.
#pragma once

#include <juce_gui_basics/juce_gui_basics.h>

#include <functional>
#include <vector>

#include "plugin/editor/lettering.h"
#include "plugin/editor/palette.h"

namespace seguente::screen {

/// How one window looks: lent to all its elements.
struct Look {
  Palette palette = lightPalette();
  Letters letters;
};

/// Texts have no colour of their own: colour belongs to sound.
enum class Ink : std::uint8_t { ink, soft, coming, reversed };
juce::Colour colourOf(const Palette& palette, Ink ink);

enum class Side : std::uint8_t { left, middle, right };

/// One line of text where it stands.
struct PlacedText {
  juce::String text;
  juce::Font font;
  juce::Rectangle<int> area;
  Ink ink = Ink::ink;
  Side side = Side::left;
};

/// Smallest side of what can be pressed, in pixels at 100 % (WCAG 2.2, success criterion 2.5.8).
inline constexpr int smallestTarget = 24;
inline constexpr int frameWidth = 2;  // of the focus frame
inline constexpr int edge = 4;        // from an element's bounds to what it shows, so that the frame has room

/// [message] throughout.
class Element : public juce::Component {
 public:
  /// title: what assistive technology calls it; never empty for what can have the focus.
  Element(const Look& look, const juce::String& title, juce::AccessibilityRole role);

  /// Every text that paint draws.
  virtual std::vector<PlacedText> texts() const { return {}; }
  /// The areas that can be pressed.
  virtual std::vector<juce::Rectangle<int>> targets() const { return {}; }
  /// What it is for; shown while the mouse or the focus is on it.
  virtual juce::String remark() const { return getHelpText(); }
  /// Told when the mouse or the focus comes (this) or goes (null).
  std::function<void(const Element*)> pointed;

  void paint(juce::Graphics& g) override;
  void focusGained(FocusChangeType cause) override;
  void focusLost(FocusChangeType cause) override;
  void mouseEnter(const juce::MouseEvent&) override;
  void mouseExit(const juce::MouseEvent&) override;
  std::unique_ptr<juce::AccessibilityHandler> createAccessibilityHandler() override;

 protected:
  /// Everything but texts and the focus frame.
  virtual void drawMarks(juce::Graphics&) const {}
  /// What Return, a press, or assistive technology does.
  virtual void act() {}
  juce::Font font(float height, Weight weight = Weight::roman) const { return look_.letters.font(height, weight); }
  const Palette& palette() const { return look_.palette; }
  const Look& look() const { return look_; }

 private:
  const Look& look_;
  juce::AccessibilityRole role_;
  bool focused_ = false;
};

/// A line of ornament: below 100 % it grows thinner, where a whole-pixel line would grow thicker.
inline void drawFine(juce::Graphics& g, juce::Rectangle<int> line) { g.fillRect(line.toFloat()); }

/// Assigns, and repaints the element if that made a difference.
template <class Value>
bool show(juce::Component& element, Value& shown, const Value& now) {
  if (shown == now) return false;
  shown = now;
  element.repaint();
  return true;
}

/// A part of the page that scrolls upright, never sideways, and follows the focus.
class Scroll final : public juce::Viewport {
 public:
  explicit Scroll(const Look& look);
  void recolour();
  /// Moves so that this area of its content is seen.
  void follow(juce::Rectangle<int> area);

 private:
  const Look& look_;
};

}  // namespace seguente::screen
