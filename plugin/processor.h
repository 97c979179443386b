// The plugin as hosts see it: buffers, play head, state and parameters of JUCE turned into plain values and back.
#pragma once

#include <juce_audio_processors/juce_audio_processors.h>

#include <memory>
#include <mutex>
#include <vector>

#include "plugin/bar_reader.h"
#include "plugin/editor/memory.h"
#include "plugin/live_score.h"
#include "plugin/orders.h"
#include "plugin/parameters.h"
#include "plugin/screen_keys.h"
#include "plugin/session.h"
#include "plugin/shelf.h"
#include "plugin/signals.h"
#include "plugin/state.h"
#include "plugin/ticker.h"
#include "plugin/view.h"

namespace seguente {

class Instrument;
class Take;

class Processor final : public juce::AudioProcessor {
 public:
  /// A MIDI effect.
  Processor();
  /// With a stereo output, in which all that it sends is heard too (sound/instrument.h).
  explicit Processor(std::unique_ptr<Instrument> instrument);
  ~Processor() override;

  void prepareToPlay(double rate, int largestBlock) override;
  void releaseResources() override;
  void reset() override;
  void processBlock(juce::AudioBuffer<float>& audio, juce::MidiBuffer& midi) override;
  void processBlockBypassed(juce::AudioBuffer<float>& audio, juce::MidiBuffer& midi) override;
  juce::AudioProcessorParameter* getBypassParameter() const override;
  bool isBusesLayoutSupported(const BusesLayout& layout) const override;

  void getStateInformation(juce::MemoryBlock& into) override;
  void setStateInformation(const void* data, int size) override;

  const juce::String getName() const override { return instrument_ ? "Seguente with sound" : "Seguente"; }
  bool acceptsMidi() const override { return true; }
  bool producesMidi() const override { return true; }
  bool isMidiEffect() const override { return instrument_ == nullptr; }
  double getTailLengthSeconds() const override { return instrument_ ? 2 : 0; }  // a room's reverberation
  int getNumPrograms() override { return 1; }  // more would add a parameter that overwrites a session
  int getCurrentProgram() override { return 0; }
  void setCurrentProgram(int) override {}
  const juce::String getProgramName(int) override { return {}; }
  void changeProgramName(int, const juce::String&) override {}
  bool hasEditor() const override { return true; }
  juce::AudioProcessorEditor* createEditor() override;

  /// Who is taken away is told nothing from then on: waits for what is being told on another thread.
  void addListener(juce::AudioProcessorListener* listener) override;
  void removeListener(juce::AudioProcessorListener* listener) override;

  // For the editor. All [message].
  ParameterValues& values() noexcept { return values_; }
  juce::RangedAudioParameter& hostParameter(ParameterId which) const;  // gestures, begin and end of a change
  Shelf& shelf() noexcept { return shelf_; }
  /// The player's running orders, and the one that is open.
  Orders& orders() noexcept { return orders_; }
  SignalMap& signals() noexcept { return signals_; }
  Session& session() noexcept { return session_; }
  const ViewBox& view() const noexcept { return view_; }
  /// A key of the screen's own keyboard goes down or up, on channel 1, with the next block.
  void press(NoteNumber key, bool down) noexcept { screenKeys_.press(key, down); }
  LiveScore& score() noexcept { return score_; }
  /// Sounds a bar of the page, beside what is being played.
  BarReader& reader() noexcept { return reader_; }
  Instrument* instrument() noexcept { return instrument_.get(); }  // null in the plain effect
  Take& take() noexcept { return *take_; }  // all that is played and heard, for whoever records (sound/take_writer.h)
  /// A figure that is played in: while it is on, nothing of ours sounds and all passes (played_in.h reads it).
  Take& playedIn() noexcept { return *playedIn_; }
  EditorMemory& editorMemory() noexcept { return editorMemory_; }
  /// One more message to the player.
  void say(const std::string& message);
  /// Messages to the player, oldest first, at most the last 50; `seen` counts all that there ever were.
  std::vector<std::string> messages() const;
  std::uint32_t messageCount() const;
  /// What the timer does, four times a second: looks at the folders, frees, tells the host of a slot that was chosen by
  /// a program change, and of all that a preset has set. Tests call it themselves.
  void tick();

 private:
  void run(juce::MidiBuffer& midi, std::int64_t length, bool bypassed);
  void play(juce::MidiBuffer& midi, std::int64_t length, bool bypassed);
  void sound(juce::AudioBuffer<float>& audio);
  void tellHost();

  ParameterValues values_;
  SignalMap signals_;
  ScreenKeys screenKeys_;
  ViewBox view_;
  LiveScore score_{view_};
  BarReader reader_;
  double rate_ = 48000;
  Shelf shelf_;
  Session session_;
  Orders orders_;
  std::unique_ptr<Instrument> instrument_;
  std::unique_ptr<Take> take_, playedIn_;
  std::array<juce::RangedAudioParameter*, parameterCount> hostParameters_{};
  juce::MidiBuffer in_;
  juce::MidiBuffer room_;              // given to the host in exchange for its own, smaller one
  const juce::uint8* lent_ = nullptr;  // where that is now
  mutable std::mutex messagesMutex_;
  std::vector<std::string> messages_;
  std::uint32_t messageCount_ = 0;
  std::uint32_t toldChoices_ = 0;
  // JUCE walks its listeners without their lock while it tells them. A host that gives no run loop is told on a thread
  // of the wrapper's, and ends the wrapper on its own. Recursive: who is told may answer by leaving.
  std::recursive_mutex tellingHost_;
  EditorMemory editorMemory_;
  Ticker ticker_{[this] { tick(); }};  // last: nothing ticks once the rest goes

  JUCE_DECLARE_NON_COPYABLE_WITH_LEAK_DETECTOR(Processor)
};

}  // namespace seguente
