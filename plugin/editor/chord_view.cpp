#include "plugin/editor/chord_view.h"

#include <algorithm>
#include <cmath>

#include "dsp/harmony.h"
#include "plugin/editor/strings.h"

namespace seguente::screen {
namespace {
constexpr int belowHeight = 22;
constexpr int fermataRoom = 30;
constexpr int smallestOfLarge = 92;  // a symbol keeps this height while there is room
}  // namespace

juce::String namesOf(const KeySet& held, const Chord& chord) {
  juce::StringArray names;
  held.forEach([&](NoteNumber key) {
    SpelledPitch spelled;
    bool found = false;
    for (std::size_t i = 0; i < chord.count && !found; ++i) {
      spelled = spellTone(chord, i);
      found = spelled.pitchClass() == key.pitchClass();
    }
    if (!found) {  // a key that is no tone of the chord: by its own name
      Chord alone;
      alone.root = alone.bass = key.pitchClass();
      alone.count = 1;
      spell(alone, {});
      spelled = alone.rootSpelling;
    }
    names.add(printedSymbol(nameOf(spelled).view()));
  });
  return names.joinIntoString(" ");
}

void drawFermata(juce::Graphics& g, juce::Point<float> foot, float width) {
  juce::Path arc;  // thick above, thin at its ends, as printed
  const float half = width / 2, high = width * 0.55f;
  arc.startNewSubPath(foot.x - half, foot.y);
  arc.cubicTo(foot.x - half, foot.y - high * 1.25f, foot.x + half, foot.y - high * 1.25f, foot.x + half, foot.y);
  arc.cubicTo(foot.x + half * 0.8f, foot.y - high, foot.x - half * 0.8f, foot.y - high, foot.x - half, foot.y);
  arc.closeSubPath();
  g.fillPath(arc);
  const float dot = width * 0.16f;
  g.fillEllipse(foot.x - dot / 2, foot.y - dot, dot, dot);
}

ChordView::ChordView(const Look& look) : Element(look, plain(words::chord), juce::AccessibilityRole::staticText) {}

void ChordView::refresh(const View& view) {
  Shown now;
  now.holding = view.holding;
  if (view.bypassed) {
    now.below = plain(words::bypassed);
  } else if (!view.hasChord) {
    now.below = plain(words::noChord);
  } else {
    now.symbol = printedSymbol(symbolOf(view.chord).view());
    now.numeral = printedNumeral(numeralOf(view.chord, view.key).view());
    if (view.key.known) now.key = plain(words::inMeter) + printedSymbol(nameOf(view.key).view());
    now.below =
        view.held.empty() ? plain(words::chordStays) : plain(words::youHold) + namesOf(view.held, view.chord) + ".";
  }
  if (!show(*this, shown_, now)) return;
  setTitle(plain(words::chord) + ": " + (now.symbol.isEmpty() ? now.below : now.symbol) +
           (now.numeral.isEmpty() ? "" : ", " + now.numeral + " " + now.key));
}

/// Symbol and the line below it, in the middle of the room; where there is room, more over it for a fermata.
ChordView::Places ChordView::places() const {
  const auto room = getLocalBounds().reduced(edge, 0);
  const int over = room.getHeight() > 110 ? fermataRoom : 0;
  const int left = room.getHeight() - over - belowHeight;
  const int symbol = std::min(left, std::max(smallestOfLarge, room.getHeight() * 45 / 100));
  auto block = room.withSizeKeepingCentre(room.getWidth(), over + symbol + belowHeight);
  block.removeFromTop(over);
  return {block.removeFromTop(symbol), block};
}

std::vector<PlacedText> ChordView::texts() const {
  std::vector<PlacedText> all;
  auto [area, below] = places();
  const auto comment = font(type::body, Weight::roman, Face::music);
  all.push_back({shortened(comment, shown_.below, below.getWidth()), comment, below, Ink::soft});
  if (shown_.symbol.isEmpty()) return all;

  auto height = static_cast<float>(area.getHeight());
  auto symbol = font(height, Weight::bold, Face::music);
  const auto numeral = font(std::max(19.0f, height * 0.36f), Weight::italic, Face::music);
  const auto key = font(type::value, Weight::italic, Face::music);
  const int beside = std::max(widthOf(numeral, shown_.numeral), widthOf(key, shown_.key)) + 20;
  const int room = area.getWidth() - beside;
  if (const int wide = widthOf(symbol, shown_.symbol); wide > room) {
    height = std::max(20.0f, std::floor(height * static_cast<float>(room) / static_cast<float>(wide + 1)));
    symbol = font(height, Weight::bold, Face::music);
  }
  const auto text = shortened(symbol, shown_.symbol, room);
  all.push_back({text, symbol, area.removeFromLeft(std::min(room, widthOf(symbol, text) + 1))});
  area.removeFromLeft(16);
  // Numeral over key, the pair in the middle of the symbol's height.
  auto pair = area.withSizeKeepingCentre(area.getWidth(), static_cast<int>(numeral.getHeight()) + 22);
  if (shown_.numeral.isNotEmpty())
    all.push_back({shown_.numeral, numeral, pair.removeFromTop(static_cast<int>(numeral.getHeight())), Ink::ink});
  if (shown_.key.isNotEmpty()) all.push_back({shown_.key, key, pair.removeFromTop(22), Ink::soft});
  return all;
}

void ChordView::drawMarks(juce::Graphics& g) const {
  if (!shown_.holding || shown_.symbol.isEmpty()) return;
  const auto area = places().symbol;
  g.setColour(palette().ink);
  const auto placed = texts();
  const int wide = placed.size() > 1 ? placed[1].area.getWidth() : 40;
  if (area.getY() > fermataRoom / 2)
    drawFermata(g, {static_cast<float>(area.getX() + wide / 2), static_cast<float>(area.getY() + 2)}, 40);
  else
    drawFermata(g, {static_cast<float>(getWidth() - 26), static_cast<float>(area.getCentreY())}, 36);
}

}  // namespace seguente::screen
