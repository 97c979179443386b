#include "plugin/sound/midi_take.h"

#include <fcntl.h>
#include <unistd.h>

#include <algorithm>
#include <cerrno>
#include <cmath>
#include <cstring>
#include <utility>

namespace seguente {

namespace {

constexpr double clockTicksPerTick = static_cast<double>(quarter.value) / MidiTake::resolution;
constexpr double leap = MidiTake::resolution / 2.0;  // a clock that strays by less is steered to, by more has jumped
constexpr double steering = 0.1;                     // at most this much faster or slower than it says
constexpr std::int64_t lengthPlace = 18, trackPlace = 22;  // MThd with its length and six bytes; MTrk; four of length

// An empty text event: as long as the end of track, whose place it takes.
constexpr std::array<std::uint8_t, 4> stopper{0, 0xFF, 0x01, 0};
constexpr std::array<std::uint8_t, 4> endOfTrack{0, 0xFF, 0x2F, 0};

std::string writeAll(int file, const std::uint8_t* bytes, std::size_t count, std::int64_t at) {
  while (count > 0) {
    const auto done = ::pwrite(file, bytes, count, at);
    if (done < 0 && errno == EINTR) continue;
    if (done <= 0) return std::string("cannot be written: ") + std::strerror(errno);
    bytes += done;
    at += done;
    count -= static_cast<std::size_t>(done);
  }
  return {};
}

}  // namespace

MidiTake::~MidiTake() {
  if (file_ >= 0) ::close(file_);
}

std::string MidiTake::open(const std::filesystem::path& path, double rate, std::string_view trackName) {
  file_ = ::open(path.c_str(), O_CREAT | O_EXCL | O_WRONLY | O_CLOEXEC, 0644);
  if (file_ < 0) return path.string() + ": " + std::strerror(errno);
  rate_ = rate;
  const std::array<std::uint8_t, 22> head{
      'M', 'T', 'h', 'd', 0, 0, 0, 6, 0, 0, 0, 1, resolution >> 8, resolution & 0xFF, 'M', 'T', 'r', 'k', 0, 0, 0, 4};
  if (const auto fault = writeAll(file_, head.data(), head.size(), 0); !fault.empty()) return fault;
  end_ = trackPlace;
  if (const auto fault = writeAll(file_, endOfTrack.data(), endOfTrack.size(), end_); !fault.empty()) return fault;
  std::vector<std::uint8_t> name{0xFF, 0x03, static_cast<std::uint8_t>(std::min<std::size_t>(trackName.size(), 127))};
  for (const char c : trackName.substr(0, 127)) name.push_back(static_cast<std::uint8_t>(c));
  put(0, name.data(), name.size());
  return {};
}

double MidiTake::exactTick(std::int64_t frame) const {
  const double seconds = (static_cast<double>(frame) - anchorFrame_) / rate_;
  return static_cast<double>(anchorTick_) + seconds * 1e6 / static_cast<double>(microsecondsPerQuarter_) * resolution;
}

std::int64_t MidiTake::tickAt(std::int64_t frame) const {
  return std::max(lastTick_, static_cast<std::int64_t>(std::llround(exactTick(frame))));
}

void MidiTake::put(std::int64_t tick, const std::uint8_t* bytes, std::size_t count) {
  const auto delta = static_cast<std::uint32_t>(std::clamp<std::int64_t>(tick - lastTick_, 0, 0x0FFFFFFF));
  lastTick_ = std::max(lastTick_, tick);
  for (int shift = 21; shift > 0; shift -= 7)
    if ((delta >> shift) != 0) waiting_.push_back(static_cast<std::uint8_t>(((delta >> shift) & 0x7F) | 0x80));
  waiting_.push_back(static_cast<std::uint8_t>(delta & 0x7F));
  waiting_.insert(waiting_.end(), bytes, bytes + count);
}

/// From a whole tick on; the frame on which that tick falls is no whole one, so that no rounding adds up.
void MidiTake::putTempo(std::int64_t tick, double quartersPerMinute) {
  const auto wanted = std::clamp<std::int64_t>(std::llround(6e7 / quartersPerMinute), 1, 0xFFFFFF);
  if (wanted == microsecondsPerQuarter_) return;
  const double secondsSince = static_cast<double>((tick - anchorTick_) * microsecondsPerQuarter_) / (1e6 * resolution);
  anchorFrame_ += secondsSince * rate_;
  anchorTick_ = tick;
  microsecondsPerQuarter_ = wanted;
  const std::array<std::uint8_t, 6> event{0xFF,
                                          0x51,
                                          3,
                                          static_cast<std::uint8_t>(wanted >> 16),
                                          static_cast<std::uint8_t>(wanted >> 8),
                                          static_cast<std::uint8_t>(wanted)};
  put(tick, event.data(), event.size());
}

void MidiTake::putMeter(std::int64_t tick, Meter meter) {
  if (meter == meter_ && tick == meterTick_) return;
  std::uint8_t power = 0;
  while ((1 << power) < meter.denominator) ++power;
  const std::array<std::uint8_t, 7> event{0xFF, 0x58, 4, meter.numerator, power, 24, 8};
  put(tick, event.data(), event.size());
  meter_ = meter;
  meterTick_ = tick;
}

void MidiTake::putDueMeter(std::int64_t upTo) {
  if (!due_ || due_->tick > upTo) return;
  const auto due = *std::exchange(due_, std::nullopt);
  putMeter(std::max(lastTick_, due.tick), due.meter);
}

/// The bar line of the clock that is nearest: at once if we are on it, else when its tick comes.
void MidiTake::placeBar(std::int64_t frame, const EngineTime& now) {
  const auto here = tickAt(frame);
  const auto since = static_cast<double>((now.tick - now.barStart).value) / clockTicksPerTick;
  const auto bar = static_cast<double>(now.meter.bar().value) / clockTicksPerTick;
  due_ = DueMeter{since < 1 ? here : here + std::llround(bar - since), now.meter};
  putDueMeter(here);
}

void MidiTake::time(std::int64_t frame, const EngineTime& now) {
  const bool first = microsecondsPerQuarter_ == 0;
  if (first) {
    anchorFrame_ = static_cast<double>(frame);
    putTempo(0, now.quartersPerMinute);
    if (now.meter.valid()) putMeter(0, now.meter);
  }
  putDueMeter(tickAt(frame));
  if (!now.playing) {
    offset_.reset();
    return putTempo(tickAt(frame), now.quartersPerMinute);
  }
  const double clock = static_cast<double>(now.tick.value) / clockTicksPerTick;
  const double behind = offset_ ? clock + *offset_ - exactTick(frame) : 0;
  if (!offset_ || std::abs(behind) > leap) {
    putTempo(tickAt(frame), now.quartersPerMinute);
    offset_ = exactTick(frame) - clock;
    return placeBar(frame, now);
  }
  // A little more or less than it says, until the beats are met again: within half a tick they are.
  const double steer = std::abs(behind) < 0.5 ? 0 : std::clamp(behind / resolution, -steering, steering);
  putTempo(tickAt(frame), now.quartersPerMinute * (1 + steer));
  if (!(now.meter == meter_) && !due_) placeBar(frame, now);
}

void MidiTake::message(std::int64_t frame, std::array<std::uint8_t, 3> bytes) {
  if (microsecondsPerQuarter_ == 0) time(frame, {});
  const auto kind = bytes[0] & 0xF0;
  if (kind < 0x80 || kind == 0xF0) return;
  const auto tick = tickAt(frame);
  putDueMeter(tick);
  bytes[1] &= 0x7F;
  bytes[2] &= 0x7F;
  put(tick, bytes.data(), kind == 0xC0 || kind == 0xD0 ? 2 : 3);
  if (kind == 0x80 || kind == 0x90) down_[bytes[0] & 0x0Fu][bytes[1]] = kind == 0x90 && bytes[2] != 0;
  ++messages_;
}

/// First the events, over the end of track and with a new one behind them; then the length. In between the file is
/// whole too: where the old length ends, an event ends, because what stands first has the length of what it replaces.
/// Only the end of track is then missing, which readers forgive.
std::string MidiTake::flush() {
  if (file_ < 0 || waiting_.empty()) return {};
  std::vector<std::uint8_t> block(stopper.begin(), stopper.end());
  block.insert(block.end(), waiting_.begin(), waiting_.end());
  const auto events = static_cast<std::int64_t>(block.size());
  block.insert(block.end(), endOfTrack.begin(), endOfTrack.end());
  if (const auto fault = writeAll(file_, block.data(), block.size(), end_); !fault.empty()) return fault;
  waiting_.clear();
  if (::fdatasync(file_) != 0 && errno != EINVAL) return std::string("cannot be written: ") + std::strerror(errno);
  end_ += events;
  const auto length = static_cast<std::uint32_t>(end_ - trackPlace + static_cast<std::int64_t>(endOfTrack.size()));
  const std::array<std::uint8_t, 4> bytes{static_cast<std::uint8_t>(length >> 24),
                                          static_cast<std::uint8_t>(length >> 16),
                                          static_cast<std::uint8_t>(length >> 8), static_cast<std::uint8_t>(length)};
  return writeAll(file_, bytes.data(), bytes.size(), lengthPlace);
}

std::string MidiTake::close(std::int64_t frame) {
  if (file_ < 0) return {};
  for (std::size_t channel = 0; channel < limits::channels; ++channel)
    for (std::size_t key = 0; key < limits::keys; ++key)
      if (down_[channel][key])
        message(frame, {static_cast<std::uint8_t>(0x80 | channel), static_cast<std::uint8_t>(key), 64});
  auto fault = flush();
  if (::fsync(file_) != 0 && errno != EINVAL && fault.empty()) fault = std::strerror(errno);
  ::close(std::exchange(file_, -1));
  return fault;
}

}  // namespace seguente
