#include "plugin/standalone/real_midi.h"

#include <juce_audio_devices/juce_audio_devices.h>

namespace seguente::home {

namespace {

constexpr const char* ourName = "Seguente";

#if JUCE_LINUX
constexpr bool alsa = true;
#else
constexpr bool alsa = false;
#endif

bool hasSequencer() {
#if JUCE_LINUX
  return juce::File("/dev/snd/seq").exists();
#else
  return true;
#endif
}

/// On ALSA an identifier is "client-port"; client 0 is the system itself.
std::vector<PortInfo> listed(const juce::Array<juce::MidiDeviceInfo>& devices) {
  std::vector<PortInfo> all;
  for (const auto& d : devices) {
    const bool system = alsa && d.identifier.startsWith("0-");
    if (system || d.name == ourName || d.name.startsWithIgnoreCase("Midi Through")) continue;
    all.push_back({d.identifier.toStdString(), d.name.toStdString()});
  }
  return all;
}

class Listener final : private juce::MidiInputCallback {
 public:
  Listener(const std::string& id, SendMidi hear) : hear_(std::move(hear)) {
    input_ = juce::MidiInput::openDevice(juce::String(id), this);
    if (input_ != nullptr) input_->start();
  }
  ~Listener() override {
    if (input_ != nullptr) input_->stop();
    input_.reset();
  }
  bool opened() const { return input_ != nullptr; }

 private:
  void handleIncomingMidiMessage(juce::MidiInput*, const juce::MidiMessage& m) override {
    hear_({m.getRawData(), static_cast<std::size_t>(m.getRawDataSize())});
  }
  SendMidi hear_;
  std::unique_ptr<juce::MidiInput> input_;
};

SendMidi sending(std::unique_ptr<juce::MidiOutput> output) {
  if (output == nullptr) return {};
  return [shared = std::shared_ptr<juce::MidiOutput>(std::move(output))](std::span<const std::uint8_t> bytes) {
    shared->sendMessageNow(juce::MidiMessage(bytes.data(), static_cast<int>(bytes.size())));
  };
}

}  // namespace

MidiSystem realMidi() {
  MidiSystem system;
  system.inputs = [] {
    return hasSequencer() ? listed(juce::MidiInput::getAvailableDevices()) : std::vector<PortInfo>();
  };
  system.outputs = [] {
    return hasSequencer() ? listed(juce::MidiOutput::getAvailableDevices()) : std::vector<PortInfo>();
  };
  system.listen = [](const PortInfo& port, SendMidi hear) -> std::shared_ptr<void> {
    auto listener = std::make_shared<Listener>(port.id, std::move(hear));
    return listener->opened() ? listener : nullptr;
  };
  system.open = [](const PortInfo& port) { return sending(juce::MidiOutput::openDevice(juce::String(port.id))); };
  return system;
}

SendMidi publishedPort() {
#if JUCE_LINUX || JUCE_MAC || JUCE_BSD
  if (hasSequencer()) return sending(juce::MidiOutput::createNewDevice(ourName));
#endif
  return {};
}

}  // namespace seguente::home
