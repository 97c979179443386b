// A plugin that is played and its window, without a display.
#pragma once

#include <initializer_list>
#include <memory>
#include <vector>

#include "plugin/editor/window.h"
#include "plugin/processor.h"

namespace seguente::test {

/// Plays blocks of 500 at 48 kHz; the host says a tempo of 96 and rolls.
class Desk {
 public:
  static constexpr int block = 500, quarterBlocks = 60;
  Desk();
  screen::Window& window() { return *window_; }
  screen::Page& page() { return window_->page(); }
  Processor& processor() { return processor_; }

  /// With the next block, which is played at once unless said otherwise.
  void press(std::initializer_list<int> keys, bool atOnce = true);
  void letGo(std::initializer_list<int> keys, bool atOnce = true);
  void control(int controller, int value);
  void play(int blocks);
  /// The host's meter from now on.
  void count(int numerator, int denominator) { head_.meter = {numerator, denominator}; }
  void roll(bool rolls) { head_.rolls = rolls; }
  /// Every key that was struck in what came out, in order: the accompaniment on channel 1 and the tune alike.
  const std::vector<int>& struck() const { return struck_; }
  Ticks now() { return processor_.score().view().tick; }
  /// Closes the window and opens another.
  void reopen();
  void sizeTo(int width, int height);  // of the page; the window follows its scale

 private:
  struct Head final : juce::AudioPlayHead {
    juce::Optional<PositionInfo> getPosition() const override;
    std::int64_t sample = 0;
    TimeSignature meter{4, 4};
    bool rolls = true;
  };
  Head head_;
  Processor processor_;
  juce::AudioBuffer<float> audio_{0, block};
  juce::MidiBuffer midi_;
  std::vector<int> struck_;
  std::unique_ptr<screen::Window> window_;
};

/// Bars of C, F and G7 in three with a tune over them, stopping inside the first note of the last.
void playWaltz(Desk& desk, int bars);

/// What Tab goes through, in its order.
std::vector<juce::Component*> tabOrder(juce::Component& container);
/// All elements that are shown now.
std::vector<screen::Element*> shownElements(Desk& desk);
/// The field of a row that is shown now.
screen::ParameterControl* fieldOf(Desk& desk, ParameterId which);
bool pressKey(juce::Component& component, int keyCode);

/// Everything a parameter's host is told, as one line a call: "begin idiom", "idiom", "end idiom".
class HostEar final : private juce::AudioProcessorListener {
 public:
  explicit HostEar(Processor& processor);
  ~HostEar() override;
  std::vector<std::string> heard;

 private:
  std::string nameOf(int index) const;
  void audioProcessorParameterChanged(juce::AudioProcessor*, int index, float) override;
  void audioProcessorChanged(juce::AudioProcessor*, const ChangeDetails&) override {}
  void audioProcessorParameterChangeGestureBegin(juce::AudioProcessor*, int index) override;
  void audioProcessorParameterChangeGestureEnd(juce::AudioProcessor*, int index) override;
  Processor& processor_;
};

}  // namespace seguente::test
