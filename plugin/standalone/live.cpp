#include "plugin/standalone/live.h"

#include <algorithm>
#include <cmath>

namespace seguente::home {

namespace {
using namespace std::chrono_literals;
constexpr double timerRate = 48000;
constexpr int timerBlock = 256;
}  // namespace

Live::Live(Processor& processor, PlayedKeys& played, MidiSender& sender)
    : processor_(processor), played_(played), sender_(sender) {
  midi_.ensureSize(1 << 16);
}

Live::~Live() { keepTime(false); }

void Live::prepare(double rate) {
  rate_ = rate;
  sound_.clear();
  processor_.setRateAndBufferSizeDetails(rate, most);
  processor_.prepareToPlay(rate, most);
}

void Live::audioDeviceAboutToStart(juce::AudioIODevice* device) {
  keepTime(false);
  prepare(device->getCurrentSampleRate());
}

void Live::audioDeviceStopped() { called_ = 0; }

bool Live::cardRuns() const {
  const Clock::time_point called{Clock::duration(called_.load(std::memory_order_relaxed))};
  return Clock::now() - called < 1s;
}

void Live::audioDeviceIOCallbackWithContext(const float* const*, int, float* const* out, int outs, int frames,
                                            const juce::AudioIODeviceCallbackContext&) {
  called_.store(Clock::now().time_since_epoch().count(), std::memory_order_relaxed);
  block(out, outs, frames);
}

void Live::block(float* const* out, int outs, int frames) noexcept {
  const auto now = Clock::now();
  const bool silent = silent_.load(std::memory_order_relaxed);
  for (int done = 0; done < frames; done += most) {
    const int part = std::min(most, frames - done);
    play(part, now);
    for (int c = 0; c < outs; ++c) {
      if (out[c] == nullptr) continue;
      float* const to = out[c] + done;
      if (c > 1 || silent) {
        std::fill_n(to, part, 0.0f);
      } else if (outs == 1) {  // one loudspeaker hears both sides
        for (int i = 0; i < part; ++i) to[i] = 0.5f * (sound_.getSample(0, i) + sound_.getSample(1, i));
      } else {
        std::copy_n(sound_.getReadPointer(c), part, to);
      }
    }
  }
}

/// What came while the block before sounded is played in this one, as long after its beginning as it came after that
/// one's: late by one block, and always by as much.
void Live::play(int frames, Clock::time_point now) noexcept {
  midi_.clear();
  played_.take(now, [&](const TimedMessage& m) {
    const auto ago = std::chrono::duration<double>(now - m.at).count() * rate_;
    const auto offset = std::clamp(frames - static_cast<int>(std::lround(std::min(ago, 1e6))), 0, frames - 1);
    midi_.addEvent(m.message.bytes.data(), m.message.length, offset);
  });
  const int channels = std::min(2, processor_.getTotalNumOutputChannels());
  if (channels < 2) sound_.clear();
  juce::AudioBuffer<float> sound(sound_.getArrayOfWritePointers(), channels, frames);
  processor_.processBlock(sound, midi_);
  for (const auto m : midi_) {
    const auto message = shortMessage({m.data, static_cast<std::size_t>(std::max(0, m.numBytes))});
    if (message.length == 0) continue;
    const auto after = std::chrono::duration<double>(m.samplePosition / rate_);
    sender_.send(message, now + std::chrono::duration_cast<Clock::duration>(after));
  }
}

void Live::keepTime(bool on) {
  if (on == timer_.joinable()) return;
  keepsOn_ = on;
  if (!on) return timer_.join();
  prepare(timerRate);
  timer_ = std::thread([this] { run(); });
}

/// Blocks one after another, each when it is due; what was missed by more than a tenth of a second is let go.
void Live::run() {
  constexpr auto length =
      std::chrono::duration_cast<Clock::duration>(std::chrono::duration<double>(timerBlock / timerRate));
  auto due = Clock::now();
  while (keepsOn_.load(std::memory_order_relaxed)) {
    block(nullptr, 0, timerBlock);
    due += length;
    const auto now = Clock::now();
    if (now - due > 100ms) due = now;
    std::this_thread::sleep_until(due);
  }
}

}  // namespace seguente::home
