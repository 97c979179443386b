// What the plugin costs around the engine, in instructions, counted by callgrind: processBlock against a processor that
// only reads the same play head and parameters. Run by plugin_bench.py; only the calls are counted. Each measured
// stretch writes one line "name key=value ..." to stdout and one dump. Seeds are fixed.
#include <valgrind/callgrind.h>

#include <cstdio>
#include <ctime>
#include <memory>
#include <string>

#include "plugin/processor.h"
#include "tests/support/random.h"
#include "tests/support/score.h"

using namespace seguente;
using namespace seguente::test;

namespace {

constexpr double rate = 48000;
constexpr int block = 64;
constexpr int blocksAMinute = 60 * 48000 / block;

/// As little as a MIDI effect can do that looks where the host is and what is set: notes pass.
class PassThrough final : public juce::AudioProcessor {
 public:
  PassThrough() : AudioProcessor(BusesProperties()) {
    for (const auto& row : parameterTable()) {
      const auto low = static_cast<float>(row.low), high = static_cast<float>(row.high);
      parameters_[static_cast<std::size_t>(row.which)] = new juce::AudioParameterFloat(
          juce::ParameterID{row.id, 1}, row.name,
          juce::NormalisableRange<float>(low, high, static_cast<float>(row.step)), static_cast<float>(row.standard));
      addParameter(parameters_[static_cast<std::size_t>(row.which)]);
    }
  }
  void prepareToPlay(double, int) override {}
  void releaseResources() override {}
  void processBlock(juce::AudioBuffer<float>&, juce::MidiBuffer&) override {
    double sum = 0;
    if (const auto* head = getPlayHead())
      if (const auto p = head->getPosition()) {
        sum += p->getPpqPosition().orFallback(0) + p->getBpm().orFallback(0) +
               p->getPpqPositionOfLastBarStart().orFallback(0);
        sum += static_cast<double>(p->getBarCount().orFallback(0)) + (p->getIsPlaying() ? 1 : 0);
        if (const auto meter = p->getTimeSignature()) sum += meter->numerator + meter->denominator;
      }
    for (const auto* parameter : parameters_) sum += static_cast<double>(parameter->get());
    seen_ = sum;
  }
  using AudioProcessor::processBlock;
  const juce::String getName() const override { return "PassThrough"; }
  bool acceptsMidi() const override { return true; }
  bool producesMidi() const override { return true; }
  bool isMidiEffect() const override { return true; }
  double getTailLengthSeconds() const override { return 0; }
  int getNumPrograms() override { return 1; }
  int getCurrentProgram() override { return 0; }
  void setCurrentProgram(int) override {}
  const juce::String getProgramName(int) override { return {}; }
  void changeProgramName(int, const juce::String&) override {}
  bool hasEditor() const override { return false; }
  juce::AudioProcessorEditor* createEditor() override { return nullptr; }
  void getStateInformation(juce::MemoryBlock&) override {}
  void setStateInformation(const void*, int) override {}

 private:
  std::array<juce::AudioParameterFloat*, parameterCount> parameters_{};
  volatile double seen_ = 0;
};

/// A host that rolls at 120 in four.
class Head final : public juce::AudioPlayHead {
 public:
  juce::Optional<PositionInfo> getPosition() const override { return info_; }
  void at(std::int64_t sample) {
    const double quarters = static_cast<double>(sample) / 24000;
    info_.setTimeInSamples(sample);
    info_.setPpqPosition(quarters);
    info_.setPpqPositionOfLastBarStart(std::floor(quarters / 4) * 4);
    info_.setBarCount(static_cast<juce::int64>(quarters / 4));
    info_.setBpm(120.0);
    info_.setTimeSignature(TimeSignature{4, 4});
    info_.setIsPlaying(true);
  }

 private:
  PositionInfo info_;
};

/// A pianist who never tires: a chord a bar, now and then two, a tune in eighths.
std::vector<Input> busyMinute() {
  Random random(12);
  Score score(rate, {4, 4}, 120);
  const std::vector<std::string> shapes = {"C3 E3 G3", "C3 F3 A3", "B2 F3 G3", "C3 E3 A3", "D3 F3 A3"};
  const auto spread = [&](Ticks place) { return score.sampleOf(place) + Samples{random.between(-900, 1400)}; };
  for (int bar = 0; bar < 30; ++bar) {
    const int chords = bar % 4 == 3 ? 2 : 1;
    for (int c = 0; c < chords; ++c)
      for (const auto k : keys(random.oneOf(shapes))) {
        score.message({0x90, k.value, 70}, spread(quarters(bar * 4 + c * 2 + 0.05)));
        score.message({0x80, k.value, 64}, spread(quarters(bar * 4 + c * 2 + 4.0 / chords - 0.5)));
      }
    for (int eighth = 0; eighth < 8; ++eighth) {
      const auto key = static_cast<std::uint8_t>(random.between(62, 81));
      const auto down = spread(quarters(bar * 4 + eighth * 0.5 + 0.05));
      score.message({0x90, key, 80}, down).message({0x80, key, 64}, down + Samples{9000});
    }
  }
  auto inputs = score.inputs();
  std::erase_if(inputs, [](const Input& i) { return i.kind != InputKind::midi; });
  return inputs;
}

/// One processor in a host of 64-sample blocks.
class Seat {
 public:
  explicit Seat(std::unique_ptr<juce::AudioProcessor> processor) : processor_(std::move(processor)) {
    processor_->setPlayHead(&head_);
    processor_->setRateAndBufferSizeDetails(rate, block);
    processor_->prepareToPlay(rate, block);
  }
  juce::AudioProcessor& processor() { return *processor_; }
  /// What the host does for the next block.
  void prepare(const std::vector<Input>& notes) {
    head_.at(now_);
    midi_.clear();
    for (; next_ < notes.size() && notes[next_].sample.value < now_ + block; ++next_) {
      const auto& m = notes[next_].midi;
      const auto offset = std::max<std::int64_t>(0, notes[next_].sample.value - now_);
      midi_.addEvent(m.bytes.data(), static_cast<int>(m.length), static_cast<int>(offset));
    }
    now_ += block;
  }
  void process() { processor_->processBlock(audio_, midi_); }
  int sent() const { return midi_.getNumEvents(); }

 private:
  std::unique_ptr<juce::AudioProcessor> processor_;
  Head head_;
  juce::AudioBuffer<float> audio_{0, block};
  juce::MidiBuffer midi_;
  std::int64_t now_ = 0;
  std::size_t next_ = 0;
};

std::unique_ptr<juce::AudioProcessor> ours(double slot) {
  auto processor = std::make_unique<Processor>();
  processor->values().set(ParameterId::idiom, slot);
  processor->values().set(ParameterId::density, 2);
  processor->values().set(ParameterId::percussion, 1);
  return processor;
}

void dump(const char* name, long blocks, long events) {
  CALLGRIND_DUMP_STATS_AT(name);
  std::printf("%s blocks=%ld events=%ld\n", name, blocks, events);
}

void counted(std::unique_ptr<juce::AudioProcessor> processor, const std::vector<Input>& notes, int blocks,
             const char* name) {
  Seat seat(std::move(processor));
  for (int i = 0; i < 100; ++i) {
    seat.prepare(notes);
    seat.process();
  }
  long events = 0;
  CALLGRIND_ZERO_STATS;
  for (int i = 0; i < blocks; ++i) {
    seat.prepare(notes);
    CALLGRIND_TOGGLE_COLLECT;
    seat.process();
    CALLGRIND_TOGGLE_COLLECT;
    events += seat.sent();
  }
  dump(name, blocks, events);
}

void idle() {
  counted(std::make_unique<PassThrough>(), {}, 2000, "idle pass-through");
  counted(ours(1), {}, 2000, "idle seguente");
}

void busy() {
  const auto notes = busyMinute();
  counted(std::make_unique<PassThrough>(), notes, blocksAMinute, "busy pass-through");
  for (std::size_t slot = 0; slot < slotCount && shippedTitle(slot)[0] != '\0'; ++slot)
    counted(ours(static_cast<double>(slot)), notes, blocksAMinute, (std::string("busy ") + shippedTitle(slot)).c_str());
}

/// Made and thrown away. The first of each warms what is made once a process.
void instantiate() {
  const auto count = [](const char* name, auto&& make) {
    make();
    CALLGRIND_ZERO_STATS;
    CALLGRIND_TOGGLE_COLLECT;
    for (int i = 0; i < 20; ++i) make();
    CALLGRIND_TOGGLE_COLLECT;
    dump(name, 20, 0);
  };
  count("instantiate pass-through", [] { const auto made = std::make_unique<PassThrough>(); });
  count("instantiate seguente", [] { const auto made = std::make_unique<Processor>(); });
}

/// Made ready to play: the first of a process compiles what is shipped, for all.
void ready() {
  std::vector<std::unique_ptr<Processor>> made(21);
  for (auto& processor : made) processor = std::make_unique<Processor>();
  const auto count = [&](std::size_t from, std::size_t to, const char* name) {
    CALLGRIND_ZERO_STATS;
    CALLGRIND_TOGGLE_COLLECT;
    for (std::size_t i = from; i < to; ++i) made[i]->prepareToPlay(rate, block);
    CALLGRIND_TOGGLE_COLLECT;
    dump(name, static_cast<long>(to - from), 0);
  };
  count(0, 1, "ready first");
  count(1, made.size(), "ready further");
}

/// CPU time of a hundred that play at once, in one go, without the counting of instructions.
void hundred() {
  const auto notes = busyMinute();
  std::vector<std::unique_ptr<Seat>> seats;
  for (int i = 0; i < 100; ++i) seats.push_back(std::make_unique<Seat>(ours(i % 7)));
  std::clock_t spent = 0;
  long events = 0;
  for (int i = 0; i < blocksAMinute; ++i) {
    for (auto& seat : seats) seat->prepare(notes);
    const auto before = std::clock();
    for (auto& seat : seats) seat->process();
    spent += std::clock() - before;
    for (auto& seat : seats) events += seat->sent();
  }
  std::printf("hundred microseconds=%ld events=%ld\n", static_cast<long>(spent * (1000000 / CLOCKS_PER_SEC)), events);
}

void latency() {
  Processor processor;
  processor.prepareToPlay(rate, block);
  std::printf("latency samples=%d\n", processor.getLatencySamples());
}

}  // namespace

int main(int argc, char** argv) {
  const juce::ScopedJuceInitialiser_GUI juceRuns;
  struct Scenario {
    const char* name;
    void (*run)();
  };
  const Scenario all[] = {{"idle", idle},   {"busy", busy},       {"instantiate", instantiate},
                          {"ready", ready}, {"hundred", hundred}, {"latency", latency}};
  for (const auto& scenario : all)
    for (int i = 1; i < argc; ++i)
      if (std::string(argv[i]) == scenario.name) scenario.run();
  return 0;
}
