// A bar of the page, sounded from it: slowly, or one note of it. The screen hands a list of strokes over, and the audio
// thread plays it by its own samples, past the engine: it is heard, and changes nothing that is being played.
#pragma once

#include <array>
#include <atomic>
#include <cstddef>
#include <cstdint>
#include <optional>
#include <span>

#include "dsp/pitch.h"
#include "plugin/sound/played.h"

namespace seguente {

/// A note-on or note-off, so many seconds after the beginning.
struct ReadStroke {
  double seconds = 0;
  Played message;  // its offset is set when it is sent
};

class BarReader {
 public:
  static constexpr std::size_t most = 512;

  /// From the next block on, in place of what is being read, which ends. In order of seconds; what is more than `most`
  /// is left out. None: only ends. [message] waits for the audio thread while that copies, never the other way.
  void read(std::span<const ReadStroke> strokes) noexcept;
  /// Seconds since the beginning of what is being read; none when nothing is. [any]
  std::optional<double> position() const noexcept {
    const double at = position_.load(std::memory_order_acquire);
    return at < 0 ? std::nullopt : std::optional(at);
  }

  /// What falls into the next `length` samples: give(const Played&), in order. [audio] bounded, no allocation, no lock.
  template <class Give>
  void play(std::int64_t length, double rate, Give&& give) noexcept {
    if (handed_.load(std::memory_order_relaxed) == Handed::ready) take(give);
    if (next_ == count_) return;
    for (; next_ < count_; ++next_) {
      ReadStroke& stroke = strokes_[next_];
      const auto at = static_cast<std::int64_t>(stroke.seconds * rate) - played_;
      if (at >= length) break;
      stroke.message.offset = static_cast<std::int32_t>(at < 0 ? 0 : at);
      note(stroke.message);
      give(stroke.message);
    }
    played_ += length;
    position_.store(next_ == count_ ? -1.0 : static_cast<double>(played_) / rate, std::memory_order_release);
  }

 private:
  enum class Handed : std::uint8_t { nothing, writing, ready, taking };

  void note(const Played& message) noexcept {
    KeySet& down = down_[message.bytes[0] & 0x0Fu];
    const NoteNumber key{message.bytes[1]};
    if ((message.bytes[0] & 0xF0u) == 0x90u)
      down.add(key);
    else
      down.remove(key);
  }

  template <class Give>
  void take(Give& give) noexcept {
    auto expected = Handed::ready;
    if (!handed_.compare_exchange_strong(expected, Handed::taking, std::memory_order_acquire)) return;
    for (std::size_t channel = 0; channel < down_.size(); ++channel) {
      down_[channel].forEach([&](NoteNumber key) {
        Played off;
        off.bytes = {static_cast<std::uint8_t>(0x80u | channel), key.value, 64};
        off.ours = true;
        give(off);
      });
      down_[channel] = {};
    }
    count_ = given_;
    for (std::size_t i = 0; i < count_; ++i) strokes_[i] = waiting_[i];
    next_ = 0;
    played_ = 0;
    position_.store(count_ == 0 ? -1.0 : 0.0, std::memory_order_release);
    handed_.store(Handed::nothing, std::memory_order_release);
  }

  std::atomic<Handed> handed_{Handed::nothing};
  std::atomic<double> position_{-1.0};
  std::array<ReadStroke, most> waiting_{};  // the screen's while writing, the audio thread's while taking
  std::size_t given_ = 0;
  std::array<ReadStroke, most> strokes_{};  // from here on the audio thread's
  std::size_t count_ = 0, next_ = 0;
  std::int64_t played_ = 0;
  std::array<KeySet, 16> down_{};
};

}  // namespace seguente
