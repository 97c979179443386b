// How hard a lean figure is for the left hand: the measure of dsp/idiom_effort.h against figures counted by hand.
#include <cmath>

#include "dsp/idiom_effort.h"
#include "tests/catch.h"
#include "tests/support/score.h"

using namespace seguente;
using test::idiom;

TEST_CASE("An Alberti bass lies under one hand, eight strokes a bar; held chords ask least of all", "[idiom_file]") {
  const auto alberti = effortOf(idiom("alberti-bass"));
  CHECK(alberti.leap == 0);
  CHECK(alberti.span == 0);  // one note at a time
  CHECK(alberti.strokesASecond == Approx(2 * std::sqrt(96.0 * 152.0) / 60));
  CHECK(alberti.grade == 3);
  const auto held = effortOf(idiom("held-chords"));
  CHECK(held.leap == 0);
  CHECK(held.span == 7);  // C3 E3 G3
  CHECK(held.grade == 1);
}

TEST_CASE("Wide arpeggios are harder than a waltz, and a waltz than held chords", "[idiom_file]") {
  CHECK(effortOf(idiom("nocturne")).grade > effortOf(idiom("held-chords")).grade);
  CHECK(effortOf(idiom("nocturne")).leap > effortOf(idiom("waltz")).leap);
  CHECK(effortOf(idiom("waltz")).grade >= effortOf(idiom("held-chords")).grade);
}

TEST_CASE("No idiom's lean figure spans more than an octave", "[idiom_file]") {
  for (const auto& id : test::idiomIds()) {
    INFO(id);
    CHECK(effortOf(idiom(id)).span <= 12);
    CHECK(effortOf(idiom(id)).grade >= 1);
    CHECK(effortOf(idiom(id)).grade <= 5);
  }
}
