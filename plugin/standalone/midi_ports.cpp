#include "plugin/standalone/midi_ports.h"

#include <algorithm>

namespace seguente::home {

namespace {
constexpr std::uint8_t sustain = 64;
bool has(const std::vector<std::string>& all, const std::string& one) {
  return std::find(all.begin(), all.end(), one) != all.end();
}
}  // namespace

/// One keyboard. What is down is written by the system's thread, and read when that has been stopped.
struct MidiPorts::Listening {
  PortInfo port;
  int place = 0;
  PlayedKeys& played;
  std::array<std::atomic<std::uint16_t>, 128> down{};  // bit a channel
  std::atomic<std::uint16_t> pedals{0};
  std::shared_ptr<void> handle;  // last: while it lives the rest is written to

  Listening(PortInfo info, int at, PlayedKeys& keys) : port(std::move(info)), place(at), played(keys) {}

  void hear(std::span<const std::uint8_t> bytes) noexcept {
    const auto m = shortMessage(bytes);
    if (m.length == 0 || !played.push(place, {Clock::now(), m})) return;
    const auto bit = static_cast<std::uint16_t>(1u << (m.bytes[0] & 0x0F));
    const auto set = [bit](std::atomic<std::uint16_t>& word, bool on) {
      if (on)
        word.fetch_or(bit, std::memory_order_relaxed);
      else
        word.fetch_and(static_cast<std::uint16_t>(~bit), std::memory_order_relaxed);
    };
    const int kind = m.bytes[0] & 0xF0;
    if (kind == 0x90 || kind == 0x80) set(down[m.bytes[1] & 0x7F], kind == 0x90 && m.bytes[2] > 0);
    if (kind == 0xB0 && m.bytes[1] == sustain) set(pedals, m.bytes[2] >= 64);
  }

  void letGo() noexcept {
    const auto send = [this](int kind, int channel, std::size_t number, std::uint8_t value) {
      ShortMessage m;
      m.bytes = {static_cast<std::uint8_t>(kind | channel), static_cast<std::uint8_t>(number), value};
      m.length = 3;
      played.push(place, {Clock::now(), m});
    };
    for (int channel = 0; channel < 16; ++channel) {
      for (std::size_t key = 0; key < down.size(); ++key)
        if ((down[key].load(std::memory_order_relaxed) >> channel & 1) != 0) send(0x80, channel, key, 64);
      if ((pedals.load(std::memory_order_relaxed) >> channel & 1) != 0) send(0xB0, channel, sustain, 0);
    }
  }
};

MidiPorts::MidiPorts(MidiSystem system, PlayedKeys& played) : system_(std::move(system)), played_(played) {}
MidiPorts::~MidiPorts() = default;

/// Nobody writes any more once the handle is gone; then we may.
void MidiPorts::pull(std::size_t which) {
  listening_[which]->handle.reset();
  listening_[which]->letGo();
  listening_.erase(listening_.begin() + static_cast<std::ptrdiff_t>(which));
}

std::vector<PortEvent> MidiPorts::look() {
  std::vector<PortEvent> news;
  const auto now = system_.inputs();
  outputs_ = system_.outputs();
  for (std::size_t i = listening_.size(); i-- > 0;) {
    const auto port = listening_[i]->port;
    if (std::find(now.begin(), now.end(), port) != now.end()) continue;
    pull(i);
    news.push_back({PortNews::gone, port.name, false});
  }
  std::erase_if(refused_, [&](const std::string& id) {
    return std::none_of(now.begin(), now.end(), [&](const PortInfo& p) { return p.id == id; });
  });
  for (const auto& port : now) {
    const auto same = [&](const auto& l) { return l->port == port; };
    if (std::any_of(listening_.begin(), listening_.end(), same)) continue;
    int place = 0;
    const auto taken = [&](const auto& l) { return l->place == place; };
    while (std::any_of(listening_.begin(), listening_.end(), taken)) ++place;
    if (place >= PlayedKeys::places) break;
    auto fresh = std::make_unique<Listening>(port, place, played_);
    fresh->handle = system_.listen(port, [l = fresh.get()](std::span<const std::uint8_t> bytes) { l->hear(bytes); });
    if (fresh->handle == nullptr) {
      if (!has(refused_, port.id)) news.push_back({PortNews::refused, port.name, false});
      if (!has(refused_, port.id)) refused_.push_back(port.id);
      continue;
    }
    std::erase(refused_, port.id);
    listening_.push_back(std::move(fresh));
    const bool before = has(known_, port.name);
    if (!before) known_.push_back(port.name);
    news.push_back({before ? PortNews::back : PortNews::found, port.name, pairOf(port).has_value()});
  }
  return news;
}

std::vector<std::string> MidiPorts::connected() const {
  std::vector<std::string> names;
  for (const auto& l : listening_) names.push_back(l->port.name);
  return names;
}

/// A device's two directions bear one id (ALSA), or else one name.
std::optional<PortInfo> MidiPorts::pairOf(const PortInfo& input) const {
  for (const auto& o : outputs_)
    if (o.id == input.id) return o;
  for (const auto& o : outputs_)
    if (o.name == input.name) return o;
  return {};
}

std::optional<PortInfo> MidiPorts::pairedOutput() const {
  for (const auto& l : listening_)
    if (auto pair = pairOf(l->port)) return pair;
  return {};
}

}  // namespace seguente::home
