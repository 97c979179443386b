#include "plugin/sound/instrument.h"

#include <algorithm>
#include <cmath>
#include <utility>

#include "dsp/limits.h"
#include "plugin/sound/limiter.h"

namespace seguente {

namespace {

// Channels of the synthesiser. The tune keeps its own sixteen; in the second sixteen each part of ours has one, and the
// tenth of them is percussion (General MIDI 1). A click is struck on the tune's tenth.
constexpr int ourFirst = 16, ourPercussion = 25, clickChannel = 9;
constexpr int channelCount = 32;
constexpr int nobody = -1;
constexpr float nowhere = 1000;  // a balance that nobody asks for

constexpr std::uint8_t mainVolume = 7, sustainPedal = 64;
constexpr double standardVolumeController = 100;  // General MIDI 1: where CC 7 stands at first

// The demo tunes come to -19 to -20 LUFS with this, their peaks to -7 dB: 6 dB of room for whoever plays harder
// (measured with TimGM6mb, see tests/sound/balance_tests.cpp).
constexpr double synthesiserGain = 3.0;

constexpr int eventsAtOnce = 2048;  // more in one block are played with those before them, at the block's start
constexpr float quietPeak = 1e-5F;  // -100 dB: below this a room's last reverberation is silence
constexpr double quietSecondsToRest = 0.5;

int channelOf(const Played& e) noexcept {
  if (e.role == Role::tune) return e.bytes[0] & 0x0F;
  if (e.role == Role::click) return clickChannel;
  if (e.role == Role::percussion) return ourPercussion;
  return ourFirst + std::min<int>(e.part, limits::parts - 1);
}

/// General MIDI 1 level 2's recommendation, which FluidSynth follows: amplitude goes with the square of the controller.
std::uint8_t controllerFor(double decibels) noexcept {
  const double value = standardVolumeController * std::pow(10.0, decibels / 40);
  return static_cast<std::uint8_t>(std::lround(std::clamp(value, 0.0, 127.0)));
}

}  // namespace

struct Instrument::Body {
  Synthesiser synthesiser;
  Limiter limiter;
  std::string soundfont;
  double rate = 0;
  std::array<Played, eventsAtOnce> events{};
  int eventCount = 0;

  // What each channel of the synthesiser has been told.
  std::array<int, channelCount> program{};
  std::array<bool, channelCount> pedalDown{};
  std::array<std::uint8_t, channelCount> volumeSent{};
  std::array<std::uint8_t, roles> volume{};  // as the balance asks for
  std::array<float, roles> balance{};

  std::array<std::array<std::int8_t, limits::keys>, limits::channels> owner{};  // who sounds a key of a MIDI channel
  std::uint16_t ourPedals = 0;                                                  // bit a MIDI channel
  struct PartNow {
    int midiChannel = nobody;
    bool pedal = false;
  };
  std::array<PartNow, channelCount> parts{};

  int quiet = 0;  // frames of silence in a row
  bool rests = true;
  float gain = 0;  // of the volume, as it glides

  void forget() noexcept {
    eventCount = 0;
    program.fill(nobody);
    pedalDown.fill(false);
    volumeSent.fill(0);
    volume.fill(0);
    balance.fill(nowhere);
    for (auto& keys : owner) keys.fill(nobody);
    ourPedals = 0;
    parts.fill({});
    quiet = 0;
    rests = true;
    gain = 0;
  }
  void send(int channel, std::uint8_t first, std::uint8_t second, std::uint8_t third) noexcept {
    const std::array<std::uint8_t, 3> bytes{first, second, third};
    synthesiser.send(channel, bytes);
  }
  void setPedal(int channel, bool down) noexcept {
    auto& now = pedalDown[static_cast<std::size_t>(channel)];
    if (now == down) return;
    now = down;
    send(channel, 0xB0, sustainPedal, down ? 127 : 0);
  }
  void setVolume(int channel, std::uint8_t value) noexcept;
  void setBalance(std::size_t role, float decibels) noexcept;
  void fallSilent() noexcept;
  void play(const Played& e) noexcept;
  void strike(const Played& e) noexcept;
  void movePedal(const Played& e) noexcept;
};

void Instrument::Body::setVolume(int channel, std::uint8_t value) noexcept {
  auto& sent = volumeSent[static_cast<std::size_t>(channel)];
  if (sent == value) return;
  sent = value;
  send(channel, 0xB0, mainVolume, value);
}

/// A part's own channel gets its role's with each note: another idiom may have another role there.
void Instrument::Body::setBalance(std::size_t role, float decibels) noexcept {
  if (balance[role] == decibels) return;
  balance[role] = decibels;
  const auto value = volume[role] = controllerFor(static_cast<double>(decibels));
  if (static_cast<Role>(role) == Role::click) setVolume(clickChannel, value);
  if (static_cast<Role>(role) == Role::percussion) setVolume(ourPercussion, value);
  if (static_cast<Role>(role) != Role::tune) return;
  for (int c = 0; c < ourFirst; ++c)
    if (c != clickChannel) setVolume(c, value);
}

void Instrument::Body::strike(const Played& e) noexcept {
  const int channel = channelOf(e);
  const auto at = static_cast<std::size_t>(channel);
  owner[e.bytes[0] & 0x0Fu][e.bytes[1] & 0x7Fu] = static_cast<std::int8_t>(channel);
  if (channel >= ourFirst) {
    parts[at] = {e.bytes[0] & 0x0F, e.pedal};
    setPedal(channel, e.pedal && ((ourPedals >> (e.bytes[0] & 0x0F)) & 1) != 0);
    setVolume(channel, volume[static_cast<std::size_t>(e.role)]);
    if (program[at] != e.program && e.role != Role::percussion) {
      program[at] = e.program;
      send(channel, 0xC0, e.program, 0);
    }
  }
  synthesiser.send(channel, e.bytes);
}

/// The accompaniment's pedals move those of its parts that want one, even where all go out on the tune's channel.
void Instrument::Body::movePedal(const Played& e) noexcept {
  const int midiChannel = e.bytes[0] & 0x0F;
  const bool down = e.bytes[2] >= 64;
  const auto bit = static_cast<std::uint16_t>(1u << midiChannel);
  ourPedals = static_cast<std::uint16_t>(down ? ourPedals | bit : ourPedals & ~bit);
  for (int c = ourFirst; c < channelCount; ++c)
    if (parts[static_cast<std::size_t>(c)].midiChannel == midiChannel && parts[static_cast<std::size_t>(c)].pedal)
      setPedal(c, down);
}

void Instrument::Body::play(const Played& e) noexcept {
  const auto kind = e.bytes[0] & 0xF0;
  if (kind == 0x90 && e.bytes[2] != 0) return strike(e);
  if (kind == 0x80 || kind == 0x90) {
    auto& whose = owner[e.bytes[0] & 0x0Fu][e.bytes[1] & 0x7Fu];
    synthesiser.send(whose != nobody ? whose : channelOf(e), e.bytes);
    whose = nobody;
    return;
  }
  if (!e.ours) return synthesiser.send(channelOf(e), e.bytes);
  if (kind == 0xB0 && e.bytes[1] == sustainPedal) movePedal(e);
}

void Instrument::Body::fallSilent() noexcept {
  for (int c = ourFirst; c < channelCount; ++c) setPedal(c, false);
  ourPedals = 0;
  synthesiser.silence();
}

Instrument::Instrument(std::string soundfont) : body_(std::make_unique<Body>()), wanted_(std::move(soundfont)) {
  body_->forget();
}
Instrument::~Instrument() = default;

SoundState Instrument::prepare(double rate) {
  auto& b = *body_;
  if (state() != SoundState::ready || b.rate != rate) {
    const auto font = findSoundfont(wanted_);
    state_.store(SoundState::notLoaded, std::memory_order_release);
    const auto now =
        font.empty() ? SoundState::noSoundfont
                     : b.synthesiser.open(
                           {.soundfont = font, .rate = rate, .channels = 32, .gain = synthesiserGain, .chorus = false});
    b.soundfont = now == SoundState::ready ? font : "";
    b.rate = rate;
    state_.store(now, std::memory_order_release);
  } else {
    b.synthesiser.reset();
  }
  b.limiter.prepare(rate);
  b.forget();
  return state();
}

const std::string& Instrument::soundfont() const noexcept { return body_->soundfont; }

void Instrument::add(const Played& event) noexcept {
  auto& b = *body_;
  if (b.eventCount == eventsAtOnce) {
    if (state() == SoundState::ready)
      for (int i = 0; i < b.eventCount; ++i) b.play(b.events[static_cast<std::size_t>(i)]);
    b.eventCount = 0;
    b.rests = false;
  }
  b.events[static_cast<std::size_t>(b.eventCount++)] = event;
}

void Instrument::render(float* left, float* right, int frames) noexcept {
  auto& b = *body_;
  blocks_.fetch_add(1, std::memory_order_relaxed);
  const int count = std::exchange(b.eventCount, 0);
  std::fill_n(left, frames, 0.0F);
  std::fill_n(right, frames, 0.0F);
  if (state() != SoundState::ready) return;
  if (silence_.exchange(false, std::memory_order_acquire)) b.fallSilent();
  for (std::size_t i = 0; i < roles; ++i) b.setBalance(i, balance_[i].load(std::memory_order_relaxed));
  if (count > 0) b.rests = false;
  if (b.rests) return;
  int now = 0;
  for (int i = 0; i < count; ++i) {
    const auto& e = b.events[static_cast<std::size_t>(i)];
    const int at = std::clamp(static_cast<int>(e.offset), now, frames);
    if (at > now) b.synthesiser.sound(left + now, right + now, 1, at - now);
    now = at;
    b.play(e);
  }
  if (frames > now) b.synthesiser.sound(left + now, right + now, 1, frames - now);
  float peak = 0;
  for (int i = 0; i < frames; ++i) peak = std::max({peak, std::abs(left[i]), std::abs(right[i])});
  b.quiet = peak < quietPeak ? b.quiet + frames : 0;
  b.rests = b.quiet > quietSecondsToRest * b.rate && b.synthesiser.voices() == 0;
  level_.tell({0, b.limiter.process(left, right, frames)});
}

void Instrument::applyVolume(float* left, float* right, int frames) noexcept {
  auto& b = *body_;
  if (frames <= 0) return;
  const float part = std::clamp(volume_.load(std::memory_order_relaxed), 0.0F, 100.0F) / 100;
  const float target = part * part;  // as sliders of loudness usually go: 60 is -8.9 dB
  const float step = (target - b.gain) / static_cast<float>(frames);
  float peak = 0;
  for (int i = 0; i < frames; ++i) {
    b.gain += step;
    left[i] *= b.gain;
    right[i] *= b.gain;
    peak = std::max({peak, std::abs(left[i]), std::abs(right[i])});
  }
  b.gain = target;
  level_.tell({peak, 1});
}

}  // namespace seguente
