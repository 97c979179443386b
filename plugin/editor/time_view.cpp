#include "plugin/editor/time_view.h"

#include <cmath>

#include "plugin/editor/strings.h"

namespace seguente::screen {
namespace {
constexpr int mostCounted = 12;  // meters with more beats say "beat 14 of 15"
constexpr int countWidth = 20;

juce::String tempoText(double quartersPerMinute) {
  const auto tenths = std::llround(quartersPerMinute * 10);
  juce::String text(tenths / 10);
  if (tenths % 10 != 0) text << "." << juce::String(std::abs(tenths % 10));
  return text;
}

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

BarBeat barBeatOf(const View& view) {
  if (!view.meter.valid()) return {};
  const auto bar = view.meter.bar().value;
  const auto bars = floorDivide(view.tick.value - view.barStart.value, bar);  // since the line that is known
  const auto start = view.barStart.value + bars * bar;
  return {view.bar + bars, static_cast<int>((view.tick.value - start) / view.meter.beat().value) + 1};
}

TimeView::TimeView(const Look& look) : Element(look, plain(words::time), juce::AccessibilityRole::staticText) {}

void TimeView::refresh(const View& view, TimeSource source) {
  const Shown now{tempoText(view.quartersPerMinute), plain(sourceText(source)), barBeatOf(view),
                  view.meter.valid() ? view.meter.numerator : 4, view.playing};
  if (!show(*this, shown_, now)) return;
  setTitle(plain(words::time) + ": " + now.tempo + ", " + now.from + ", " + plain(words::bar) +
           juce::String(now.at.bar) + ", " + plain(words::beat) + juce::String(now.at.beat) + ", " +
           plain(now.playing ? words::playing : words::stopped));
}

std::vector<PlacedText> TimeView::texts() const {
  std::vector<PlacedText> all;
  auto line = getLocalBounds().reduced(edge, 0);
  const auto add = [&](const juce::String& text, const juce::Font& face, Ink ink) {
    all.push_back({text, face, line.removeFromLeft(widthOf(face, text) + 1), ink});
    line.removeFromLeft(12);
  };
  add(plain(words::tempo) + shown_.tempo, font(type::value, Weight::bold, Face::music), Ink::ink);
  add(shown_.from, font(type::comment, Weight::italic), Ink::soft);
  add(plain(shown_.playing ? words::playing : words::stopped), font(type::comment), Ink::soft);
  if (shown_.beats > mostCounted) {
    const auto text = plain(words::beat) + juce::String(shown_.at.beat) + plain(words::of) + juce::String(shown_.beats);
    const auto face = font(type::body, Weight::bold);
    all.push_back({text, face, line.removeFromRight(widthOf(face, text) + 1), Ink::ink, Side::right});
  } else {
    auto count = line.removeFromRight(countWidth * shown_.beats);
    for (int beat = 1; beat <= shown_.beats; ++beat) {
      const bool now = shown_.playing && beat == shown_.at.beat;
      all.push_back({juce::String(beat), font(type::body, now ? Weight::bold : Weight::roman),
                     count.removeFromLeft(countWidth), now ? Ink::ink : Ink::soft, Side::middle});
    }
  }
  const auto bar = plain(words::bar) + juce::String(shown_.at.bar);
  const auto face = font(type::body);
  const int width = widthOf(face, bar) + 1;
  line.removeFromRight(10);
  all.push_back({bar, face, line.removeFromRight(width), Ink::ink, Side::right});
  return all;
}

/// The beat that sounds is underlined, as the count under a staff.
void TimeView::drawMarks(juce::Graphics& g) const {
  if (!shown_.playing || shown_.beats > mostCounted) return;
  const int left = getWidth() - edge - countWidth * (shown_.beats - shown_.at.beat + 1);
  g.setColour(palette().ink);
  g.fillRect(left + 3, getHeight() - 4, countWidth - 6, 3);
}

}  // namespace seguente::screen
