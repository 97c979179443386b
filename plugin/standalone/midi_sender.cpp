#include "plugin/standalone/midi_sender.h"

namespace seguente::home {

namespace {
using namespace std::chrono_literals;
// Channel mode messages of MIDI 1.0: All Sound Off, Local Control (0 off, 127 on), All Notes Off.
constexpr std::uint8_t allSoundOff = 120, localControl = 122, allNotesOff = 123;

/// A keyboard listens on its basic channel, which nobody knows: on all.
void onEveryChannel(const SendMidi& to, std::uint8_t controller, std::uint8_t value) {
  if (!to) return;
  for (int channel = 0; channel < 16; ++channel) {
    const std::array<std::uint8_t, 3> bytes{static_cast<std::uint8_t>(0xB0 | channel), controller, value};
    to(bytes);
  }
}

void silence(const SendMidi& to) {
  onEveryChannel(to, allNotesOff, 0);
  onEveryChannel(to, allSoundOff, 0);
}
}  // namespace

MidiSender::~MidiSender() {
  usePiano({}, PianoSound::asItIs);
  publish({});
}

void MidiSender::publish(SendMidi others) {
  {
    const std::scoped_lock lock(mutex_);
    silence(others_);
    others_ = std::move(others);
  }
  runOrRest();
}

void MidiSender::leavePiano() {
  if (sound_ == PianoSound::playsAll) silence(piano_);
  if (sound_ != PianoSound::asItIs) onEveryChannel(piano_, localControl, 127);
}

void MidiSender::usePiano(SendMidi piano, PianoSound sound) {
  {
    const std::scoped_lock lock(mutex_);
    leavePiano();
    piano_ = std::move(piano);
    sound_ = piano_ ? sound : PianoSound::asItIs;
    if (sound_ != PianoSound::asItIs) onEveryChannel(piano_, localControl, 0);
  }
  runOrRest();
}

/// The thread lives while somebody is to be sent something.
void MidiSender::runOrRest() {
  const auto wanted =
      static_cast<std::uint8_t>((others_ ? toOthers : 0) | (piano_ && sound_ == PianoSound::playsAll ? toPiano : 0));
  wanted_.store(wanted, std::memory_order_relaxed);
  if ((wanted != 0) == thread_.joinable()) return;
  runs_ = wanted != 0;
  if (wanted != 0) {
    thread_ = std::thread([this] { run(); });
    return;
  }
  thread_.join();
  while (ring_.oldest() != nullptr) ring_.drop();
}

void MidiSender::run() {
  while (runs_.load(std::memory_order_relaxed)) {
    {
      const std::scoped_lock lock(mutex_);
      const auto now = Clock::now();
      while (const auto* m = ring_.oldest()) {
        if (m->at > now) break;
        if ((m->to & toOthers) != 0 && others_) others_(m->message.span());
        if ((m->to & toPiano) != 0 && piano_) piano_(m->message.span());
        ring_.drop();
      }
    }
    std::this_thread::sleep_for(1ms);  // finer than a hand hears (Wessel and Wright 2001: 10 ms, varying by 1)
  }
}

}  // namespace seguente::home
