// The number of a bar. Hosts say where a bar line is and in which meter, seldom which bar it begins: so bars are
// counted over every change of meter that was passed, from the session's start, whose first bar is 1. A host that
// counts is believed. What was never passed cannot be known: until then its bars are taken to be as long as those
// before them.
#pragma once

#include <array>
#include <cstdint>
#include <optional>

#include "dsp/time.h"

namespace seguente {

/// [audio] throughout; no errors; bounded. Owned by one session.
class BarCount {
 public:
  void forget() noexcept { count_ = 0; }
  /// A bar of this meter begins at `line`. said: its number as the host counts, from 0, if it does. Told anew at each
  /// bar line, also where nothing changes: a change of meter that was taken out of the session is forgotten so.
  void hear(Ticks line, Meter meter, std::optional<std::int64_t> said = {}) noexcept;
  /// The number of the bar that begins at `line` or, between two lines, of the bar around it. 1 before anything is
  /// heard.
  std::int64_t at(Ticks line) const noexcept;

 private:
  /// From here on bars are so long, the first of them has this number.
  struct Stretch {
    Ticks from{};
    Ticks bar{};
    std::int64_t number = 1;
  };
  std::size_t inForce(Ticks line) const noexcept;
  void insert(std::size_t place, const Stretch& stretch) noexcept;
  void erase(std::size_t place) noexcept;
  void countAnewFrom(std::size_t place) noexcept;

  static constexpr std::size_t most = 64;  // changes of meter; with more, the farthest is forgotten
  std::array<Stretch, most> stretches_{};
  std::size_t count_ = 0;
};

}  // namespace seguente
