// Fingers of the left hand. What is expected is what first piano books print: common practice, no source beside.
#include "plugin/editor/fingering.h"
#include "tests/catch.h"

using namespace seguente;
using seguente::screen::Grip;

namespace {

std::vector<std::vector<int>> fingersOf(std::initializer_list<std::initializer_list<int>> chords, int span = 12) {
  std::vector<Grip> grips;
  Ticks at{};
  for (const auto& chord : chords) {
    Grip grip{at, {}, {}};
    for (const int key : chord) grip.keys.push_back({static_cast<std::uint8_t>(key)});
    grips.push_back(grip);
    at = at + quarter;
  }
  screen::finger(grips, span);
  std::vector<std::vector<int>> all;
  for (const auto& grip : grips) all.push_back(grip.fingers);
  return all;
}

}  // namespace

TEST_CASE("A triad in root position is 5 3 1, an octave 5 1") {
  CHECK(fingersOf({{48, 52, 55}}) == std::vector<std::vector<int>>{{5, 3, 1}});
  CHECK(fingersOf({{48, 60}}) == std::vector<std::vector<int>>{{5, 1}});
}

TEST_CASE("Five neighbouring keys take five fingers in their order") {
  CHECK(fingersOf({{48}, {50}, {52}, {53}, {55}, {53}, {52}, {50}}) ==
        std::vector<std::vector<int>>{{5}, {4}, {3}, {2}, {1}, {2}, {3}, {4}});
}

TEST_CASE("A broken chord keeps its place: low, high, middle, high") {
  CHECK(fingersOf({{48}, {55}, {52}, {55}}) == std::vector<std::vector<int>>{{5}, {1}, {3}, {1}});
}

TEST_CASE("What one hand cannot reach gets no fingers") {
  CHECK(fingersOf({{36, 52, 55}}) == std::vector<std::vector<int>>{{}});
}

TEST_CASE("A comfortable distance costs nothing, a stretch its semitones") {
  CHECK(screen::spanCost(1, 5, 8) == 0);
  CHECK(screen::spanCost(1, 5, 12) > screen::spanCost(1, 5, 11));
  CHECK(screen::spanCost(2, 3, 4) == screen::spanCost(3, 2, -4));
}
