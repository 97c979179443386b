#include "plugin/bar_count.h"

#include <algorithm>

namespace seguente {

namespace {
bool isLine(Ticks from, Ticks bar, Ticks line) noexcept { return (line - from).value % bar.value == 0; }
/// Bars that lie between two lines; one that was cut short counts.
std::int64_t barsBetween(Ticks from, Ticks to, Ticks bar) noexcept {
  return floorDivide((to - from).value + bar.value - 1, bar.value);
}
}  // namespace

void BarCount::hear(Ticks line, Meter meter, std::optional<std::int64_t> said) noexcept {
  if (!meter.valid()) return;
  const Ticks bar = meter.bar();
  if (said || count_ == 0) {
    stretches_[0] = {line, bar, said ? *said + 1 : floorDivide(line.value, bar.value) + 1};
    count_ = 1;
    return;
  }
  const auto here = inForce(line);
  auto& stretch = stretches_[here];
  if (stretch.bar == bar && isLine(stretch.from, bar, line)) return;
  if (line == stretch.from) {
    stretch.bar = bar;
    return countAnewFrom(here > 0 ? here : 1);
  }
  if (line < stretch.from) {  // before all that is known
    const auto number = stretch.number - barsBetween(line, stretch.from, bar);
    insert(0, {line, bar, number});
    return;
  }
  insert(here + 1, {line, bar, 0});
}

std::int64_t BarCount::at(Ticks line) const noexcept {
  if (count_ == 0) return 1;
  const auto& stretch = stretches_[inForce(line)];
  return stretch.number + floorDivide((line - stretch.from).value, stretch.bar.value);
}

/// The last that begins at the line or before it; the first when none does.
std::size_t BarCount::inForce(Ticks line) const noexcept {
  std::size_t i = count_;
  while (i > 1 && line < stretches_[i - 1].from) --i;
  return i - 1;
}

void BarCount::insert(std::size_t place, const Stretch& stretch) noexcept {
  if (count_ == most) {
    erase(place == 0 ? most - 1 : 0);
    place -= place == 0 ? 0 : 1;
  }
  const auto at = stretches_.begin() + static_cast<std::ptrdiff_t>(place);
  std::move_backward(at, stretches_.begin() + static_cast<std::ptrdiff_t>(count_),
                     stretches_.begin() + static_cast<std::ptrdiff_t>(count_ + 1));
  *at = stretch;
  ++count_;
  countAnewFrom(place > 0 ? place : 1);
}

void BarCount::erase(std::size_t place) noexcept {
  std::move(stretches_.begin() + static_cast<std::ptrdiff_t>(place) + 1,
            stretches_.begin() + static_cast<std::ptrdiff_t>(count_),
            stretches_.begin() + static_cast<std::ptrdiff_t>(place));
  --count_;
}

/// What goes on as it was before is no change any more.
void BarCount::countAnewFrom(std::size_t place) noexcept {
  while (place < count_) {
    const auto& before = stretches_[place - 1];
    auto& stretch = stretches_[place];
    stretch.number = before.number + barsBetween(before.from, stretch.from, before.bar);
    if (stretch.bar == before.bar && isLine(before.from, before.bar, stretch.from))
      erase(place);
    else
      ++place;
  }
}

}  // namespace seguente
