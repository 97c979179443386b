// The time as a score prints it over the first bar: the tempo and who gives it, the bar, the count with its beat.
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

class TimeView final : public Element {
 public:
  static constexpr int height = 28;
  explicit TimeView(const Look& look);
  void refresh(const View& view, TimeSource source);
  std::vector<PlacedText> texts() const override;

 private:
  struct Shown {
    juce::String tempo, from;
    BarBeat at;
    int beats = 4;
    bool playing = false;
    friend bool operator==(const Shown&, const Shown&) = default;
  };
  void drawMarks(juce::Graphics& g) const override;
  Shown shown_;
};

}  // namespace seguente::screen
