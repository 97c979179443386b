// Calls its owner back on the message thread, several times a second, until the owner is gone. A host may destroy a
// plugin on another thread than the one that calls back (in LV2, JUCE keeps a message thread of its own): the owner
// then waits for the call that is under way, and the timer itself dies on the message thread, where no call can be in
// flight.
#pragma once

#include <juce_events/juce_events.h>

#include <functional>
#include <memory>
#include <mutex>
#include <utility>

namespace seguente {

class Ticker {
 public:
  explicit Ticker(std::function<void()> tick) : timer_(std::make_shared<Timer>()) { timer_->tick = std::move(tick); }
  Ticker(const Ticker&) = delete;
  Ticker& operator=(const Ticker&) = delete;
  ~Ticker() {
    timer_->stopTimer();
    {
      const std::scoped_lock lock(timer_->mutex);
      timer_->stopped = true;
    }
    const auto* manager = juce::MessageManager::getInstanceWithoutCreating();
    if (manager != nullptr && !manager->isThisTheMessageThread())
      juce::MessageManager::callAsync([last = std::move(timer_)] {});
  }
  void start(int timesASecond) { timer_->startTimerHz(timesASecond); }

 private:
  struct Timer : juce::Timer {
    std::recursive_mutex mutex;  // a host may end us from within its answer to a tick
    std::function<void()> tick;
    bool stopped = false;
    void timerCallback() override {
      const std::scoped_lock lock(mutex);
      if (!stopped) tick();
    }
  };
  std::shared_ptr<Timer> timer_;
};

}  // namespace seguente
