#include "plugin/editor/lettering.h"

#include <cmath>

#include "plugin/page/lettering.h"
#ifdef SEGUENTE_FACES
#include "SeguenteFaces.h"
#endif

namespace seguente::screen {
namespace {

juce::Font fontOf(const juce::Typeface::Ptr& face, float height) {
#if JUCE_MAJOR_VERSION >= 8
  return juce::Font(juce::FontOptions(face).withHeight(height));
#else
  juce::Font font(face);
  font.setHeight(height);
  return font;
#endif
}

/// The machine's own, when Gentium was not at hand when this was built.
juce::Typeface::Ptr machineFace(Weight weight) {
  const auto name = juce::Font::getDefaultSerifFontName();
#if JUCE_MAJOR_VERSION >= 8
  const juce::Font font(juce::FontOptions(name, 16.0f,
                                          weight == Weight::bold     ? juce::Font::bold
                                          : weight == Weight::italic ? juce::Font::italic
                                                                     : juce::Font::plain));
#else
  const juce::Font font(name, 16.0f,
                        weight == Weight::bold     ? juce::Font::bold
                        : weight == Weight::italic ? juce::Font::italic
                                                   : juce::Font::plain);
#endif
  return font.getTypefacePtr();
}

juce::Typeface::Ptr faceOf(Weight weight) {
#ifdef SEGUENTE_FACES
  namespace f = seguente_faces;
  switch (weight) {
    case Weight::roman:
      return juce::Typeface::createSystemTypefaceFor(f::GentiumBookPlusRegular_ttf, f::GentiumBookPlusRegular_ttfSize);
    case Weight::italic:
      return juce::Typeface::createSystemTypefaceFor(f::GentiumBookPlusItalic_ttf, f::GentiumBookPlusItalic_ttfSize);
    case Weight::bold:
      return juce::Typeface::createSystemTypefaceFor(f::GentiumBookPlusBold_ttf, f::GentiumBookPlusBold_ttfSize);
  }
#endif
  return machineFace(weight);
}

/// One set a process: a face takes a while to read, and windows come and go.
const std::array<juce::Typeface::Ptr, 3>& faces() {
  static const std::array<juce::Typeface::Ptr, 3> all{faceOf(Weight::roman), faceOf(Weight::italic),
                                                      faceOf(Weight::bold)};
  return all;
}

juce::String printed(std::string_view utf8, bool numeral) {
  auto text = plain(utf8).replaceCharacter('#', 0x266F).replaceCharacter('b', 0x266D);
  return numeral ? text.replaceCharacter('o', 0x00B0) : text;
}

}  // namespace

/// JUCE gives a font the height from its highest to its lowest stroke; we say the em, as printers do, and find out how
/// they compare by measuring.
Letters::Letters() {
  const std::string_view sample = "nnnnnnnnnnnnnnnn";
  juce::GlyphArrangement line;
  line.addLineOfText(fontOf(faces()[0], 1000), plain(sample), 0, 0);
  const float wide = line.getBoundingBox(0, -1, true).getWidth();
  const auto wanted = static_cast<float>(page::widthOf(sample, page::Style::roman, 1000));
  heightPerEm_ = wide > 0 ? wanted / wide : 1;
}

juce::Font Letters::font(float em, Weight weight) const {
  return fontOf(faces()[static_cast<std::size_t>(weight)], em * heightPerEm_);
}

int widthOf(const juce::Font& font, const juce::String& text) {
  if (text.isEmpty()) return 0;
  juce::GlyphArrangement line;
  line.addLineOfText(font, text, 0, 0);
  return static_cast<int>(std::ceil(line.getBoundingBox(0, -1, true).getWidth()));
}

juce::String shortened(const juce::Font& font, const juce::String& text, int width) {
  if (widthOf(font, text) <= width) return text;
  const auto dots = juce::String::charToString(0x2026);
  for (int length = text.length() - 1; length > 0; --length) {
    const auto candidate = text.substring(0, length).trimEnd() + dots;
    if (widthOf(font, candidate) <= width) return candidate;
  }
  return {};
}

std::vector<juce::String> broken(const juce::Font& font, const juce::String& text, int width, int most) {
  std::vector<juce::String> lines;
  juce::String line;
  const auto words = juce::StringArray::fromTokens(text, " \n\t", "");
  for (int i = 0; i < words.size(); ++i) {
    const auto longer = line.isEmpty() ? words[i] : line + " " + words[i];
    if (line.isEmpty() || widthOf(font, longer) <= width) {
      line = longer;
      continue;
    }
    if (static_cast<int>(lines.size()) == most - 1) {
      lines.push_back(shortened(font, line + " " + words.joinIntoString(" ", i), width));
      return lines;
    }
    lines.push_back(shortened(font, line, width));
    line = words[i];
  }
  if (line.isNotEmpty()) lines.push_back(shortened(font, line, width));
  return lines;
}

juce::String plain(std::string_view utf8) { return juce::String::fromUTF8(utf8.data(), static_cast<int>(utf8.size())); }

juce::String printedSymbol(std::string_view ascii) { return printed(ascii, false); }
juce::String printedNumeral(std::string_view ascii) { return printed(ascii, true); }

}  // namespace seguente::screen
