// The line over the first bar, as a score prints it: the tempo and who gives it, the idiom, the piece, the key.
#pragma once

#include "plugin/editor/element.h"
#include "plugin/host_time.h"
#include "plugin/view.h"

namespace seguente::screen {

/// Where in its bar a position stands; both from 1, the bar counted in this meter from the session's start.
struct BarBeat {
  std::int64_t bar = 1;
  int beat = 1;
  friend bool operator==(BarBeat, BarBeat) = default;
};
BarBeat barBeatOf(const View& view);
/// How many beats are left until a place, the one that runs among them.
std::int64_t beatsUntil(const View& view, Ticks place);
/// Of a round that is kept going: "round", and in its last bar "singer in 3": so many beats. Else empty. [message]
juce::String roundText(const View& view);
/// "92", "92.5". [message]
juce::String tempoText(double quartersPerMinute);
/// The sign of a quarter note, its foot at `foot`.
void drawQuarter(juce::Graphics& g, juce::Point<float> foot, float height);

class TimeView final : public Element {
 public:
  static constexpr int height = 30;
  explicit TimeView(const Look& look);
  void refresh(const View& view, TimeSource source, const juce::String& idiom, const juce::String& density);
  /// What is played, in the middle; empty in a plugin.
  void setPiece(const juce::String& piece) { show(*this, piece_, piece); }
  std::vector<PlacedText> texts() const override;

 private:
  struct Shown {
    juce::String tempo, from, idiom, key;
    bool playing = false;
    friend bool operator==(const Shown&, const Shown&) = default;
  };
  void drawMarks(juce::Graphics& g) const override;
  Shown shown_;
  juce::String piece_;
};

}  // namespace seguente::screen
