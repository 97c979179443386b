// Keeps the sound below full scale without delaying it: where a sample would pass the ceiling, both sides are turned
// down at once, held for a moment and let up slowly.
//
// The ceiling is 1 dB below full scale, so that peaks between samples, which a converter makes, have room as well
// (-1 dBTP: EBU R 128, 2020). No look-ahead: a keyboard player would feel the delay, and at the levels that we start
// from it has seldom anything to do. What is no number (a fault elsewhere) becomes silence, never a bang.
#pragma once

namespace seguente {

class Limiter {
 public:
  static constexpr float ceiling = 0.891251F;  // -1 dB

  /// [message]
  void prepare(double rate) noexcept;
  /// In place; returns the least factor. [audio]
  float process(float* left, float* right, int frames) noexcept;

 private:
  float factor_ = 1;
  float letUp_ = 0;  // of what is missing to 1, a sample
  int held_ = 0, hold_ = 0;
};

}  // namespace seguente
