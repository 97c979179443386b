// What the screen costs. Under a display: the share of one core that drawing takes at thirty pictures a second while
// eight parts of a minute are played in real time, the window on the desktop, painted by software. With the words
// "closed" or "open": only plays, for callgrind to count Processor::processBlock with and without a window.
#include <chrono>
#include <cstdio>
#include <cstring>
#include <ctime>
#include <memory>
#include <thread>

#include "plugin/editor/window.h"
#include "plugin/processor.h"

using namespace seguente;

namespace {

constexpr double rate = 48000, tempo = 120;
constexpr int block = 480;  // a hundredth of a second

struct Head final : juce::AudioPlayHead {
  juce::Optional<PositionInfo> getPosition() const override {
    PositionInfo info;
    info.setBpm(tempo);
    info.setPpqPosition(static_cast<double>(sample) / rate * tempo / 60);
    info.setTimeSignature(TimeSignature{4, 4});
    info.setIsPlaying(true);
    return info;
  }
  std::int64_t sample = 0;
};

/// Two hands: a chord a bar, eighths above it.
class Hands {
 public:
  void play(std::int64_t n, juce::MidiBuffer& midi) {
    static constexpr int chords[4][3] = {{48, 52, 55}, {45, 48, 52}, {53, 57, 60 - 3}, {43, 47, 53}};
    if (n % 200 == 0) change(midi, chords[n / 200 % 4]);
    if (n % 25 == 0) {
      if (tune_ > 0) midi.addEvent(juce::MidiMessage::noteOff(1, tune_), 1);
      tune_ = 67 + static_cast<int>(n / 25 * 5 % 13);
      midi.addEvent(juce::MidiMessage::noteOn(1, tune_, juce::uint8{80}), 2);
    }
  }

 private:
  void change(juce::MidiBuffer& midi, const int (&chord)[3]) {
    for (const int key : held_)
      if (key > 0) midi.addEvent(juce::MidiMessage::noteOff(1, key), 0);
    for (int i = 0; i < 3; ++i) {
      held_[i] = chord[i];
      midi.addEvent(juce::MidiMessage::noteOn(1, chord[i], juce::uint8{70}), 0);
    }
  }
  int held_[3] = {0, 0, 0};
  int tune_ = 0;
};

struct Playing {
  Head head;
  Processor processor;
  Hands hands;
  juce::AudioBuffer<float> audio{0, block};
  juce::MidiBuffer midi;
  std::int64_t n = 0;
  explicit Playing(int slot) {
    processor.values().set(ParameterId::idiom, slot);
    processor.values().set(ParameterId::density, 2);
    processor.setPlayHead(&head);
    processor.prepareToPlay(rate, block);
  }
  void hundredth() {
    midi.clear();
    hands.play(n++, midi);
    processor.processBlock(audio, midi);
    head.sample += block;
  }
};

double threadSeconds() {
  timespec t{};
  clock_gettime(CLOCK_THREAD_CPUTIME_ID, &t);
  return static_cast<double>(t.tv_sec) + static_cast<double>(t.tv_nsec) * 1e-9;
}

/// How often a second the timer that draws was really called.
struct Counter final : juce::Timer {
  Counter() { startTimerHz(30); }
  ~Counter() override { stopTimer(); }
  void timerCallback() override { ++count; }
  int count = 0;
};

/// Of the message thread, which draws; the sound is played by another.
void draw(int seconds, int slot) {
  Playing playing(slot);
  std::unique_ptr<screen::Window> window(dynamic_cast<screen::Window*>(playing.processor.createEditor()));
  window->addToDesktop(0);
  window->setVisible(true);
  auto& loop = *juce::MessageManager::getInstance();
  loop.runDispatchLoopUntil(1000);  // the first picture is not counted
  std::atomic<bool> stop{false};
  std::thread sound([&] {
    auto next = std::chrono::steady_clock::now();
    while (!stop.load()) {
      playing.hundredth();
      next += std::chrono::milliseconds(10);
      std::this_thread::sleep_until(next);
    }
  });
  Counter counter;
  const double before = threadSeconds();
  loop.runDispatchLoopUntil(seconds * 1000);
  const double used = threadSeconds() - before;
  stop.store(true);
  sound.join();
  std::printf("slot %d: %.1f %% of a core, at %d pictures a second\n", slot, used / seconds * 100,
              counter.count / seconds);
}

void count(bool open) {
  Playing playing(1);
  std::unique_ptr<screen::Window> window;
  if (open) {
    window.reset(dynamic_cast<screen::Window*>(playing.processor.createEditor()));
    window->setVisible(true);
  }
  for (int i = 0; i < 3000; ++i) {
    playing.hundredth();
    if (i % 25 == 24) playing.processor.tick();
    if (open && i % 3 == 2) window->refresh();
  }
}

}  // namespace

int main(int argc, char** argv) {
  // A program of its own, not a plugin in a host: then JUCE bears what a display without a window manager lacks.
  juce::JUCEApplicationBase::createInstance = []() -> juce::JUCEApplicationBase* { return nullptr; };
  const juce::ScopedJuceInitialiser_GUI gui;
  if (argc > 1 && std::strcmp(argv[1], "closed") == 0)
    count(false);
  else if (argc > 1 && std::strcmp(argv[1], "open") == 0)
    count(true);
  else
    for (const int slot : {1, 2, 5, 6}) draw(argc > 1 ? std::atoi(argv[1]) : 10, slot);
  return 0;
}
