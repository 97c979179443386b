// What listens to the tune at full density: rows that answer in its rests, and phrases that are felt. Call and answer
// between singer and players: common practice, no source.
#include <algorithm>
#include <set>

#include "tests/catch.h"
#include "tests/support/music.h"

using namespace seguente;
using namespace seguente::test;

namespace {

const Step* stepOf(const Idiom& ours, Density density, const Event& e) {
  const auto& figures = ours.at(density);
  for (const auto ref : {figures.statement, figures.answer, figures.lift}) {
    if (!ref.there() || ours.figure(ref).kind != e.reason.figure) continue;
    for (const Step& step : ours.stepsOf(ours.figure(ref)))
      if (step.row == e.reason.row && step.part == e.reason.part) return &step;
  }
  return nullptr;
}

bool answers(const Idiom& ours, const Event& e) {
  const Step* const step = stepOf(ours, Density::full, e);
  return step != nullptr && step->condition == Condition::tuneRests;
}

std::vector<std::string> answeringIdioms() {
  std::vector<std::string> out;
  for (const auto& id : idiomIds())
    if (std::any_of(idiom(id).steps.begin(), idiom(id).steps.end(),
                    [](const Step& s) { return s.condition == Condition::tuneRests; }))
      out.push_back(id);
  return out;
}

Score over(const Idiom& ours, int bars) {
  Settings settings;
  settings.density = Density::full;
  Score score(48000, ours.meter, 100);
  score.with(settings).with(ours).chord("C3 E3 G3", {}, ours.meter.bar() * bars);
  return score;
}

/// Eighths from a bar line to another.
void moving(Score& score, Ticks from, Ticks to) {
  const char* const names[] = {"C5", "D5", "E5", "D5"};
  int n = 0;
  for (Ticks at = from; at < to; at = at + Ticks{quarter.value / 2}, ++n)
    score.tune(names[n % 4], at, at + Ticks{quarter.value * 9 / 20});
}

std::set<std::int64_t> barsOfLift(const Idiom& ours, const Rendering& r) {
  std::set<std::int64_t> bars;
  for (const auto& e : strikes(r))
    if (e.reason.figure == FigureKind::lift) bars.insert(e.reason.dueTick.value / ours.meter.bar().value);
  return bars;
}

}  // namespace

TEST_CASE("Blues, gospel, swing and country answer in the tune's rests, at full density only", "[shelf]") {
  const auto ids = answeringIdioms();
  for (const auto* id : {"blues-shuffle", "slow-blues", "gospel-slow", "gospel-bounce", "swing-two-feel",
                         "country-two-beat", "country-waltz", "stride", "boogie-woogie"})
    CHECK(std::count(ids.begin(), ids.end(), id) == 1);
  for (const auto& id : ids) {
    const Idiom& ours = idiom(id);
    for (const auto density : {Density::lean, Density::medium})
      for (const auto& figure : ours.figures)
        for (const auto ref : {ours.at(density).statement, ours.at(density).answer, ours.at(density).lift})
          if (ref.there() && &ours.figure(ref) == &figure)
            for (const Step& step : ours.stepsOf(figure)) CHECK(step.condition != Condition::tuneRests);
  }
}

TEST_CASE("While the tune moves nobody answers; in its rest every answer is played", "[shelf]") {
  for (const auto& id : answeringIdioms()) {
    INFO(id);
    const Idiom& ours = idiom(id);
    const Ticks bar = ours.meter.bar();
    auto score = over(ours, 12);
    moving(score, {}, bar * 6);
    std::set<std::pair<FigureKind, int>> wanted, came;
    for (const auto ref : {ours.at(Density::full).statement, ours.at(Density::full).answer})
      if (ref.there())
        for (const Step& step : ours.stepsOf(ours.figure(ref)))
          if (step.condition == Condition::tuneRests) wanted.insert({ours.figure(ref).kind, step.row});
    for (const auto& e : strikes(render(score, bar * 12))) {
      if (!answers(ours, e)) continue;
      CHECK(e.reason.dueTick >= bar * 6);
      came.insert({e.reason.figure, e.reason.row});
    }
    CHECK(came == wanted);
  }
}

TEST_CASE("A note that the tune holds is answered under it, and a tune that never came is not answered", "[shelf]") {
  for (const auto& id : answeringIdioms()) {
    INFO(id);
    const Idiom& ours = idiom(id);
    const Ticks bar = ours.meter.bar();
    auto held = over(ours, 6);
    held.tune("G4", {}, bar * 6);
    bool any = false;
    for (const auto& e : strikes(render(held, bar * 6)))
      if (answers(ours, e)) {
        any = true;
        CHECK(e.note().value < key("G4").value);
      }
    CHECK(any);
    for (const auto& e : strikes(render(over(ours, 6), bar * 6))) CHECK(!answers(ours, e));
  }
}

TEST_CASE("Phrases are counted from where the tune comes in, not from the vamp, and an upbeat is no first bar",
          "[shelf]") {
  const Idiom& ours = idiom("march");
  const Ticks bar = ours.meter.bar();
  for (const bool upbeat : {false, true}) {
    Score score(48000, ours.meter, 110);
    score.with(ours).chord("C3 E3 G3", {}, bar * 21);
    const Ticks start = bar * 3;
    if (upbeat) score.tune("G4", start - Ticks{quarter.value / 2}, start - Ticks{quarter.value / 20});
    moving(score, start, bar * 21);
    CHECK(barsOfLift(ours, render(score, bar * 21)) == std::set<std::int64_t>{10, 18});
  }
}

TEST_CASE("Where long notes and cadences say that phrases end elsewhere, the lift follows them", "[shelf]") {
  const Idiom& ours = idiom("march");
  const Ticks bar = ours.meter.bar(), gap{quarter.value / 20};
  Score score(48000, ours.meter, 110);
  score.with(ours);
  // Two bars before the first phrase, which then ends in bars 2, 10, 18 (from 1): V-I, the last note long.
  for (int i = 0; i < 28; ++i) {
    const bool end = i % 8 == 1;
    score.chord(i % 8 == 0 ? "G3 B3 D4" : "C3 E3 G3", bar * i, bar * (i + 1) - gap);
    if (end)
      score.tune("C5", bar * i, bar * i + Ticks{bar.value * 3 / 4});
    else
      moving(score, bar * i, bar * (i + 1));
  }
  const auto lifts = barsOfLift(ours, render(score, bar * 28));
  CHECK(!lifts.contains(15));
  CHECK(!lifts.contains(23));
  CHECK(lifts.contains(17));
  CHECK(lifts.contains(25));
}

TEST_CASE("Long notes at the end of each line of four leave the eight where they are", "[shelf]") {
  const Idiom& ours = idiom("march");
  const Ticks bar = ours.meter.bar();
  Score score(48000, ours.meter, 110);
  score.with(ours).chord("C3 E3 G3", {}, bar * 33);
  for (int i = 0; i < 33; ++i)
    if (i % 4 == 3)
      score.tune("C5", bar * i, bar * i + Ticks{bar.value * 3 / 4});
    else
      moving(score, bar * i, bar * (i + 1));
  CHECK(barsOfLift(ours, render(score, bar * 33)) == std::set<std::int64_t>{7, 15, 23, 31});
}
