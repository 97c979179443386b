// Our own small random numbers: standard distributions differ between libraries, and a failing seed must fail
// everywhere. (So ask for one number at a time: in a call, and around an operator, compilers choose the order.)
#pragma once

#include <cstddef>
#include <cstdint>

namespace seguente::test {

/// splitmix64 (Steele, Lea & Flood, "Fast splittable pseudorandom number generators", OOPSLA 2014; their constants).
/// [any]
class Random {
 public:
  explicit Random(std::uint64_t seed) : state_(seed) {}

  std::uint64_t next() {
    state_ += 0x9E3779B97F4A7C15u;
    auto z = state_;
    z = (z ^ (z >> 30)) * 0xBF58476D1CE4E5B9u;
    z = (z ^ (z >> 27)) * 0x94D049BB133111EBu;
    return z ^ (z >> 31);
  }
  /// low..high, both included; the slight unevenness of % is of no weight here.
  std::int64_t between(std::int64_t low, std::int64_t high) {
    return low + static_cast<std::int64_t>(next() % static_cast<std::uint64_t>(high - low + 1));
  }
  bool oneIn(std::int64_t n) { return between(1, n) == 1; }
  template <class List>
  const auto& oneOf(const List& list) {
    return list[static_cast<std::size_t>(between(0, static_cast<std::int64_t>(list.size()) - 1))];
  }

 private:
  std::uint64_t state_;
};

}  // namespace seguente::test
