// Which MIDI devices are there: connects every keyboard as it is plugged in, lets go of its keys when it is pulled, and
// takes it up again when it is back. Knows no framework: whoever has real devices lends them as a MidiSystem, and tests
// make them up.
#pragma once

#include <array>
#include <atomic>
#include <functional>
#include <memory>
#include <optional>
#include <string>
#include <vector>

#include "plugin/standalone/live_midi.h"

namespace seguente::home {

struct PortInfo {
  std::string id;    // of this connection: another after a replug
  std::string name;  // of the device's port: the same after a replug
  friend bool operator==(const PortInfo&, const PortInfo&) = default;
};

/// Sends a message now. Null: there is nothing to send to. May be called by one thread at a time.
using SendMidi = std::function<void(std::span<const std::uint8_t>)>;

/// The machine's devices, without our own ports and without those that only loop.
struct MidiSystem {
  std::function<std::vector<PortInfo>()> inputs, outputs;
  /// Listens as long as the result lives; null when it cannot be opened. `hear` is called on a thread of the system's.
  std::function<std::shared_ptr<void>(const PortInfo&, SendMidi hear)> listen;
  std::function<SendMidi(const PortInfo&)> open;
};

enum class PortNews : std::uint8_t { found, back, gone, refused };
struct PortEvent {
  PortNews what = PortNews::found;
  std::string name;
  bool sendable = false;  // it has an input of its own too: it may have a sound of its own
  friend bool operator==(const PortEvent&, const PortEvent&) = default;
};

/// All [message].
class MidiPorts {
 public:
  MidiPorts(MidiSystem system, PlayedKeys& played);
  ~MidiPorts();
  /// What has changed since the last look. A device that cannot be opened is tried again at every look, and told once.
  std::vector<PortEvent> look();
  /// Names of those that are connected, in the order in which they came.
  std::vector<std::string> connected() const;
  /// The output of the first connected keyboard that has one.
  std::optional<PortInfo> pairedOutput() const;
  SendMidi open(const PortInfo& output) const { return system_.open(output); }

 private:
  struct Listening;
  void pull(std::size_t which);
  std::optional<PortInfo> pairOf(const PortInfo& input) const;

  MidiSystem system_;
  PlayedKeys& played_;
  std::vector<std::unique_ptr<Listening>> listening_;
  std::vector<PortInfo> outputs_;
  std::vector<std::string> known_, refused_;
};

}  // namespace seguente::home
