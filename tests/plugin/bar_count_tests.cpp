// Which bar it is, by arithmetic on paper: quarters are counted, bars too.
#include "plugin/bar_count.h"
#include "tests/catch.h"

using namespace seguente;

namespace {
constexpr Meter four{4, 4}, three{3, 4}, five{5, 4};
Ticks q(std::int64_t quarters) { return quarter * quarters; }
}  // namespace

TEST_CASE("The session's first bar is 1, the one before it 0", "[bar_count]") {
  BarCount bars;
  CHECK(bars.at(q(0)) == 1);
  bars.hear(q(8), four);
  CHECK(bars.at(q(8)) == 3);
  CHECK(bars.at(q(0)) == 1);
  CHECK(bars.at(q(-4)) == 0);
  CHECK(bars.at(q(400)) == 101);
}

TEST_CASE("A pickup comes before bar 1", "[bar_count]") {
  BarCount bars;
  bars.hear(q(-3), four);  // one beat from the session's start to the first whole bar
  CHECK(bars.at(q(-3)) == 0);
  CHECK(bars.at(q(1)) == 1);
}

TEST_CASE("Meters that change are counted each with its own length", "[bar_count]") {
  BarCount bars;
  bars.hear(q(0), four);
  bars.hear(q(8), three);  // bar 3
  bars.hear(q(14), five);  // bar 5
  CHECK(bars.at(q(4)) == 2);
  CHECK(bars.at(q(8)) == 3);
  CHECK(bars.at(q(11)) == 4);
  CHECK(bars.at(q(14)) == 5);
  CHECK(bars.at(q(24)) == 7);
}

TEST_CASE("A bar that was cut short is a bar", "[bar_count]") {
  BarCount bars;
  bars.hear(q(0), four);
  bars.hear(q(6), three);
  CHECK(bars.at(q(6)) == 3);
}

TEST_CASE("A change of meter that is found later puts right what was counted behind it", "[bar_count]") {
  BarCount bars;
  bars.hear(q(0), four);
  bars.hear(q(23), three);  // a jump into the unknown: six bars of four, as far as is known
  CHECK(bars.at(q(23)) == 7);
  bars.hear(q(8), three);  // played through
  CHECK(bars.at(q(23)) == 8);
  CHECK(bars.at(q(26)) == 9);
}

TEST_CASE("A change of meter that was taken out of the session is forgotten where no line is seen any more",
          "[bar_count]") {
  BarCount bars;
  bars.hear(q(0), four);
  bars.hear(q(8), three);
  for (int line = 0; line <= 24; line += 4) bars.hear(q(line), four);
  CHECK(bars.at(q(24)) == 7);
}

TEST_CASE("Before what is known bars are counted back", "[bar_count]") {
  BarCount bars;
  bars.hear(q(20), four, 9);
  CHECK(bars.at(q(20)) == 10);
  bars.hear(q(8), three);
  CHECK(bars.at(q(8)) == 6);
  CHECK(bars.at(q(17)) == 9);
  CHECK(bars.at(q(20)) == 10);
}

TEST_CASE("A host that counts is believed", "[bar_count]") {
  BarCount bars;
  bars.hear(q(0), four, 16);
  CHECK(bars.at(q(4)) == 18);
  bars.hear(q(100), three, 3);
  CHECK(bars.at(q(103)) == 5);
}

TEST_CASE("More changes of meter than anybody remembers are still counted on from the last", "[bar_count]") {
  BarCount bars;
  std::int64_t line = 0, number = 1;
  for (int i = 0; i < 1000; ++i) {
    const Meter meter{static_cast<std::uint8_t>(2 + i % 5), 4};
    bars.hear(q(line), meter);
    REQUIRE(bars.at(q(line)) == number);
    line += meter.numerator * 2;
    number += 2;
  }
  bars.hear({}, Meter{0, 0});  // nonsense
  CHECK(bars.at(q(line)) == number);
}
