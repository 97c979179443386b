// Each shipped figure comes back from its own playing: onset, line and degree of every step, in the rounds after the
// first, over the chord of the take and over another. The table: ./run bench notate.
#include "dsp/harmony.h"
#include "tests/catch.h"
#include "tests/notate/takes.h"

using namespace seguente;
using namespace seguente::test;

namespace {

notate::Wishes overC() {
  notate::Wishes wishes;
  wishes.chord = parseSymbol("C");
  return wishes;
}

/// Every idiom and density in which a figure can be felt: held chords are none.
template <class Visit>
void forEachFigure(Visit&& visit) {
  for (const auto& id : idiomIds()) {
    const Idiom& ours = idiom(id);
    if (ours.anyMeter) continue;
    for (const auto density : {Density::lean, Density::medium, Density::full})
      if (ours.at(density).written) visit(ours, density);
  }
}

void add(Agreement& to, const Agreement& what) {
  to.same += what.same;
  to.all += what.all;
}

}  // namespace

TEST_CASE("Each shipped figure, played as it is written, is read back: 95 of 100 steps of each", "[notate][shipped]") {
  int figures = 0;
  Agreement all, other;
  forEachFigure([&](const Idiom& ours, Density density) {
    INFO(ours.id << ", density " << static_cast<int>(density));
    const auto read = readBack(takeOf(playedBy(ours, density, "C3 E3 G3", 6), ours, 6), ours, density, overC());
    CHECK(read.fault.empty());
    CHECK(read.same.percent() >= 95);
    CHECK(read.figure.meter == ours.meter);
    add(all, read.same);
    add(other, read.other);
    ++figures;
  });
  CHECK(figures > 120);
  CHECK(all.percent() >= 99);
  CHECK(other.percent() >= 99);
}

TEST_CASE("Each shipped figure, played as hands land, is read back: 90 of 100 steps", "[notate][shipped]") {
  const Touch touch;
  Random random(2026);
  Agreement all;
  forEachFigure([&](const Idiom& ours, Density density) {
    INFO(ours.id << ", density " << static_cast<int>(density));
    const auto exact = takeOf(playedBy(ours, density, "C3 E3 G3", 6), ours, 6);
    Agreement one;
    for (int take = 0; take < 2; ++take) {
      const auto read = readBack(byHand(exact, density == Density::lean, touch, random), ours, density, overC());
      CHECK(read.fault.empty());
      add(one, read.same);
    }
    CHECK(one.percent() >= 70);  // two takes: a slip of the reading is in both of its rounds
    add(all, one);
  });
  CHECK(all.percent() >= 97);  // the bar is 90
}
