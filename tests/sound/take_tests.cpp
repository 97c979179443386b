// What a take promises on the audio thread's side: all that comes is there in order, what finds no room is counted and
// leaves a silence of its length, a stop is seen between two blocks.
#include <cstdio>
#include <string>
#include <utility>
#include <vector>

#include "plugin/ring.h"
#include "plugin/sound/take.h"
#include "plugin/sound/take_channels.h"
#include "tests/catch.h"
#include "tests/guard/audio_thread.h"

using namespace seguente;

namespace {

/// One block whose samples count on.
void block(Take& take, std::int64_t frames, float& next, const EngineTime& time = {}) {
  take.begin(time, frames);
  std::vector<float> l(static_cast<std::size_t>(frames));
  for (float& v : l) v = next++;
  take.sounded(l.data(), l.data(), frames);
  take.end();
}

}  // namespace

TEST_CASE("A ring gives back in order what it took, round its end, and refuses what does not fit as a whole") {
  Ring<int> ring;
  ring.prepare(7);
  int in = 0, out = 0;
  for (int i = 0; i < 100; ++i) {
    const std::array three{in, in + 1, in + 2};
    REQUIRE(ring.push(three));
    in += 3;
    std::array<int, 2> got{};
    while (const auto n = ring.pop(got))
      for (std::size_t k = 0; k < n; ++k) CHECK(got[k] == out++);
  }
  CHECK(out == in);
  CHECK(ring.push(std::array{1, 2, 3, 4, 5, 6}));
  CHECK_FALSE(ring.push(std::array{7, 8}));
  CHECK(ring.push(7));
  CHECK_FALSE(ring.push(8));
}

TEST_CASE("Nothing is kept before a take begins and after it ends") {
  Take take;
  float next = 0;
  block(take, 64, next);
  CHECK(take.rests());
  take.start();
  CHECK_FALSE(take.rests());
  block(take, 64, next);
  take.stop();
  block(take, 64, next);
  CHECK(take.rests());
  std::vector<float> got(1000);
  REQUIRE(take.takeSound(got) == 128);
  CHECK(got[0] == 64);
  CHECK(got[127] == 127);
}

TEST_CASE("A stop within a block is seen at its end") {
  Take take;
  take.start();
  take.begin({}, 64);
  take.stop();
  CHECK_FALSE(take.rests());
  take.end();
  CHECK(take.rests());
}

TEST_CASE("Sound that finds no room is counted, and its place and length are told before the sound that follows it") {
  Take take;
  take.prepare(8000);
  take.start();
  float next = 0;
  for (int i = 0; i < 40; ++i) block(take, 1000, next);  // four seconds fit
  CHECK(take.lostFrames() > 7000);
  CHECK(take.lostFrames() < 9000);
  std::vector<float> got(80000);
  const auto before = take.takeSound(got) / 2;
  CHECK(before + take.lostFrames() == 40000);
  block(take, 1000, next);
  REQUIRE(take.takeSound(got) == 2000);
  CHECK(got[0] == 40000);
  TakenGap gap;
  REQUIRE(take.takeGap(gap));
  CHECK(gap.before == before);
  CHECK(gap.frames == static_cast<std::int64_t>(take.lostFrames()));
  CHECK_FALSE(take.takeGap(gap));
}

TEST_CASE("Messages keep their frame and who played them; clocks have no place, long messages are counted") {
  Take take;
  take.start();
  float next = 0;
  block(take, 100, next);
  take.begin({}, 100);
  take.performed(7, std::array<std::uint8_t, 3>{0x90, 60, 80});
  take.performed(8, std::array<std::uint8_t, 1>{0xF8});
  take.performed(9, std::array<std::uint8_t, 5>{0xF0, 1, 2, 3, 0xF7});
  take.arranged({.offset = 20, .bytes = {0x90, 48, 60}, .role = Role::bass, .part = 2, .program = 32, .ours = true});
  take.end();
  std::vector<TakenEvent> events;
  for (TakenEvent e; take.takeEvent(e);)
    if (e.from != TakenFrom::time) events.push_back(e);
  REQUIRE(events.size() == 2);
  CHECK(events[0].frame == 107);
  CHECK(events[0].from == TakenFrom::performance);
  CHECK(events[1].frame == 120);
  CHECK(events[1].played.program == 32);
  CHECK(take.lostMessages() == 1);
}

TEST_CASE("Where the music stands is told when it changes and now and then, not in every block") {
  Take take;
  take.prepare(48000);
  take.start();
  float next = 0;
  EngineTime time{.tick = {}, .barStart = {}, .meter = {4, 4}, .quartersPerMinute = 120, .playing = true};
  const auto told = [&](int blocks) {
    for (int i = 0; i < blocks; ++i) {
      block(take, 480, next, time);
      time.tick.value += quarter.value / 50;  // 10 ms at 120
    }
    int count = 0;
    for (TakenEvent e; take.takeEvent(e);) count += e.from == TakenFrom::time;
    std::vector<float> all(100000);
    take.takeSound(all);
    return count;
  };
  CHECK(told(40) == 1);
  CHECK(told(200) == 4);
  time.quartersPerMinute = 60;
  CHECK(told(1) == 1);
  time.tick.value += quarter.value;  // a jump
  CHECK(told(1) == 1);
}

TEST_CASE(
    "In a recorded arrangement each part has its channel, its program once, and the pedal only if it asks for it") {
  TakeChannels channels;
  std::string file;
  const auto place = [&](std::array<std::uint8_t, 3> bytes, Role role = Role::tune, int part = 0, int program = 0,
                         bool pedal = false, bool ours = true) {
    const Played played{.bytes = bytes,
                        .role = role,
                        .part = static_cast<std::uint8_t>(part),
                        .program = static_cast<std::uint8_t>(program),
                        .pedal = pedal,
                        .ours = ours};
    channels.place(played, [&](const std::array<std::uint8_t, 3>& b) {
      char text[16];
      std::snprintf(text, sizeof text, "%02x %d %d, ", b[0], b[1], b[2]);
      file += text;
    });
  };
  const auto written = [&] { return std::exchange(file, ""); };
  place({0xB0, 64, 127});
  CHECK(written() == "");
  place({0x90, 48, 70}, Role::chords, 1, 24, true);
  CHECK(written() == "cd 24 0, bd 64 127, 9d 48 70, ");
  place({0x90, 36, 70}, Role::bass, 0, 32);
  CHECK(written() == "cc 32 0, 9c 36 70, ");
  place({0x90, 37, 90}, Role::percussion, 3);
  CHECK(written() == "99 37 90, ");
  place({0x90, 72, 80}, Role::tune, 0, 0, false, false);
  place({0xB0, 64, 127}, Role::tune, 0, 0, false, false);
  CHECK(written() == "90 72 80, b0 64 127, ");
  place({0x80, 48, 64});
  place({0x80, 37, 64});
  place({0x80, 72, 64}, Role::tune, 0, 0, false, false);
  CHECK(written() == "8d 48 64, 89 37 64, 80 72 64, ");
  place({0xB0, 64, 0});
  CHECK(written() == "bd 64 0, ");
  place({0x90, 38, 70}, Role::bass, 0, 32);
  CHECK(written() == "9c 38 70, ");
}

#ifndef SEGUENTE_SANITIZED
TEST_CASE("A take asks for no memory on the audio thread and takes no lock, full or not") {
  Take take;
  take.start();
  std::vector<float> l(512), r(512);
  guard::violations();
  for (int i = 0; i < 1000; ++i) {
    const guard::AudioThread here;
    take.begin({}, 512);
    for (int n = 0; n < 40; ++n) {
      take.performed(n, std::array<std::uint8_t, 3>{0x90, 60, 80});
      take.arranged({.offset = n, .bytes = {0x90, 48, 60}, .ours = true});
    }
    take.sounded(l.data(), r.data(), 512);
    take.end();
  }
  CHECK(guard::violations() == 0);
  CHECK(take.lostFrames() > 0);
  CHECK(take.lostMessages() > 0);
}
#endif
