// The instrument at home, all but its window: processor, sound card or timer, keyboards, takes, and what is remembered
// from one evening to the next.
#pragma once

#include <juce_audio_devices/juce_audio_devices.h>
#include <juce_data_structures/juce_data_structures.h>

#include <deque>
#include <functional>
#include <memory>

#include "plugin/processor.h"
#include "plugin/sound/take_writer.h"
#include "plugin/standalone/live.h"
#include "plugin/standalone/midi_ports.h"
#include "plugin/standalone/midi_sender.h"

namespace seguente::home {

/// What it stands in; tests make their own.
struct Surroundings {
  MidiSystem midi;
  SendMidi published;   // null: the machine lends no such port
  juce::File settings;  // a file, made when something is to be remembered
  juce::File takes;     // a folder, made with the first take
  bool card = true;     // look for a sound card
  bool time = true;     // keep time without one; a test plays the blocks itself
};
/// The user's own places by the XDG rules: settings under XDG_CONFIG_HOME, takes in the music folder.
Surroundings realSurroundings();

/// All [message].
class Home {
 public:
  explicit Home(Surroundings surroundings);
  ~Home();

  /// Opens the sound card, or keeps time without.
  void start();
  /// Twice a second: devices that came or went, the state of the take.
  void look();
  /// What is going on, for the running head: keyboards, sound, take.
  juce::String status() const;
  /// Told what the player should read.
  std::function<void(const juce::String&)> say;

  Processor& processor() { return processor_; }
  juce::AudioDeviceManager& cards() { return cards_; }
  Live& live() { return live_; }
  juce::PropertiesFile& settings() { return *settings_; }
  const juce::File& takesFolder() const { return surroundings_.takes; }
  bool hasPiano() const { return !ports_.connected().empty(); }
  bool hasSound() const { return live_.cardRuns() && instrumentReady(); }

  bool recording() const;
  void record(bool on);
  SoundFormat takeFormat() const;
  void setTakeFormat(SoundFormat format);

  /// The one that is connected can be sent to as well.
  bool pianoMaySound() const { return pair_.has_value(); }
  PianoSound pianoSound() const { return sender_.pianoSound(); }
  void setPianoSound(PianoSound sound);

  void setPace(int percent);
  void setCountIn(bool on);
  /// A beat, now or (tests) at a time in seconds: from the second one on the own tempo follows.
  void tap();
  void tap(double seconds);

  /// Once in a life: true until it was told otherwise.
  bool firstTime() const;
  void wasSeen();
  /// Writes down how everything is set.
  void remember();

  double volume() const;
  void setVolume(double percent);
  /// One soft note of the tune, to set the loudness by; silent again at the next look but one.
  void softNote();

 private:
  void recall();
  void lookAtPorts();
  void lookAtSound();
  void lookAtTake();
  void tell(const char* words, const juce::String& what = {}) const;
  bool instrumentReady() const;
  juce::String soundFault() const;

  Surroundings surroundings_;
  std::unique_ptr<juce::PropertiesFile> settings_;
  Processor processor_;
  Instrument& instrument_{*processor_.instrument()};
  PlayedKeys played_;
  MidiSender sender_;
  MidiPorts ports_;
  Live live_;
  juce::AudioDeviceManager cards_;
  TakeWriter takes_;
  std::optional<PortInfo> pair_;
  juce::String soundSaid_;
  bool recording_ = false;
  int silentLooks_ = 0;  // in a row, at a card that is open and does not call
  int noteLooks_ = 0;    // looks until the soft note ends
  std::deque<double> taps_;
};

}  // namespace seguente::home
