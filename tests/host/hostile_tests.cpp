// HOSTILE: everything that a host and a broken cable can do, at random, from a seed. Scenarios: SCENARIOS.md.
#include <cmath>
#include <limits>
#include <set>

#include "tests/catch.h"
#include "tests/host/direct.h"

using namespace seguente;
using namespace seguente::host;
using seguente::test::Random;

namespace {

#ifdef SEGUENTE_SANITIZED
constexpr int rarer = 5;  // ten to thirty times slower: the storm is the same, and shorter
#else
constexpr int rarer = 1;
#endif

/// Ours go out on channels 2, 3, 4 and 10 (a channel a part), so that what comes in on others is told apart from it.
const std::vector<int> channelsIn{0, 4, 5, 8};
constexpr bool isOurs(int channel) { return channel == 1 || channel == 2 || channel == 3 || channel == 9; }

/// Which keys sound, kept as it goes: a million blocks are too much to remember.
class Listening {
 public:
  void hear(const juce::MidiBuffer& midi) {
    for (const auto m : midi) {
      if (m.numBytes != 3) continue;
      const int kind = m.data[0] & 0xF0, channel = m.data[0] & 0x0F;
      if (kind == 0x90 && m.data[2] > 0) {
        ++struck_[isOurs(channel)];
        down_.insert({channel, m.data[1]});
      } else if (kind == 0x80 || kind == 0x90) {
        down_.erase({channel, m.data[1]});
      }
    }
  }
  int struck(bool ours) const { return struck_[ours]; }
  std::string stillSounding(bool ours) const {
    std::string text;
    for (const auto& [channel, key] : down_)
      if (isOurs(channel) == ours && text.size() < 100)
        text += test::keyName({static_cast<std::uint8_t>(key)}) + " on channel " + std::to_string(channel + 1) + "  ";
    return text;
  }

 private:
  int struck_[2] = {0, 0};
  std::set<std::pair<int, int>> down_;
};

/// A transport that rolls, stands, leaps, or talks nonsense.
class Head final : public juce::AudioPlayHead {
 public:
  explicit Head(Random& random) : random_(random) {}
  juce::Optional<PositionInfo> getPosition() const override { return info_; }

  void before(int samples) {
    if (random_.oneIn(200)) quarters_ = static_cast<double>(random_.between(-8000, 400000)) / 100;
    if (random_.oneIn(300)) playing_ = !playing_;
    if (random_.oneIn(300)) tempo_ = static_cast<double>(random_.between(300, 30000)) / 100;
    if (random_.oneIn(400)) meter_ = {static_cast<int>(random_.between(1, 13)), 1 << random_.between(0, 4)};
    PositionInfo info;
    info.setTimeInSamples(std::llround(quarters_ * 24000));
    info.setIsPlaying(playing_);
    if (!random_.oneIn(50)) info.setPpqPosition(odd(quarters_));
    if (!random_.oneIn(50)) info.setBpm(odd(tempo_));
    if (!random_.oneIn(50)) info.setTimeSignature(random_.oneIn(100) ? TimeSignature{0, 7} : meter_);
    const double bar = 4.0 * meter_.numerator / meter_.denominator;
    if (!random_.oneIn(20)) info.setPpqPositionOfLastBarStart(odd(std::floor(quarters_ / bar) * bar));
    if (!random_.oneIn(20)) info.setBarCount(static_cast<juce::int64>(std::floor(quarters_ / bar)));
    info_ = random_.oneIn(30) ? juce::nullopt : juce::makeOptional(info);
    if (playing_) quarters_ += samples / 48000.0 * tempo_ / 60;
  }
  void stop() {
    PositionInfo info;
    info.setTimeInSamples(0);
    info.setPpqPosition(0);
    info.setBpm(120);
    info.setTimeSignature(TimeSignature{4, 4});
    info.setIsPlaying(false);
    info_ = info;
  }

 private:
  double odd(double value) {
    if (!random_.oneIn(150)) return value;
    static const std::vector<double> values{
        std::nan(""), std::numeric_limits<double>::infinity(), -1e300, 1e18, -1.0, 0.0, 1e-300, 5e9};
    return random_.oneOf(values);
  }
  Random& random_;
  juce::Optional<PositionInfo> info_;
  double quarters_ = 0, tempo_ = 120;
  TimeSignature meter_{4, 4};
  bool playing_ = true;
};

void addRubbish(juce::MidiBuffer& midi, Random& random, int samples) {
  static const std::vector<int> kinds{0x90, 0x90, 0x90, 0x90, 0x80, 0x80, 0x80, 0xB0, 0xC0, 0xD0, 0xE0, 0xA0};
  for (auto n = random.oneIn(40) ? random.between(20, 200) : random.between(1, 4); n > 0; --n) {
    const auto at = static_cast<int>(random.between(0, std::max(0, samples - 1)));
    const auto byte = [&] { return static_cast<juce::uint8>(random.between(0, 127)); };
    if (random.oneIn(100)) {
      juce::uint8 bytes[24] = {0xF0};
      const auto length = static_cast<int>(random.between(1, 24));
      for (int i = 1; i < length; ++i) bytes[i] = byte();
      bytes[length - 1] = random.oneIn(2) ? 0xF7 : byte();
      midi.addEvent(bytes, length, at);
      continue;
    }
    const auto kind = random.oneOf(kinds);
    const juce::uint8 key =
        kind <= 0x90 && !random.oneIn(4) ? static_cast<juce::uint8>(random.between(40, 80)) : byte();
    const juce::uint8 bytes[3] = {static_cast<juce::uint8>(kind | random.oneOf(channelsIn)), key, byte()};
    midi.addEvent(bytes, kind == 0xC0 || kind == 0xD0 ? 2 : 3, at);
  }
}

struct Storm {
  juce::AudioProcessor& plugin;
  Setter set;
  bool mayPrepare;  // an LV2 host makes a new instance for that, and ends what the old one played itself
};

void setAtRandom(const Storm& storm, Random& random) {
  const auto& row = random.oneOf(parameterTable());
  if (row.which == ParameterId::outputChannels) return;
  storm.set(row.which, row.low + static_cast<double>(random.between(0, 1000)) / 1000 * (row.high - row.low));
}

void loadAtRandom(const Storm& storm, const std::vector<juce::MemoryBlock>& states, Random& random) {
  auto state = random.oneOf(states);
  if (random.oneIn(2)) {  // rubbish
    for (int i = 0; i < 20; ++i)
      state[static_cast<std::size_t>(random.between(0, static_cast<std::int64_t>(state.getSize()) - 1))] =
          static_cast<char>(random.between(0, 255));
    if (random.oneIn(2)) state.setSize(state.getSize() / 2);
  }
  storm.plugin.setStateInformation(state.getData(), static_cast<int>(state.getSize()));
  storm.set(ParameterId::outputChannels, 1);
}

void weather(const Storm& storm, int blocks, std::uint64_t seed) {
  INFO("seed " << seed);
  static const std::vector<int> sizes{0, 1, 2, 7, 16, 32, 64, 64, 128, 256, 511, 1024, 2048, 5000};
  Random random(seed);
  Head head(random);
  Listening listening;
  juce::MidiBuffer midi;
  auto& plugin = storm.plugin;
  plugin.setPlayHead(&head);
  plugin.setRateAndBufferSizeDetails(48000, 512);
  plugin.prepareToPlay(48000, 512);
  storm.set(ParameterId::outputChannels, 1);
  std::vector<juce::MemoryBlock> states(3);
  for (auto& state : states) {
    plugin.getStateInformation(state);
    for (int i = 0; i < 5; ++i) setAtRandom(storm, random);
  }
  juce::AudioBuffer<float> audio(0, 512);
  const auto play = [&](int samples, bool bypassed) {
    audio.setSize(0, samples, false, false, true);
    if (bypassed)
      plugin.processBlockBypassed(audio, midi);
    else
      plugin.processBlock(audio, midi);
    listening.hear(midi);
    midi.clear();
  };
  for (int i = 0; i < blocks; ++i) {
    // VST3 calls no plugin without audio for a block of no samples; what would be in it is lost.
    const int samples = random.oneOf(sizes);
    if (random.oneIn(3) && samples > 0) addRubbish(midi, random, samples);
    if (random.oneIn(40)) setAtRandom(storm, random);
    if (random.oneIn(20000)) loadAtRandom(storm, states, random);
    if (random.oneIn(5000)) plugin.reset();
    if (storm.mayPrepare && random.oneIn(5000)) {
      plugin.releaseResources();
      plugin.prepareToPlay(random.oneIn(2) ? 48000 : 96000, static_cast<int>(random.between(16, 2048)));
    }
    head.before(samples);
    play(samples, random.oneIn(30));
  }
  // It clears up: the host stops, every key is let go.
  storm.set(ParameterId::bypass, 0);
  storm.set(ParameterId::keep, 0);
  storm.set(ParameterId::time, 0);  // the host's: its stop counts
  head.stop();
  play(64, false);
  for (const int channel : channelsIn) {
    for (int key = 0; key < 128; ++key) midi.addEvent(juce::MidiMessage::noteOff(channel + 1, key), key / 2);
    play(64, false);
  }
  play(30000, false);
  CHECK(listening.stillSounding(true) == "");
  CHECK(listening.stillSounding(false) == "");
  CHECK(listening.struck(true) > blocks / 100);
  CHECK(listening.struck(false) > blocks / 100);
  plugin.setPlayHead(nullptr);
}

void weather(Format format, int blocks, std::uint64_t seed) {
  Bundle bundle(format);
  weather({bundle.plugin(), [&](ParameterId which, double plain) { bundle.set(which, plain); }, format == Format::vst3},
          blocks, seed);
}

}  // namespace

TEST_CASE("HOSTILE-1: fifty thousand blocks of rubbish by the processor itself, no note hangs") {
  Processor processor;
  weather({processor, setterOf(processor), true}, 50000 / rarer, 1);
}

TEST_CASE("HOSTILE-2: a million blocks of rubbish through the built VST3, no note hangs") {
  weather(Format::vst3, 1000000 / rarer, 4);
}

TEST_CASE("HOSTILE-3: a hundred thousand blocks of rubbish through the built LV2, no note hangs") {
  weather(Format::lv2, 100000 / rarer, 5);
}
