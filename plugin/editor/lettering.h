// Letters: which face and size a text is set in, how wide it is, how it is broken or shortened. The only file that
// knows how JUCE 7 and JUCE 8 make a font.
#pragma once

#include <juce_gui_basics/juce_gui_basics.h>

#include <string_view>
#include <vector>

namespace seguente::screen {

enum class Weight : std::uint8_t { roman, italic, bold };
/// words: the platform's own sans serif. music: one that has sharps, flats and a quarter note.
enum class Face : std::uint8_t { words, music };

/// Heights of a line in pixels at 100 %: JUCE measures a font from its highest to its lowest stroke.
namespace type {
inline constexpr float small = 14.0f, comment = 14.5f, body = 16.0f, value = 16.5f, name = 20.0f, heading = 23.0f;
}

/// The faces of this machine, looked up once a window. [message]
class Letters {
 public:
  Letters();
  juce::Font font(float height, Weight weight = Weight::roman, Face face = Face::words) const;

 private:
  struct Styles {
    juce::String name, roman, italic, bold;
  };
  static Styles stylesOf(const juce::String& name);
  Styles words_, music_;
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
