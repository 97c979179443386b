// One recorded playing, on its way from the audio thread to the thread that writes it: what was played, what came out,
// how it sounded, and where the music stood. A ring each for messages and sound; what finds no room is counted, lost
// sound leaves a silence of its length, and nothing ever waits.
//
// Order of calls in a block: begin, any number of performed and arranged, sounded (or not), and end.
#pragma once

#include <array>
#include <atomic>
#include <cstdint>
#include <memory>
#include <span>

#include "dsp/engine.h"
#include "plugin/sound/played.h"

namespace seguente {

enum class TakenFrom : std::uint8_t { performance, arrangement, time };

/// A message, or where the music stands, at a frame of the take. [any]
struct TakenEvent {
  std::int64_t frame = 0;
  TakenFrom from = TakenFrom::performance;
  Played played{};
  EngineTime time{};  // of TakenFrom::time
};

/// Sound that found no room: so many frames, before the frame with this number of those that did. [any]
struct TakenGap {
  std::uint64_t before = 0;
  std::int64_t frames = 0;
};

class Take {
 public:
  Take();
  ~Take();

  /// What the audio thread runs at; a take that is under way at another rate ends. Not while a block runs. [message]
  void prepare(double rate);
  double rate() const noexcept { return rate_.load(std::memory_order_relaxed); }

  bool on() const noexcept { return on_.load(std::memory_order_acquire); }
  /// [audio] all noexcept, wait-free, no allocation; nothing happens unless on.
  void begin(const EngineTime& time, std::int64_t frames) noexcept;
  void performed(std::int64_t offset, std::span<const std::uint8_t> bytes) noexcept;
  void arranged(const Played& played) noexcept;
  void sounded(const float* left, const float* right, std::int64_t frames) noexcept;
  void end() noexcept;

  // For the writer (take_writer.h). [message]
  /// withSound: false when nobody will ask for it.
  void start(bool withSound = true);
  void stop() noexcept;
  /// True once the audio thread has seen the stop, or has had nothing to do with this take.
  bool rests() const noexcept;
  std::size_t takeSound(std::span<float> frames) noexcept;  // left and right by turns; returns floats
  bool takeGap(TakenGap& into) noexcept;
  bool takeEvent(TakenEvent& into) noexcept;
  std::uint64_t lostFrames() const noexcept { return lostFrames_.load(std::memory_order_relaxed); }
  /// Messages that found no room, or were longer than three bytes (system exclusive): neither file has them.
  std::uint64_t lostMessages() const noexcept { return lostMessages_.load(std::memory_order_relaxed); }

 private:
  struct Body;
  void push(const TakenEvent& event) noexcept;
  std::unique_ptr<Body> body_;  // made by the first start
  bool recording_ = false;      // in this block [audio]
  std::atomic<double> rate_{48000};
  std::atomic<bool> on_{false};
  std::atomic<std::uint64_t> lostFrames_{0}, lostMessages_{0};
};

}  // namespace seguente
