// Lends values to the audio thread without a lock, and says when they may be freed.
//
// The message thread owns every value (a compiled idiom, a table of them). It publishes a pointer under a new
// generation number; the audio thread takes it once, at the top of a block, and turns it into an Input. The player
// adopts it where the music allows (the next bar) and lets go of the one before; the adapter then acknowledges the
// generation that was let go of, and the message thread frees that generation and all before it. Nothing is freed,
// locked or waited for on the audio thread. One writer at a time (message thread), one reader (audio thread). Own
// design after the usual single-slot exchange.
#pragma once

#include <array>
#include <atomic>
#include <cstdint>
#include <memory>
#include <utility>
#include <vector>

namespace seguente {

/// What was lent, and its number. generation 0: nothing yet. [any]
template <class T>
struct Lent {
  const T* value = nullptr;
  std::uint32_t generation = 0;
};

template <class T>
class Handoff {
 public:
  /// Publishes a value and everything that keeps it alive; returns its generation, from 1 up. [message]
  /// owner: dropped by collect() once the audio thread has let go of this generation.
  std::uint32_t publish(const T* value, std::shared_ptr<const void> owner) {
    const std::uint32_t generation = ++lastGeneration_;
    kept_.emplace_back(generation, std::move(owner));
    // A slot is used again only after `slots` further publications; take() sees by the number that it read one of
    // those.
    slots_[generation % slots].store(value, std::memory_order_release);
    latest_.store(generation, std::memory_order_release);  // the pointer is seen by whoever sees the number
    return generation;
  }

  /// Frees what the audio thread has let go of, and what it passed over. Called by a timer. [message]
  void collect() {
    const std::uint32_t released = released_.load(std::memory_order_acquire);
    std::erase_if(kept_, [released](const auto& kept) { return kept.first <= released; });
  }
  /// How many values are still kept alive, the one in use included. [message]
  std::size_t kept() const { return kept_.size(); }

  /// The newest value, if it has not been taken yet. [audio] wait-free.
  bool take(Lent<T>& out) noexcept {
    const std::uint32_t generation = latest_.load(std::memory_order_acquire);
    if (generation == taken_) return false;
    const T* const value = slots_[generation % slots].load(std::memory_order_acquire);
    // Published again while we read: the slot may be newer than the number; take it at the next block.
    if (latest_.load(std::memory_order_acquire) != generation) return false;
    taken_ = generation;
    out = {value, generation};
    return true;
  }
  /// The player has let go of this generation and of all before it. Never of the one taken last: whoever took it may
  /// still look into it. [audio] wait-free.
  void acknowledge(std::uint32_t generation) noexcept { released_.store(generation, std::memory_order_release); }

 private:
  static constexpr std::size_t slots = 8;
  std::array<std::atomic<const T*>, slots> slots_{};
  std::atomic<std::uint32_t> latest_{0};                                     // written by the message thread only
  std::atomic<std::uint32_t> released_{0};                                   // written by the audio thread only
  std::uint32_t taken_ = 0;                                                  // audio thread
  std::uint32_t lastGeneration_ = 0;                                         // message thread
  std::vector<std::pair<std::uint32_t, std::shared_ptr<const void>>> kept_;  // message thread
};

}  // namespace seguente
