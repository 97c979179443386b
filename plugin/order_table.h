// The running order that is open, as the audio thread reads it: resolved to slots and values, lent without a lock.
#pragma once

#include <array>
#include <atomic>
#include <bitset>
#include <cstdint>
#include <memory>
#include <vector>

#include "dsp/handoff.h"
#include "plugin/parameters.h"

namespace seguente {

/// Owned by the message thread, unchanged once lent. [audio]
struct OrderTable {
  struct Step {
    std::int16_t slot = -1;  // -1: its idiom is not here; the one that plays stays
    std::array<float, parameterCount> values{};
  };
  std::bitset<parameterCount> named;  // the rows that a step sets; no other is touched
  std::vector<Step> steps;
};

/// One order, or none, and where one stands in it. One thread writes [message], one reads and steps [audio].
class OrderBox {
 public:
  /// Null: no order is open. place: where it opens; apply: as somebody who chooses it, else (a session that is opened)
  /// its settings are there already. [message]
  void lend(std::shared_ptr<const OrderTable> table, int place, bool apply) {
    lent_.publish(table.get(), table);
    wish_.store(table == nullptr ? none : apply ? place : place + resumed, std::memory_order_release);
    place_.store(table == nullptr ? -1 : place, std::memory_order_relaxed);
  }
  /// The same order, its idioms in other slots or its text mended; the place stays. [message]
  void replace(std::shared_ptr<const OrderTable> table) { lent_.publish(table.get(), table); }
  /// [any]
  void choose(int place) noexcept { wish_.store(place, std::memory_order_release); }
  /// Where one stands, or will with the next bar; -1 when no order is open. [any]
  int place() const noexcept {
    const int wish = wish_.load(std::memory_order_acquire);
    return wish == nothing   ? place_.load(std::memory_order_relaxed)
           : wish == none    ? -1
           : wish >= resumed ? wish - resumed
                             : wish;
  }
  void collect() { lent_.collect(); }

  // The audio thread's end. [audio]
  struct Wish {
    int place = -1;
    bool apply = false;
  };
  /// What is wished, once; before the table is taken, so that what is wished is in it.
  bool takeWish(Wish& wish) noexcept {
    if (wish_.load(std::memory_order_relaxed) == nothing) return false;
    const int said = wish_.exchange(nothing, std::memory_order_acq_rel);  // what is wished meanwhile is not lost
    wish = said == none ? Wish{} : said >= resumed ? Wish{said - resumed, false} : Wish{said, true};
    place_.store(wish.place, std::memory_order_relaxed);
    return true;
  }
  bool takeTable(Lent<OrderTable>& into) noexcept {
    if (!lent_.take(into)) return false;
    lent_.acknowledge(into.generation - 1);
    return true;
  }
  void setPlace(int place) noexcept { place_.store(place, std::memory_order_relaxed); }

 private:
  static constexpr int nothing = -2, none = -1, resumed = 1 << 16;
  Handoff<OrderTable> lent_;
  std::atomic<int> wish_{nothing};
  std::atomic<int> place_{-1};
};

}  // namespace seguente
