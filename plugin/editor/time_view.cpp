#include "plugin/editor/time_view.h"

#include <algorithm>
#include <cmath>

#include "dsp/harmony.h"
#include "plugin/editor/drawing.h"
#include "plugin/editor/strings.h"

namespace seguente::screen {
namespace {

constexpr int signRoom = 12;
constexpr int indent = 2;

const char* sourceText(TimeSource source) {
  switch (source) {
    case TimeSource::own:
      return words::ownTempo;
    case TimeSource::hands:
      return words::fromHands;
    case TimeSource::host:
      break;
  }
  return words::fromHost;
}

}  // namespace

juce::String tempoText(double quartersPerMinute) {
  const auto tenths = std::llround(quartersPerMinute * 10);
  juce::String text(tenths / 10);
  if (tenths % 10 != 0) text << "." << juce::String(std::abs(tenths % 10));
  return text;
}

void drawQuarter(juce::Graphics& g, juce::Point<float> foot, float height) {
  const float space = height / 3.9f;
  drawGlyph(g, page::Glyph::headBlack, {foot.x + space * 0.6f, foot.y - space * 0.5f}, space);
  g.fillRect(foot.x + space * 1.03f, foot.y - height, std::max(1.0f, space * 0.16f), height - space * 0.5f);
}

BarBeat barBeatOf(const View& view) {
  if (!view.meter.valid()) return {};
  const auto bar = view.meter.bar().value;
  const auto bars = floorDivide(view.tick.value - view.barStart.value, bar);  // since the line that is known
  const auto start = view.barStart.value + bars * bar;
  return {view.bar + bars, static_cast<int>((view.tick.value - start) / view.meter.beat().value) + 1};
}

std::int64_t beatsUntil(const View& view, Ticks place) {
  if (!view.meter.valid()) return 0;
  const auto beat = view.meter.beat().value;
  return std::max<std::int64_t>(1, (place.value - view.tick.value + beat - 1) / beat);
}

juce::String roundText(const View& view) {
  if (!view.round || !view.meter.valid()) return {};
  if ((view.roundBegins - view.tick).value > view.meter.bar().value) return plain(words::roundGoes);
  return plain(words::singerIn) + juce::String(static_cast<juce::int64>(beatsUntil(view, view.roundBegins)));
}

TimeView::TimeView(const Look& look) : Element(look, plain(words::time), juce::AccessibilityRole::staticText) {}

void TimeView::refresh(const View& view, TimeSource source, const juce::String& idiom, const juce::String& density) {
  Shown now{tempoText(view.quartersPerMinute), plain(sourceText(source)), idiom, {}, view.playing};
  if (view.round) now.from << ", " << roundText(view);
  if (idiom.isNotEmpty() && density.isNotEmpty()) now.idiom << ", " << density;
  if (view.key.known)
    now.key = plain(words::inMeter) + printedSymbol(nameOf(view.key.tonic).view()) +
              (view.key.mode == Mode::minor ? plain(words::minorKey) : juce::String());
  if (!show(*this, shown_, now)) return;
  setTitle(plain(words::time) + ": " + now.tempo + ", " + now.from + ", " +
           plain(now.playing ? words::playing : words::stopped) + ", " + now.idiom + ", " + now.key);
}

std::vector<PlacedText> TimeView::texts() const {
  std::vector<PlacedText> all;
  auto line = getLocalBounds();
  line.removeFromLeft(indent + signRoom);
  const auto add = [&](const juce::String& text, const juce::Font& face, Ink ink) {
    if (text.isEmpty() || widthOf(face, text) + 1 > line.getWidth()) return;
    all.push_back({text, face, line.removeFromLeft(widthOf(face, text) + 1), ink});
    line.removeFromLeft(12);
  };
  const auto keyFace = font(type::body, Weight::italic);
  if (shown_.key.isNotEmpty()) {
    const int wide = widthOf(keyFace, shown_.key) + 1;
    all.push_back({shown_.key, keyFace, line.removeFromRight(wide), Ink::ink, Side::right});
    line.removeFromRight(12);
  }
  add("= " + shown_.tempo, font(type::body, Weight::bold), Ink::ink);
  add(shown_.from, font(type::comment), Ink::soft);
  if (!shown_.playing) add(plain(words::stopped), font(type::comment), Ink::soft);
  add(shown_.idiom, font(type::body, Weight::italic), Ink::ink);
  if (piece_.isNotEmpty()) {
    const auto face = font(type::title);
    const int wide = widthOf(face, piece_) + 1;
    auto middle = getLocalBounds().withSizeKeepingCentre(wide, getHeight());
    if (middle.getX() < line.getX()) middle = line.withWidth(std::min(wide, line.getWidth()));
    all.push_back({shortened(face, piece_, middle.getWidth()), face, middle, Ink::ink, Side::left});
  }
  return all;
}

void TimeView::drawMarks(juce::Graphics& g) const {
  g.setColour(palette().ink);
  drawQuarter(g, {static_cast<float>(indent), static_cast<float>(getHeight()) - 9.0f}, 19);
}

}  // namespace seguente::screen
