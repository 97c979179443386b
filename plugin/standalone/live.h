// Plays the processor live: messages from the keyboards go in at their place in the block, its sound and its MIDI come
// out. Driven by the sound card, or by a thread that keeps time where there is none.
#pragma once

#include <juce_audio_devices/juce_audio_devices.h>

#include <atomic>
#include <string>
#include <thread>

#include "plugin/processor.h"
#include "plugin/standalone/live_midi.h"
#include "plugin/standalone/midi_sender.h"

namespace seguente::home {

class Live final : public juce::AudioIODeviceCallback {
 public:
  Live(Processor& processor, PlayedKeys& played, MidiSender& sender);
  ~Live() override;

  /// Keeps time with no sound card, or stops. Goes by itself while no card runs. [message]
  void keepTime(bool on);
  bool keepsTime() const { return timer_.joinable(); }
  /// A card has called within the last second. [message]
  bool cardRuns() const;
  /// Our own sound is not wanted: a keyboard makes it. [any]
  void setSilent(bool silent) noexcept { silent_.store(silent, std::memory_order_relaxed); }

  void audioDeviceAboutToStart(juce::AudioIODevice* device) override;
  void audioDeviceStopped() override;
  void audioDeviceIOCallbackWithContext(const float* const* in, int ins, float* const* out, int outs, int frames,
                                        const juce::AudioIODeviceCallbackContext& context) override;

  /// One block, also for tests: nothing else may call it then. [audio]
  void block(float* const* out, int outs, int frames) noexcept;
  /// Not while a block runs. [message]
  void prepare(double rate);

 private:
  void play(int frames, Clock::time_point now) noexcept;
  void run();

  static constexpr int most = 2048;  // frames at once; a card's longer block goes in several
  Processor& processor_;
  PlayedKeys& played_;
  MidiSender& sender_;
  double rate_ = 48000;
  juce::AudioBuffer<float> sound_{2, most};
  juce::MidiBuffer midi_;
  std::atomic<bool> silent_{false};
  std::atomic<std::int64_t> called_{0};  // when the card called last, in ticks of Clock
  std::atomic<bool> keepsOn_{false};
  std::thread timer_;
};

}  // namespace seguente::home
