// How loud it was, from the audio thread to whoever shows it.
#pragma once

#include <atomic>

namespace seguente {

/// [any]
struct SoundLevel {
  float peak = 0;        // greatest distance from zero, 1 is full scale
  float turnedDown = 1;  // the limiter's least factor, 1 when it did nothing
};

/// One writer, any number of readers; wait-free. What is taken is gone.
class LevelBox {
 public:
  void tell(SoundLevel now) noexcept {
    if (now.peak > peak_.load(std::memory_order_relaxed)) peak_.store(now.peak, std::memory_order_relaxed);
    if (now.turnedDown < least_.load(std::memory_order_relaxed))
      least_.store(now.turnedDown, std::memory_order_relaxed);
  }
  SoundLevel take() noexcept {
    return {peak_.exchange(0, std::memory_order_relaxed), least_.exchange(1, std::memory_order_relaxed)};
  }

 private:
  std::atomic<float> peak_{0}, least_{1};
};

}  // namespace seguente
