// One writer, one reader, a fixed size: how things go to and from the audio thread. Nobody waits here.
#pragma once

#include <algorithm>
#include <atomic>
#include <cstddef>
#include <cstdint>
#include <span>
#include <vector>

namespace seguente {

/// T: trivially copyable. Positions are counted from the beginning and never wrap in practice (64 bits).
template <class T>
class Ring {
 public:
  Ring() = default;
  explicit Ring(std::size_t room) { prepare(room); }
  /// Takes the memory, and forgets what was in there. Neither side may be at work. [message]
  void prepare(std::size_t room) {
    slots_.assign(room, T{});
    begin_.store(0, std::memory_order_relaxed);
    end_.store(0, std::memory_order_relaxed);
  }
  /// Whether so many would find room now. [one writer] wait-free.
  bool fits(std::size_t count) const noexcept {
    const auto used = end_.load(std::memory_order_relaxed) - begin_.load(std::memory_order_acquire);
    return slots_.size() - static_cast<std::size_t>(used) >= count;
  }
  /// All of it, or nothing and false. [one writer] wait-free.
  bool push(std::span<const T> values) noexcept {
    if (!fits(values.size())) return false;
    const auto end = end_.load(std::memory_order_relaxed);
    if (values.empty()) return true;
    const auto at = static_cast<std::size_t>(end % slots_.size());
    const auto first = std::min(values.size(), slots_.size() - at);
    std::copy_n(values.begin(), first, slots_.begin() + static_cast<std::ptrdiff_t>(at));
    std::copy(values.begin() + static_cast<std::ptrdiff_t>(first), values.end(), slots_.begin());
    end_.store(end + values.size(), std::memory_order_release);
    return true;
  }
  bool push(const T& value) noexcept { return push(std::span(&value, 1)); }
  /// As many of the oldest as there are and fit; returns how many. [one reader] wait-free.
  std::size_t pop(std::span<T> into) noexcept {
    const auto begin = begin_.load(std::memory_order_relaxed);
    const auto there = static_cast<std::size_t>(end_.load(std::memory_order_acquire) - begin);
    const auto count = std::min(there, into.size());
    if (count == 0) return 0;
    const auto at = static_cast<std::size_t>(begin % slots_.size());
    const auto first = std::min(count, slots_.size() - at);
    std::copy_n(slots_.begin() + static_cast<std::ptrdiff_t>(at), first, into.begin());
    std::copy_n(slots_.begin(), count - first, into.begin() + static_cast<std::ptrdiff_t>(first));
    begin_.store(begin + count, std::memory_order_release);
    return count;
  }
  bool pop(T& into) noexcept { return pop(std::span(&into, 1)) == 1; }

  /// The oldest, which stays until it is dropped; null when there is none. [one reader] wait-free.
  const T* oldest() const noexcept {
    const auto begin = begin_.load(std::memory_order_relaxed);
    return begin == end_.load(std::memory_order_acquire) ? nullptr
                                                         : &slots_[static_cast<std::size_t>(begin % slots_.size())];
  }
  void drop() noexcept { begin_.store(begin_.load(std::memory_order_relaxed) + 1, std::memory_order_release); }

 private:
  std::vector<T> slots_;
  std::atomic<std::uint64_t> begin_{0}, end_{0};
};

}  // namespace seguente
