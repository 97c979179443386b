#include <cmath>

#include "plugin/editor/palette.h"
#include "tests/catch.h"

using seguente::screen::Palette;

namespace {

// WCAG 2.2, definitions of "relative luminance" and "contrast ratio".
double linear(double channel) {
  return channel <= 0.04045 ? channel / 12.92 : std::pow((channel + 0.055) / 1.055, 2.4);
}
double luminance(juce::Colour c) {
  return 0.2126 * linear(c.getRed() / 255.0) + 0.7152 * linear(c.getGreen() / 255.0) +
         0.0722 * linear(c.getBlue() / 255.0);
}
double contrast(juce::Colour a, juce::Colour b) {
  const double first = luminance(a), second = luminance(b);
  return (std::max(first, second) + 0.05) / (std::min(first, second) + 0.05);
}

constexpr double text = 4.5;   // WCAG 2.2, success criterion 1.4.3
constexpr double marks = 3.0;  // 1.4.11: marks, frames, focus

struct Pair {
  const char* what;
  juce::Colour Palette::*front;
  juce::Colour Palette::*ground;
  double least;
};

}  // namespace

TEST_CASE("The formula gives the ratios that the standard's own examples give") {
  CHECK(contrast(juce::Colours::black, juce::Colours::white) == Approx(21.0));
  CHECK(contrast(juce::Colour(0xFF777777), juce::Colours::white) == Approx(4.48).margin(0.005));
}

TEST_CASE("Every text and every mark stands out from its ground, on light and on dark paper") {
  const Pair pairs[] = {{"text", &Palette::ink, &Palette::page, text},
                        {"comments", &Palette::soft, &Palette::page, text},
                        {"what cannot be used now", &Palette::coming, &Palette::page, text},
                        {"a reversed target", &Palette::page, &Palette::ink, text},
                        {"key names", &Palette::soft, &Palette::whiteKey, text},
                        {"lines under values", &Palette::rule, &Palette::page, marks},
                        {"melody", &Palette::melody, &Palette::whiteKey, marks},
                        {"text on the band", &Palette::ink, &Palette::band, text},
                        {"staff lines", &Palette::staff, &Palette::page, marks},
                        {"melody on the band", &Palette::melody, &Palette::band, marks},
                        {"accompaniment on the band", &Palette::accompaniment, &Palette::band, marks},
                        {"what comes, on the band", &Palette::coming, &Palette::band, marks},
                        {"melody in the legend", &Palette::melody, &Palette::page, marks},
                        {"accompaniment", &Palette::accompaniment, &Palette::whiteKey, marks},
                        {"accompaniment in the legend", &Palette::accompaniment, &Palette::page, marks},
                        {"held", &Palette::ink, &Palette::whiteKey, marks},
                        {"held on black", &Palette::heldOnBlack, &Palette::blackKey, marks},
                        {"melody on black", &Palette::melodyOnBlack, &Palette::blackKey, marks},
                        {"accompaniment on black", &Palette::accompaniment, &Palette::blackKey, marks},
                        {"lines between keys", &Palette::keyLine, &Palette::whiteKey, marks}};
  for (const auto& palette : {seguente::screen::lightPalette(), seguente::screen::darkPalette()})
    for (const auto& pair : pairs) {
      INFO(pair.what << " on " << (palette.*pair.ground).toString());
      CHECK(contrast(palette.*pair.front, palette.*pair.ground) >= pair.least);
    }
}
