#include <array>

#include "plugin/editor/keyboard_view.h"
#include "plugin/editor/strings.h"

namespace seguente::screen {
namespace {

/// A note's head: an ellipse that leans up to the right, as printed.
juce::Path head(juce::Rectangle<float> place) {
  const float high = std::min(place.getHeight(), place.getWidth() * 0.78f);
  const auto middle = place.getCentre();
  juce::Path path;
  path.addEllipse(middle.x - high * 0.6f, middle.y - high * 0.4f, high * 1.2f, high * 0.8f);
  path.applyTransform(juce::AffineTransform::rotation(-0.36f, middle.x, middle.y));
  return path;
}

constexpr int markWidth = 20;
constexpr int gapInside = 5;
constexpr int gapBetween = 14;
constexpr std::array legendWords{words::held, words::melody, words::accompaniment, words::next};

}  // namespace

void drawHeldHead(juce::Graphics& g, juce::Rectangle<float> place, juce::Colour line, juce::Colour hole) {
  const auto path = head(place.reduced(1));
  g.setColour(hole);
  g.fillPath(path);
  g.setColour(line);
  g.strokePath(path, juce::PathStrokeType(1.9f));
}

void drawMelodyHead(juce::Graphics& g, juce::Rectangle<float> place, juce::Colour fill) {
  g.setColour(fill);
  g.fillPath(head(place));
}

void drawNext(juce::Graphics& g, juce::Rectangle<float> place, juce::Colour line) {
  g.setColour(line);
  const auto f = place.reduced(1);
  const float dashes[] = {3, 2};
  for (const auto& side :
       {juce::Line<float>(f.getTopLeft(), f.getTopRight()), juce::Line<float>(f.getTopRight(), f.getBottomRight()),
        juce::Line<float>(f.getBottomLeft(), f.getBottomRight()), juce::Line<float>(f.getTopLeft(), f.getBottomLeft())})
    g.drawDashedLine(side, dashes, 2, 2.0f);
}

/// Strokes that fall to the right, with a frame.
void drawHatching(juce::Graphics& g, juce::Rectangle<float> place, juce::Colour line, juce::Colour ground) {
  const juce::Graphics::ScopedSaveState state(g);
  g.reduceClipRegion(place.getSmallestIntegerContainer());
  g.setColour(ground);
  g.fillRect(place);
  g.setColour(line);
  for (float x = place.getX() - place.getHeight(); x < place.getRight(); x += 5.5f)
    g.drawLine(x, place.getY(), x + place.getHeight(), place.getBottom(), 2.3f);
  g.drawRect(place, 1.5f);
}

Legend::Legend(const Look& look) : Element(look, plain(words::keyboard), juce::AccessibilityRole::staticText) {
  juce::StringArray said;
  for (const auto* word : legendWords) said.add(plain(word));
  setTitle(said.joinIntoString(", "));
}

int Legend::widthNeeded() const {
  int width = 0;
  for (const auto* word : legendWords)
    width += markWidth + gapInside + widthOf(font(type::small), plain(word)) + gapBetween;
  return width - gapBetween + 2;
}

std::vector<juce::Rectangle<int>> Legend::marks() const {
  std::vector<juce::Rectangle<int>> all;
  int x = 0;
  for (const auto* word : legendWords) {
    all.push_back({x, getHeight() / 2 - 8, markWidth, 16});
    x += markWidth + gapInside + widthOf(font(type::small), plain(word)) + gapBetween;
  }
  return all;
}

std::vector<PlacedText> Legend::texts() const {
  std::vector<PlacedText> all;
  const auto places = marks();
  for (std::size_t i = 0; i < legendWords.size(); ++i) {
    const auto text = plain(legendWords[i]);
    all.push_back({text,
                   font(type::small),
                   {places[i].getRight() + gapInside, 0, widthOf(font(type::small), text) + 1, getHeight()}});
  }
  return all;
}

void Legend::drawMarks(juce::Graphics& g) const {
  const auto places = marks();
  const auto& p = palette();
  const auto outline = places[0].toFloat();
  g.setColour(p.whiteKey);
  g.fillRect(outline);
  g.setColour(p.ink);
  g.drawRect(outline, 2);
  drawHeldHead(g, outline.reduced(3.5f), p.ink, p.whiteKey);
  drawMelodyHead(g, places[1].toFloat().reduced(1), p.melody);
  drawHatching(g, places[2].toFloat(), p.accompaniment, p.whiteKey);
  drawNext(g, places[3].toFloat(), p.accompaniment);
}

}  // namespace seguente::screen
