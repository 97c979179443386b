// What the screen shows of the sound, copied out of the audio thread without a lock: the newest whole picture, never a
// torn one.
#pragma once

#include <array>
#include <atomic>
#include <cstdint>
#include <cstring>
#include <type_traits>

#include "dsp/chord.h"
#include "dsp/pitch.h"
#include "dsp/time.h"
#include "plugin/page/told_ring.h"

namespace seguente {

struct View {
  KeySet held;  // by the chord hand
  KeySet ours;  // keys of the accompaniment that sound
  KeySet tune;  // keys of the melody that are down
  Chord chord{};
  Key key{};
  Ticks tick{};          // where we are
  Ticks barStart{};      // the bar line at or before it
  std::int64_t bar = 1;  // the number of the bar that begins there; the session's first is 1
  Meter meter{};
  double quartersPerMinute = 120;
  std::int16_t slot = 0;  // asked for
  bool hasChord = false;
  bool playing = false;
  bool bypassed = false;
  bool holding = false;
  bool round = false;    // a round is kept going,
  Ticks roundBegins{};   // and begins again here
  bool expects = false;  // another chord is expected:
  Chord expected{};      // this one,
  Ticks expectedAt{};    // here
};

/// One writer [audio], any number of readers [message]; both wait-free but for a reader's few retries.
class ViewBox {
 public:
  void write(const View& view) noexcept {
    std::array<std::uint64_t, words> raw{};
    std::memcpy(raw.data(), &view, sizeof view);
    const auto n = sequence_.load(std::memory_order_relaxed);
    sequence_.store(n + 1, std::memory_order_relaxed);
    // Release and acquire at each word instead of fences, which the thread sanitizer does not know: whoever reads a new
    // word sees the odd number too.
    for (std::size_t i = 0; i < words; ++i) data_[i].store(raw[i], std::memory_order_release);
    sequence_.store(n + 2, std::memory_order_release);
  }
  /// The newest picture; the one before when the writer is never out of the way (`into` unchanged, false).
  bool read(View& into) const noexcept {
    for (int tries = 0; tries < 16; ++tries) {
      const auto before = sequence_.load(std::memory_order_acquire);
      if ((before & 1u) != 0) continue;
      std::array<std::uint64_t, words> raw{};
      for (std::size_t i = 0; i < words; ++i) raw[i] = data_[i].load(std::memory_order_acquire);
      if (sequence_.load(std::memory_order_relaxed) != before) continue;
      std::memcpy(static_cast<void*>(&into), raw.data(), sizeof into);
      return before != 0;
    }
    return false;
  }
  /// What sounds, one thing after another, for the page.
  page::ToldRing& told() noexcept { return told_; }

 private:
  static_assert(std::is_trivially_copyable_v<View>);
  static constexpr std::size_t words = (sizeof(View) + 7) / 8;
  std::atomic<std::uint32_t> sequence_{0};
  std::array<std::atomic<std::uint64_t>, words> data_{};
  page::ToldRing told_;
};

}  // namespace seguente
