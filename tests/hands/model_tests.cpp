// The small net and its school: what the table is, that it can be made again, and that the judge is calibrated. How
// well hands are told apart group by group is measured by ./run bench hands; here are floors that catch a fall.
#include <cmath>
#include <cstdio>
#include <fstream>
#include <sstream>

#include "tests/catch.h"
#include "tests/performances/rules.h"
#include "tests/performances/tally.h"
#include "tests/train/hand_school.h"

using namespace seguente;
using namespace seguente::test;

namespace {

std::string tableInTree() {
  std::ifstream file(std::string(SEGUENTE_TESTS) + "/../dsp/hand_weights.inc");
  std::stringstream text;
  text << file.rdbuf();
  return text.str();
}

SchoolPlan smallPlan() {
  SchoolPlan plan;
  plan.performances = {12, 12};
  plan.epochs = {1, 1};
  return plan;
}

HandTally heard(Group group, int performances, ClockKind clock = ClockKind::right) {
  HandTally tally;
  for (int i = 0; i < performances; ++i) {
    const auto played = performanceOf(group, Half::report, 7000000u + static_cast<std::uint64_t>(i));
    tally.add(played, listen(played, {}, {}, clock, false));
  }
  return tally;
}

}  // namespace

TEST_CASE("School twice over the same plan gives the same table, byte for byte; another seed another",
          "[hands][train]") {
  const auto quiet = [](const std::string&) {};
  const auto once = tableOf(goToSchool(smallPlan(), quiet), 1);
  CHECK(once == tableOf(goToSchool(smallPlan(), quiet), 1));
  auto other = smallPlan();
  other.seed = 2;
  CHECK(once != tableOf(goToSchool(other, quiet), 1));
}

// The table itself takes minutes (./run train hands); this says that nothing it is made from has changed since.
TEST_CASE("The table in the tree was made from today's recipe", "[hands][train]") {
  std::array<char, 32> recipe{};
  std::snprintf(recipe.data(), recipe.size(), "// recipe %016llx\n", static_cast<unsigned long long>(recipeOf({})));
  const auto table = tableInTree();
  INFO("run ./run train hands; today's is " << recipe.data());
  CHECK(table.find(recipe.data()) != std::string::npos);
}

TEST_CASE("The table in the tree is the net that is shipped", "[hands][train]") {
  const auto table = tableInTree();
  const auto at = table.find("recipe ");
  REQUIRE(at != std::string::npos);
  const auto recipe = std::stoull(table.substr(at + 7, 16), nullptr, 16);
  CHECK(tableOf(shippedHandNets(), recipe) == table);
}

TEST_CASE("The odds at the note-on are chances: of notes given nine in ten, some nine in ten are the right hand's",
          "[hands]") {
  HandTally all;
  for (const auto group : {Group::dipping, Group::close, Group::free})
    for (int i = 0; i < 60; ++i) {
      const auto played = performanceOf(group, Half::report, 8000000u + static_cast<std::uint64_t>(i));
      all.add(played, listen(played, {}, {}, ClockKind::right, false));
    }
  const auto share = [&](std::size_t low, std::size_t high) {
    int count = 0, right = 0;
    for (std::size_t b = low; b <= high; ++b) {
      count += all.sure[b];
      right += all.sureRight[b];
    }
    return static_cast<double>(right) / count;
  };
  CHECK(share(0, 0) < 0.04);
  CHECK(share(1, 3) < 0.45);
  CHECK(share(6, 8) > 0.6);
  CHECK(share(9, 9) > 0.98);
}

TEST_CASE("Real tunes that were not learnt from are told apart, better than by rules, with a clock or without",
          "[hands]") {
  for (const auto group : {Group::plain, Group::dipping, Group::wide, Group::moving, Group::pedal}) {
    INFO(groupName(group));
    CHECK(heard(group, 40).atOnce() > 98);
    CHECK(heard(group, 40, ClockKind::none).atOnce() > 97.5);
  }
  const auto close = heard(Group::close, 40);
  CHECK(close.after() > 98);
  int right = 0, notes = 0;
  for (int i = 0; i < 40; ++i) {
    const auto played = performanceOf(Group::close, Half::report, 7000000u + static_cast<std::uint64_t>(i));
    const auto hands = handsByRules(played);
    for (std::size_t n = 0; n < hands.size(); ++n, ++notes) right += hands[n] == played.notes[n].hand;
  }
  CHECK(close.atOnce() > 100.0 * right / notes + 2);
}

TEST_CASE("A performance is the same from the same seed, keeps each hand within reach, and presses no key twice",
          "[hands][performances]") {
  for (std::size_t g = 0; g < groupCount; ++g)
    for (std::uint64_t seed = 1; seed <= 12; ++seed) {
      const auto a = performanceOf(static_cast<Group>(g), Half::report, seed);
      const auto b = performanceOf(static_cast<Group>(g), Half::report, seed);
      INFO(groupName(a.group) << " " << a.tune << " seed " << seed);
      REQUIRE(a.notes.size() == b.notes.size());
      REQUIRE(a.notes.size() > 20);
      for (std::size_t i = 0; i < a.notes.size(); ++i) {
        CHECK(a.notes[i].on == b.notes[i].on);
        for (std::size_t j = i + 1; j < a.notes.size() && a.notes[j].on < a.notes[i].off; ++j)
          REQUIRE(a.notes[i].key != a.notes[j].key);
      }
      if (a.group != Group::free) CHECK(!a.chords.empty());
    }
}

TEST_CASE("A channel that one hand has kept to is evidence; one channel alone, or both hands on both, is none",
          "[hands]") {
  ChannelHabit one, apart, mixed;
  for (int i = 0; i < 40; ++i) {
    const auto hand = i % 3 == 0 ? Hand::melody : Hand::chord;
    one.learn(4, hand);
    apart.learn(hand == Hand::melody ? 0 : 1, hand);
    mixed.learn(static_cast<std::uint8_t>(i / 3 % 2), hand);
  }
  CHECK(one.odds(4) == 0);
  CHECK(apart.odds(0) > 100);  // a chance of 0.83 and more
  CHECK(apart.odds(1) < -100);
  CHECK(std::abs(apart.odds(2)) < 30);  // not heard yet
  CHECK(std::abs(mixed.odds(0)) < 20);
  CHECK(std::abs(mixed.odds(1)) < 20);
}

TEST_CASE("With each hand on a channel of its own, swapped hands are told apart nearly always", "[hands]") {
  const auto right = [](bool apart) {
    int notes = 0, good = 0;
    for (int i = 0; i < 30; ++i) {
      const auto played = performanceOf(Group::swapped, Half::report, 7000000u + static_cast<std::uint64_t>(i));
      HandJudge judge;
      std::size_t next = 0;
      for (const auto& n : played.notes) {
        HeardNote note;
        note.on = {static_cast<std::int64_t>(n.on * 10000)};
        note.at = {static_cast<std::int64_t>(n.on * 48000)};
        note.key = static_cast<std::uint8_t>(n.key);
        note.velocity = static_cast<std::uint8_t>(n.velocity);
        note.channel = apart && n.hand == Hand::chord ? 1 : 0;
        while (judge.nextEnd() <= note.at) {
          const Samples end = judge.nextEnd();
          judge.lookAgain(end, {end.value * 10000 / 48000}, {});
        }
        for (std::size_t j = 0; j < next; ++j)
          if (played.notes[j].off <= n.on && played.notes[j].off > n.on - 0.5)
            judge.up(apart && played.notes[j].hand == Hand::chord ? 1 : 0,
                     static_cast<std::uint8_t>(played.notes[j].key),
                     {static_cast<std::int64_t>(played.notes[j].off * 10000)});
        ++next;
        judge.arrive(note);
        judge.judgeArrivals({}, 0xFFFF, {2400});
        const auto* heard = judge.newest(note.channel, note.key);
        good += heard != nullptr && heard->hand == n.hand;
        ++notes;
      }
    }
    return static_cast<double>(good) / notes;
  };
  const double together = right(false), apart = right(true);
  INFO(together << " on one channel, " << apart << " on two");
  CHECK(apart > 0.97);
  CHECK(apart > together + 0.01);
}
