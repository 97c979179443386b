// A bar that is sounded from the page: every note ends, whatever comes between, and the block does not matter.
#include <thread>
#include <tuple>
#include <vector>

#include "plugin/bar_reader.h"
#include "tests/catch.h"

using namespace seguente;

namespace {

constexpr double rate = 48000;

ReadStroke stroke(double seconds, int key, bool on) {
  ReadStroke s;
  s.seconds = seconds;
  s.message.bytes = {static_cast<std::uint8_t>(on ? 0x91 : 0x81), static_cast<std::uint8_t>(key), 64};
  return s;
}

using Heard = std::vector<std::tuple<std::int64_t, int, bool>>;

void playInto(Heard& heard, BarReader& reader, std::int64_t from, std::int64_t length) {
  reader.play(length, rate,
              [&](const Played& m) { heard.emplace_back(from + m.offset, m.bytes[1], (m.bytes[0] & 0xF0) == 0x90); });
}

}  // namespace

TEST_CASE("A bar that is read aloud sounds on its own samples in blocks of any size") {
  const std::vector<ReadStroke> bar = {stroke(0, 48, true), stroke(0.5, 48, false), stroke(0.5, 55, true),
                                       stroke(1, 55, false)};
  const Heard expected = {{0, 48, true}, {24000, 48, false}, {24000, 55, true}, {48000, 55, false}};
  for (const std::int64_t block : {1, 64, 511, 8192, 100000}) {
    BarReader reader;
    reader.read(bar);
    Heard heard;
    for (std::int64_t at = 0; at <= 48000; at += block) playInto(heard, reader, at, block);
    CHECK(heard == expected);
    CHECK_FALSE(reader.position());
  }
}

TEST_CASE("A reading that another takes the place of ends its notes first") {
  BarReader reader;
  Heard heard;
  reader.read(std::vector{stroke(0, 48, true), stroke(0, 52, true), stroke(9, 48, false), stroke(9, 52, false)});
  playInto(heard, reader, 0, 64);
  CHECK(reader.position());
  reader.read(std::vector{stroke(0, 60, true), stroke(1, 60, false)});
  playInto(heard, reader, 64, 64);
  reader.read({});
  playInto(heard, reader, 128, 64);
  playInto(heard, reader, 192, 96000);
  const Heard expected = {{0, 48, true},   {0, 52, true},  {64, 48, false},
                          {64, 52, false}, {64, 60, true}, {128, 60, false}};
  CHECK(heard == expected);
  CHECK_FALSE(reader.position());
}

TEST_CASE("Readings handed over while blocks run leave no note on") {
  BarReader reader;
  std::atomic<bool> done{false};
  std::thread screen([&] {
    for (int i = 0; i < 20000; ++i)
      reader.read(std::vector{stroke(0, 40 + i % 40, true), stroke(0.001, 40 + i % 40, false)});
    reader.read({});
    done = true;
  });
  int down[128] = {};
  bool twice = false;
  const auto block = [&] {
    reader.play(32, rate, [&](const Played& m) {
      const bool on = (m.bytes[0] & 0xF0) == 0x90;
      down[m.bytes[1]] += on ? 1 : -1;
      twice = twice || down[m.bytes[1]] > 1 || down[m.bytes[1]] < 0;
    });
  };
  while (!done) block();
  screen.join();
  block();
  block();
  CHECK_FALSE(twice);
  for (const int d : down) CHECK(d == 0);
}
