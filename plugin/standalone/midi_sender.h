// What leaves by MIDI: to a port that others may listen to, and to a keyboard that has a sound of its own. The audio
// thread puts messages with their times into a ring; a thread of ours sends them when they are due.
#pragma once

#include <mutex>
#include <optional>
#include <thread>

#include "plugin/standalone/midi_ports.h"

namespace seguente::home {

/// What becomes of the sound that a keyboard makes by itself.
enum class PianoSound : std::uint8_t {
  asItIs,    // it sounds what is played on it; we sound what we make
  silent,    // Local Control off: all is heard from us
  playsAll,  // Local Control off, and it is sent all that sounds: we are silent
};

class MidiSender {
 public:
  static constexpr std::uint8_t toOthers = 1, toPiano = 2;
  MidiSender() = default;
  /// Ends all that was sent, and gives a keyboard its own sound back.
  ~MidiSender();

  /// The port for others; null takes it away. [message]
  void publish(SendMidi others);
  /// The keyboard, or null, and what it shall do: one that we leave is left as we found it. [message]
  void usePiano(SendMidi piano, PianoSound sound);
  PianoSound pianoSound() const { return sound_; }

  /// [audio] wait-free. Where nobody listens it costs a comparison.
  void send(const ShortMessage& message, Clock::time_point due) noexcept {
    const auto to = wanted_.load(std::memory_order_relaxed);
    if (to != 0) ring_.push({due, message, to});
  }

 private:
  void run();
  void runOrRest();
  void leavePiano();

  Ring<TimedMessage> ring_{4096};
  std::atomic<std::uint8_t> wanted_{0};
  std::mutex mutex_;  // of the two below; never taken by the audio thread
  SendMidi others_, piano_;
  PianoSound sound_ = PianoSound::asItIs;
  std::atomic<bool> runs_{false};
  std::thread thread_;
};

}  // namespace seguente::home
