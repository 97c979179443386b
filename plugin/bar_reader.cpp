#include "plugin/bar_reader.h"

#include <algorithm>
#include <thread>

namespace seguente {

void BarReader::read(std::span<const ReadStroke> strokes) noexcept {
  for (;;) {
    auto before = handed_.load(std::memory_order_relaxed);
    if (before != Handed::taking && handed_.compare_exchange_weak(before, Handed::writing, std::memory_order_acquire))
      break;
    std::this_thread::yield();
  }
  given_ = std::min(strokes.size(), most);
  std::copy_n(strokes.begin(), given_, waiting_.begin());
  handed_.store(Handed::ready, std::memory_order_release);
}

}  // namespace seguente
