// What the written sound promises: its length, its loudness, beats that can be heard, the same bytes each time.
#include <algorithm>
#include <cmath>
#include <cstdint>
#include <cstdlib>
#include <string>
#include <utility>
#include <vector>

#include "plugin/commandline/command_line.h"
#include "plugin/commandline/performance.h"
#include "tests/catch.h"
#include "tests/commandline/midi_builder.h"
#include "tests/support/score.h"

using namespace seguente;
using namespace seguente::test;

namespace {

constexpr int rate = 48000;

/// A RIFF file of 16-bit stereo, read byte by byte (Multimedia Programming Interface 1.0, 1991).
struct Wav {
  std::uint32_t channels = 0, rate = 0, bits = 0;
  std::vector<int> left, right;
  double seconds() const { return static_cast<double>(left.size()) / rate; }
};

std::uint32_t numberAt(const Bytes& b, std::size_t at, int bytes) {
  std::uint32_t n = 0;
  for (int i = bytes - 1; i >= 0; --i) n = n << 8 | b[at + static_cast<std::size_t>(i)];
  return n;
}

Wav read(const Bytes& b) {
  REQUIRE(b.size() > 44);
  CHECK(std::string(b.begin(), b.begin() + 4) == "RIFF");
  CHECK(numberAt(b, 4, 4) == b.size() - 8);
  CHECK(std::string(b.begin() + 8, b.begin() + 16) == "WAVEfmt ");
  CHECK(numberAt(b, 20, 2) == 1);  // PCM
  CHECK(std::string(b.begin() + 36, b.begin() + 40) == "data");
  CHECK(numberAt(b, 40, 4) == b.size() - 44);
  Wav w;
  w.channels = numberAt(b, 22, 2);
  w.rate = numberAt(b, 24, 4);
  w.bits = numberAt(b, 34, 2);
  for (std::size_t i = 44; i + 3 < b.size(); i += 4) {
    w.left.push_back(static_cast<std::int16_t>(numberAt(b, i, 2)));
    w.right.push_back(static_cast<std::int16_t>(numberAt(b, i + 2, 2)));
  }
  return w;
}

struct Sounded {
  Bytes bytes;
  double tuneSeconds = 0;  // until the file's last event
};

/// `seguente render INPUT --idiom IDIOM --wav ...`, as a user says it, with the soundfont that ./run deps installs.
Sounded sound(const std::string& input, const std::string& idiom, int pickup) {
  const Scratch scratch;
  ::setenv("SEGUENTE_PATTERNS", SEGUENTE_PATTERNS, 1);
  std::vector<std::string> words = {"seguente", "render", input, "--idiom", idiom};
  for (const auto& [option, value] : {std::pair<std::string, std::string>{"--pickup", std::to_string(pickup)},
                                      {"-o", scratch.path("out.mid")},
                                      {"--wav", scratch.path("out.wav")},
                                      {"--soundfont", "/usr/share/sounds/sf2/TimGM6mb.sf2"}}) {
    words.push_back(option);
    words.push_back(value);
  }
  std::vector<char*> arguments;
  for (std::string& w : words) arguments.push_back(w.data());
  REQUIRE(runCommandLine(static_cast<int>(arguments.size()), arguments.data()) == 0);
  HearingOptions options;
  options.input = input;
  const auto performance = prepare(options, nullptr);
  REQUIRE(performance.good());
  const auto last = performance.value->time.sampleOf(performance.value->lastTick);
  return {Scratch::read(scratch.path("out.wav")), static_cast<double>(last.value) / rate};
}

double loudness(const Wav& w, double from, double to) {
  const auto first = static_cast<std::size_t>(std::max(0.0, from) * rate);
  const auto last = std::min(w.left.size(), static_cast<std::size_t>(to * rate));
  std::int64_t sum = 0;
  for (std::size_t i = first; i < last; ++i)
    sum += std::int64_t{w.left[i]} * w.left[i] + std::int64_t{w.right[i]} * w.right[i];
  return std::sqrt(static_cast<double>(sum) / static_cast<double>(2 * std::max<std::size_t>(1, last - first)));
}

/// Four bars of 3/4 at 120: C, F, G7, C, a bar each, exactly on the beat and without a tune.
Bytes fourBarsOfThree() {
  TrackBuilder track;
  track.event(0, {0xFF, 0x51, 0x03, 0x07, 0xA1, 0x20}).event(0, {0xFF, 0x58, 0x04, 0x03, 0x02, 0x18, 0x08});
  const std::vector<std::vector<std::uint8_t>> chords = {{48, 52, 55}, {48, 53, 57}, {47, 53, 55}, {48, 52, 55}};
  for (std::uint32_t bar = 0; bar < 4; ++bar) {
    for (const auto key : chords[bar]) track.event(bar * 1440, {0x90, key, 70});
    for (const auto key : chords[bar]) track.event(bar * 1440 + 1430, {0x80, key, 64});
  }
  return midiFile(0, 480, {track.chunk()});
}

/// Thirty-six keys at once over a chord, as hard as can be: far more than 16 bits hold.
Bytes allKeysAtOnce() {
  TrackBuilder track;
  track.event(0, {0xFF, 0x58, 0x04, 0x03, 0x02, 0x18, 0x08});
  track.event(0, {0x90, 48, 127}).event(0, {52, 127}).event(0, {55, 127});
  for (std::uint8_t key = 60; key < 96; ++key) track.event(0, {0x90, key, 127});
  for (std::uint8_t key = 48; key < 96; ++key) track.event(960, {0x80, key, 64});
  return midiFile(0, 480, {track.chunk()});
}

/// A demo whose tune plays on unheard: its channel's volume (CC 7) is down from the start.
Bytes withoutItsTune(const std::string& name) {
  Bytes midi = Scratch::read(std::string(SEGUENTE_PRESETS) + "/demo/" + name + ".mid");
  const Bytes quiet = {0x00, 0xB0, 7, 0};
  midi.insert(midi.begin() + 22, quiet.begin(), quiet.end());  // behind the first track's length, which grows by it
  const auto length = (midi[18] << 24 | midi[19] << 16 | midi[20] << 8 | midi[21]) + static_cast<int>(quiet.size());
  for (int i = 0; i < 4; ++i) midi[static_cast<std::size_t>(21 - i)] = static_cast<std::uint8_t>(length >> (8 * i));
  return midi;
}

int peakOf(const Wav& w) {
  int peak = 0;
  for (const auto* side : {&w.left, &w.right})
    for (const int sample : *side) peak = std::max(peak, std::abs(sample));
  return peak;
}

}  // namespace

TEST_CASE("a demo sounds: stereo, 48 kHz, as long as the tune and its echo, neither silent nor clipped",
          "[commandline][wav]") {
  struct Demo {
    const char* tune;
    const char* idiom;
    int pickup;
  };
  for (const auto& demo : {Demo{"clementine", "waltz", 1}, Demo{"twelve-bars", "blues-shuffle", 0}}) {
    INFO(demo.tune);
    const auto sounded = sound(std::string(SEGUENTE_PRESETS) + "/demo/" + demo.tune + ".mid", demo.idiom, demo.pickup);
    const Wav w = read(sounded.bytes);
    CHECK(w.channels == 2);
    CHECK(w.rate == 48000);
    CHECK(w.bits == 16);
    CHECK(w.seconds() >= sounded.tuneSeconds + 3);       // three seconds for the room to die away
    CHECK(w.seconds() < sounded.tuneSeconds + 3 + 2.5);  // and no more than the bar that is finished
    CHECK(peakOf(w) < 32767);
    CHECK(peakOf(w) > 32767 / 8);  // it uses the room that it has: -18 dB at least
    CHECK(loudness(w, 1, sounded.tuneSeconds) > 32767 / 100.0);
    CHECK(loudness(w, w.seconds() - 0.1, w.seconds()) < loudness(w, 1, sounded.tuneSeconds) / 30);  // it has died away
  }
}

TEST_CASE("what is too loud for the file is made softer as a whole, and never clipped", "[commandline][wav]") {
  const Scratch scratch;
  const Wav w = read(sound(scratch.write("loud.mid", allKeysAtOnce()), "waltz", 0).bytes);
  CHECK(peakOf(w) == 32112);  // 0.98 of full scale, once
  CHECK(std::count_if(w.left.begin(), w.left.end(), [](int s) { return std::abs(s) > 32100; }) < 4);
}

TEST_CASE("every beat of a waltz can be heard: the sound swells where it is struck", "[commandline][wav]") {
  const Scratch scratch;
  const auto sounded = sound(scratch.write("three.mid", fourBarsOfThree()), "waltz", 0);
  const Wav w = read(sounded.bytes);
  for (int beat = 1; beat < 12; ++beat) {
    INFO("beat " << beat % 3 + 1 << " of bar " << beat / 3 + 1);
    const double at = beat * 0.5;
    CHECK(loudness(w, at + 0.005, at + 0.065) > 1.2 * loudness(w, at - 0.065, at - 0.005));
  }
  // The ear takes the low note for the first of three: nothing is louder in the bar.
  CHECK(loudness(w, 1.5, 2) > loudness(w, 2.5, 3));
}

TEST_CASE("the same file sounds the same, byte for byte", "[commandline][wav]") {
  const Scratch scratch;
  const auto path = scratch.write("three.mid", fourBarsOfThree());
  const bool same = sound(path, "waltz", 0).bytes == sound(path, "waltz", 0).bytes;
  CHECK(same);
}

TEST_CASE("a player may go from idiom to idiom: they are as loud as each other, within 3 dB", "[commandline][wav]") {
  // The measure that patterns/README.md states. Root mean square says little of how loud a low note seems; common
  // practice, no source, for taking it all the same.
  const Scratch scratch;
  const auto inFour = scratch.write("four.mid", withoutItsTune("long-long-ago"));
  const auto inThree = scratch.write("three.mid", withoutItsTune("clementine"));
  double softest = 0, loudest = -100;
  for (const std::string& idiomId : idiomIds()) {
    const Idiom& played = idiom(idiomId);
    const bool three = !played.anyMeter && played.meter == Meter{3, 4};
    if (!three && !played.anyMeter && !(played.meter == Meter{4, 4})) continue;
    const auto sounded = sound(three ? inThree : inFour, idiomId, three ? 1 : 0);
    const double decibels = 20 * std::log10(loudness(read(sounded.bytes), 0, sounded.tuneSeconds) / 32768);
    INFO(idiomId << " " << decibels);
    CHECK(decibels < -25);  // under the tune, which has some -30 with its rests
    CHECK(decibels > -36);
    softest = std::min(softest, decibels);
    loudest = std::max(loudest, decibels);
  }
  INFO(softest << " to " << loudest);
  CHECK(loudest - softest <= 3);
}
