// TICK: the timer of a plugin that a host ends or destroys on another thread than the one that calls back.
#include <atomic>
#include <chrono>
#include <memory>
#include <thread>

#include "plugin/processor.h"
#include "plugin/ticker.h"
#include "tests/catch.h"

using namespace seguente;

namespace {

/// As the wrapper of a format listens: while it is told, the host's thread takes it away.
struct Wrapper : juce::AudioProcessorListener {
  std::atomic<bool> told{false}, gone{false};
  bool toldWhenGone = false;
  void audioProcessorParameterChanged(juce::AudioProcessor*, int, float) override {}
  void audioProcessorChanged(juce::AudioProcessor*, const ChangeDetails&) override {}
  void audioProcessorParameterChangeGestureBegin(juce::AudioProcessor*, int) override {
    told = true;
    std::this_thread::sleep_for(std::chrono::milliseconds(100));  // time enough for one that does not wait
    toldWhenGone = gone;
  }
};

/// The host chooses another idiom by a program change.
void change(Processor& processor, std::uint8_t slot) {
  juce::AudioBuffer<float> none(0, 64);
  juce::MidiBuffer midi;
  midi.addEvent(juce::MidiMessage::programChange(1, slot), 0);
  processor.processBlock(none, midi);
}

}  // namespace

TEST_CASE("TICK-1: a plugin that is destroyed on another thread waits for the tick under way, and no other comes") {
  std::atomic<bool> inside{false}, leaving{false}, gone{false};
  std::atomic<int> ticks{0};
  bool goneInside = false;
  auto ticker = std::make_unique<Ticker>([&] {
    ++ticks;
    inside = true;
    while (!leaving) std::this_thread::yield();
    std::this_thread::sleep_for(std::chrono::milliseconds(100));  // time enough for one that does not wait
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

TEST_CASE("TICK-2: a wrapper that a host ends while it is told of a program change is told to the end, then no more") {
  Processor processor;
  processor.prepareToPlay(48000, 64);
  const auto filled = processor.shelf().filled();
  REQUIRE(filled.size() > 2);
  Wrapper wrapper;
  processor.addListener(&wrapper);
  change(processor, static_cast<std::uint8_t>(filled[1]));
  std::thread timer([&] { processor.tick(); });
  while (!wrapper.told) std::this_thread::yield();
  processor.removeListener(&wrapper);
  wrapper.gone = true;
  timer.join();
  CHECK_FALSE(wrapper.toldWhenGone);
  wrapper.told = false;
  change(processor, static_cast<std::uint8_t>(filled[2]));
  processor.tick();
  CHECK_FALSE(wrapper.told);
}
