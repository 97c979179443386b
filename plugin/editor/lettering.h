// Letters: which face and size a text is set in, how wide it is, how it is broken or shortened. The only file that
// knows how JUCE 7 and JUCE 8 make a font.
#pragma once

#include <juce_gui_basics/juce_gui_basics.h>

#include <string_view>
#include <vector>

namespace seguente::screen {

enum class Weight : std::uint8_t { roman, italic, bold };
/// Sizes of type in pixels at 100 %: the em, as in print.
namespace type {
inline constexpr float key = 12.0f, small = 13.0f, comment = 14.0f, body = 15.0f, value = 17.0f, name = 19.0f,
                       title = 21.0f, heading = 28.0f, stand = 40.0f;
}

/// Gentium Book Plus, roman, italic and bold, from this program itself; the same in every window. [message]
class Letters {
 public:
  Letters();
  juce::Font font(float em, Weight weight = Weight::roman) const;
  /// The em of a font that was made here.
  float emOf(const juce::Font& font) const { return font.getHeight() / heightPerEm_; }

 private:
  float heightPerEm_ = 1;
};

/// In whole pixels, rounded up.
int widthOf(const juce::Font& font, const juce::String& text);
/// The text, or as much of its beginning as fits before "...".
juce::String shortened(const juce::Font& font, const juce::String& text, int width);
/// Broken between words; a word that is wider than a line is shortened. At most `most` lines, the last one shortened.
std::vector<juce::String> broken(const juce::Font& font, const juce::String& text, int width, int most = 1000);

/// UTF-8 as JUCE wants it.
juce::String plain(std::string_view utf8);
/// A chord symbol, pitch or key with printed accidentals: "F#m7b5" with its sharp and its flat.
juce::String printedSymbol(std::string_view ascii);
/// A numeral: as a symbol, and "viio7" with a degree sign.
juce::String printedNumeral(std::string_view ascii);

}  // namespace seguente::screen
