// TICK: the timer of a plugin that a host destroys on another thread than the one that calls back.
#include <atomic>
#include <memory>
#include <thread>

#include "plugin/ticker.h"
#include "tests/catch.h"

using namespace seguente;

TEST_CASE("TICK-1: a plugin that is destroyed on another thread waits for the tick under way, and no other comes") {
  std::atomic<bool> inside{false}, leaving{false}, gone{false};
  std::atomic<int> ticks{0};
  bool goneInside = false;
  auto ticker = std::make_unique<Ticker>([&] {
    ++ticks;
    inside = true;
    while (!leaving) std::this_thread::yield();
    for (int i = 0; i < 20000; ++i) std::this_thread::yield();  // time enough for one that does not wait
    goneInside = gone;
  });
  ticker->start(100);
  std::thread host([&] {
    while (!inside) std::this_thread::yield();
    leaving = true;
    ticker.reset();
    gone = true;
  });
  auto* const messages = juce::MessageManager::getInstance();
  while (!gone) messages->runDispatchLoopUntil(1);
  host.join();
  CHECK_FALSE(goneInside);
  const int before = ticks;
  messages->runDispatchLoopUntil(50);
  CHECK(ticks == before);
}
