// A MIDI file that grows while it is played: format 0, one track, at 960 ticks a quarter. After each flush it is a
// whole file, and it stays one in between, whatever happens to the program: see flush in midi_take.cpp.
//
// Its time is real time, to half a tick, at whatever tempo the music has; and it keeps to the beats: tempo events
// follow the clock, a meter event stands on the bar line where the clock starts, leaps, or changes its meter.
#pragma once

#include <array>
#include <cstdint>
#include <filesystem>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "dsp/engine.h"
#include "dsp/limits.h"

namespace seguente {

/// [message] throughout.
class MidiTake {
 public:
  static constexpr int resolution = 960;

  MidiTake() = default;
  ~MidiTake();
  MidiTake(const MidiTake&) = delete;
  MidiTake& operator=(const MidiTake&) = delete;

  /// A file that is not there yet. rate: frames a second. Returns one line, or "".
  std::string open(const std::filesystem::path& path, double rate, std::string_view trackName);
  /// Where the music stands at a frame. Frames never go back, here and in message.
  void time(std::int64_t frame, const EngineTime& now);
  /// A voice message of two or three bytes.
  void message(std::int64_t frame, std::array<std::uint8_t, 3> bytes);
  /// What has come since goes into the file. Returns one line, or "".
  std::string flush();
  /// Ends what still sounds at this frame, flushes and closes.
  std::string close(std::int64_t frame);
  bool isOpen() const { return file_ >= 0; }
  bool hasMessages() const { return messages_ > 0; }
  int handle() const { return file_; }

 private:
  double exactTick(std::int64_t frame) const;
  std::int64_t tickAt(std::int64_t frame) const;
  void put(std::int64_t tick, const std::uint8_t* bytes, std::size_t count);
  void putTempo(std::int64_t tick, double quartersPerMinute);
  void putMeter(std::int64_t tick, Meter meter);
  void putDueMeter(std::int64_t upTo);
  void placeBar(std::int64_t frame, const EngineTime& now);

  int file_ = -1;
  double rate_ = 48000;
  std::vector<std::uint8_t> waiting_;  // events that are not in the file yet
  std::int64_t end_ = 0;               // of the last event in the file, without its end of track
  std::int64_t lastTick_ = 0;
  std::uint64_t messages_ = 0;

  // The stretch of one tempo.
  double anchorFrame_ = 0;
  std::int64_t anchorTick_ = 0;
  std::int64_t microsecondsPerQuarter_ = 0;

  // The beats: a tick of the file is the clock's plus this, while it runs.
  std::optional<double> offset_;
  Meter meter_{};  // of the last event, and where that stands
  std::int64_t meterTick_ = -1;
  struct DueMeter {
    std::int64_t tick = 0;
    Meter meter{};
  };
  std::optional<DueMeter> due_;
  std::array<std::array<bool, limits::keys>, limits::channels> down_{};
};

}  // namespace seguente
