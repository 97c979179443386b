// The page: a grand staff that writes what sounds, bar by bar. Systems are written alternately, as a good page turn
// leaves the line that is being read in its place. A bar can be made to stand still and be gone through note by note.
#pragma once

#include <optional>
#include <vector>

#include "plugin/editor/drawing.h"
#include "plugin/live_score.h"
#include "plugin/page/reading.h"

namespace seguente::screen {

class ScoreView final : public Element {
 public:
  explicit ScoreView(const Look& look);

  /// Writes what has come since and repaints what differs.
  void refresh(LiveScore& score);
  /// The playhead stands on each beat instead of moving.
  void setReducedMotion(bool reduced) { reduced_ = reduced; }

  /// Lets a bar stand still, as it is now; none: goes on.
  void freeze(std::optional<std::uint64_t> bar);
  std::optional<std::uint64_t> frozen() const;
  /// To another note of the bar that stands still (or of the one under the cursor, which then stands still).
  void step(int by);
  /// Sounds the bar that stands still (or the one under the cursor, which then does) at half its tempo; once more:
  /// stops.
  void readSlowly();
  /// Where the notes of a reading go, at so many seconds a quarter note; and how far it has come, in seconds: set by
  /// the desk.
  std::function<void(const std::vector<page::ReadNote>&, double)> sound;
  std::function<std::optional<double>()> soundedSeconds;
  /// The note that is pointed at or stepped to. Null when none.
  const page::HeadPlace* pointedNote() const;
  /// Turns back (positive) or on by systems.
  void turn(int by);

  std::size_t systems() const { return drawings_.size(); }
  const Drawing& drawing(std::size_t system) const { return drawings_[system]; }
  /// The playhead's rectangle; empty when it is not shown.
  juce::Rectangle<int> band() const { return band_; }

  std::vector<PlacedText> texts() const override;
  std::vector<juce::Rectangle<int>> targets() const override;
  juce::String remark() const override;
  void paint(juce::Graphics& g) override;
  void resized() override;
  bool keyPressed(const juce::KeyPress& key) override;
  void mouseMove(const juce::MouseEvent& event) override;
  void mouseDown(const juce::MouseEvent& event) override;
  void mouseWheelMove(const juce::MouseEvent& event, const juce::MouseWheelDetails& wheel) override;

 private:
  struct Plan {
    std::uint64_t first = 0;
    std::size_t count = 0;
  };
  void plan(page::Writer& writer);
  std::size_t barsASystem(page::Writer& writer, std::uint64_t from) const;
  std::vector<page::Bar> barsOf(const Plan& plan);
  void write(std::size_t slot, const Plan* plan);
  void moveBand();
  void followReading();
  juce::Rectangle<int> slowlyArea() const;
  void say();
  std::optional<std::uint64_t> barAt(juce::Point<float> at) const;
  struct Found {
    const Drawing* drawing = nullptr;
    const page::HeadPlace* head = nullptr;
  };
  Found headAt(juce::Point<float> at) const;
  std::vector<Found> headsOf(std::uint64_t bar) const;
  const page::BarPlace* placeOf(std::uint64_t bar, const Drawing** drawing) const;
  juce::Rectangle<int> frameOf(std::uint64_t bar) const;
  juce::String titleOf(std::uint64_t bar) const;
  const page::Bar* shownBar(std::uint64_t ordinal) const;

  LiveScore* score_ = nullptr;
  std::vector<Plan> plans_;
  std::vector<Drawing> drawings_;                     // a slot each, from the top
  std::vector<std::vector<page::Bar>> bars_;          // what each shows
  std::vector<std::optional<std::uint64_t>> stands_;  // first bar of a system that will not change any more
  std::optional<page::Bar> frozen_;
  std::optional<std::uint64_t> cursor_;                           // a bar, by arrows
  std::optional<std::pair<std::uint64_t, std::size_t>> pointed_;  // a bar and the place of a head among its heads
  struct Reading {
    std::vector<page::ReadNote> notes;
    double secondsAQuarter = 1;
    bool began = false;  // the audio thread has taken it
  };
  std::optional<Reading> reading_;
  int turned_ = 0;  // systems back
  std::uint64_t seen_ = ~0ull;
  std::int64_t beat_ = -1;
  std::uint64_t head_ = ~0ull;  // the bar of the playhead
  juce::Rectangle<int> band_;
  bool empty_ = true;  // nothing is written: said in words
  bool holding_ = false;
  bool playing_ = false;
  bool reduced_ = false;
};

}  // namespace seguente::screen
