#include "plugin/editor/lettering.h"

#include <cmath>

namespace seguente::screen {
namespace {

constexpr const char* musicFace = "DejaVu Sans";  // Debian's fonts-dejavu-core; has them all

juce::Font makeFont(const juce::String& name, const juce::String& style, float height) {
#if JUCE_MAJOR_VERSION >= 8
  return juce::Font(juce::FontOptions(name, style, height));
#else
  return juce::Font(name, style, height);
#endif
}

juce::String printed(std::string_view utf8, bool numeral) {
  auto text = plain(utf8).replaceCharacter('#', 0x266F).replaceCharacter('b', 0x266D);
  return numeral ? text.replaceCharacter('o', 0x00B0) : text;
}

}  // namespace

Letters::Letters() {
  const auto platform = makeFont(juce::Font::getDefaultSansSerifFontName(), "Regular", type::body);
  words_ = stylesOf(platform.getTypefacePtr()->getName());
  const bool has = juce::Font::findAllTypefaceNames().contains(musicFace);
  music_ = has ? stylesOf(musicFace) : words_;
}

/// Faces name their slanted style differently, and small installations have none: then it is set upright.
Letters::Styles Letters::stylesOf(const juce::String& name) {
  const auto known = juce::Font::findAllTypefaceStyles(name);
  const auto first = [&](std::initializer_list<const char*> wanted, const juce::String& otherwise) {
    for (const auto* style : wanted)
      if (known.contains(style, true)) return juce::String(style);
    return otherwise;
  };
  const auto roman = first({"Regular", "Book", "Roman"}, "Regular");
  return {name, roman, first({"Italic", "Oblique"}, roman), first({"Bold"}, "Bold")};
}

juce::Font Letters::font(float height, Weight weight, Face face) const {
  const auto& styles = face == Face::words ? words_ : music_;
  const auto& style = weight == Weight::roman ? styles.roman : weight == Weight::italic ? styles.italic : styles.bold;
  return makeFont(styles.name, style, height);
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
