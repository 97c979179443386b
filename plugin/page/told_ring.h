// Carries what a page is told from the audio thread to the message thread: a ring of fixed size, one writer, one
// reader. When nobody reads, what comes is dropped and counted; nothing waits.
#pragma once

#include <array>
#include <atomic>
#include <cstdint>
#include <memory>

#include "plugin/page/told.h"

namespace seguente::page {

class ToldRing {
 public:
  // Read four times a second even with no window open: 1024 is sixteen times what the densest idiom says in that time.
  static constexpr std::uint32_t room = 1024;

  /// Takes its memory, the first time: hosts that only look make and throw away many. Before the first push. [message]
  void open() {
    if (!slots_) slots_ = std::make_unique<std::array<Told, room>>();
  }
  /// Opened before. [audio] wait-free.
  void push(const Told& told) noexcept {
    const auto end = end_.load(std::memory_order_relaxed);
    if (end - begin_.load(std::memory_order_acquire) == room) {
      dropped_.fetch_add(1, std::memory_order_relaxed);
      return;
    }
    (*slots_)[end % room] = told;
    end_.store(end + 1, std::memory_order_release);
  }
  /// The oldest; false when there is none. [message] wait-free.
  bool pop(Told& into) noexcept {
    const auto begin = begin_.load(std::memory_order_relaxed);
    if (begin == end_.load(std::memory_order_acquire)) return false;
    into = (*slots_)[begin % room];
    begin_.store(begin + 1, std::memory_order_release);
    return true;
  }
  std::uint64_t dropped() const noexcept { return dropped_.load(std::memory_order_relaxed); }  // [any]

 private:
  std::unique_ptr<std::array<Told, room>> slots_;  // whoever sees an end that has moved sees this too
  std::atomic<std::uint32_t> begin_{0}, end_{0};
  std::atomic<std::uint64_t> dropped_{0};
};

}  // namespace seguente::page
