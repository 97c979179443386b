// The colours of the page, light and dark. Okabe and Ito's palette for what sounds (published for readers who do not
// tell all colours apart), ink on paper for everything else. Ratios: tests/editor/palette_tests.cpp.
#pragma once

#include <juce_gui_basics/juce_gui_basics.h>

namespace seguente::screen {

struct Palette {
  juce::Colour page;           // ground of all
  juce::Colour band;           // of the playhead
  juce::Colour staff;          // its lines
  juce::Colour ink;            // text, notes, frames
  juce::Colour soft;           // text that comments
  juce::Colour coming;         // what cannot be used now; still fit for text
  juce::Colour rule;           // lines under values
  juce::Colour hair;           // ornament only
  juce::Colour melody;         // marks, never text
  juce::Colour accompaniment;  // marks, never text
  juce::Colour whiteKey, blackKey, keyLine;
  juce::Colour melodyOnBlack, heldOnBlack;  // the same marks on a black key
};

inline Palette lightPalette() {
  return {juce::Colour(0xFFFFFFFF), juce::Colour(0xFFEDEDEA), juce::Colour(0xFF333333), juce::Colour(0xFF111111),
          juce::Colour(0xFF555555), juce::Colour(0xFF767676), juce::Colour(0xFF8A8A8A), juce::Colour(0xFFC9C9C4),
          juce::Colour(0xFF0072B2), juce::Colour(0xFFD55E00), juce::Colour(0xFFFFFFFF), juce::Colour(0xFF1A1A1A),
          juce::Colour(0xFF555555), juce::Colour(0xFF56B4E9), juce::Colour(0xFFFFFFFF)};
}

inline Palette darkPalette() {
  return {juce::Colour(0xFF16181B), juce::Colour(0xFF272A2E), juce::Colour(0xFF9C9EA1), juce::Colour(0xFFE9E7E2),
          juce::Colour(0xFFB9B7B1), juce::Colour(0xFF8E8C87), juce::Colour(0xFF7D7F84), juce::Colour(0xFF3A3D42),
          juce::Colour(0xFF56B4E9), juce::Colour(0xFFD55E00), juce::Colour(0xFF2E3237), juce::Colour(0xFF08090A),
          juce::Colour(0xFF8E9298), juce::Colour(0xFF56B4E9), juce::Colour(0xFFE9E7E2)};
}

}  // namespace seguente::screen
