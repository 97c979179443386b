// The whole shelf, pairwise: each idiom meets each density, key, kind of chord and meter, and each of these each other,
// in made-up progressions (chords of half a beat to eight bars). The full measure: ./run bench shelf.
#include <algorithm>
#include <cstdio>
#include <set>
#include <sstream>

#include "dsp/idiom_family.h"
#include "dsp/idiom_steps.h"
#include "tests/catch.h"
#include "tests/shelf/course.h"

using namespace seguente;
using namespace seguente::test;

namespace {

constexpr std::array<const char*, 10> meters{"2/4", "3/4", "4/4", "2/2", "5/4", "3/8", "6/8", "7/8", "9/8", "12/8"};

std::vector<Course> courses() {
  std::vector<Course> out;
  int i = 0;
  for (const auto& id : idiomIds()) {
    for (int row = 0; row < 12; ++row) {
      Course c;
      c.id = id;
      c.density = static_cast<Density>((row + i) % 3);
      c.key = (row * 5 + i) % 12;
      c.chords = static_cast<Chords>((row + row / 9 * 4) % chordKinds);
      const auto meter = static_cast<std::size_t>(row + i) % 11;
      const bool own = meter == 10 && !idiom(id).anyMeter;
      c.meter = own ? idiom(id).meter : *parseMeter(meters[meter % 10]);
      c.seed = static_cast<std::uint64_t>(i * 12 + row + 1);
      out.push_back(c);
    }
    ++i;
  }
  return out;
}

std::string shares(const Found& f) {
  std::ostringstream out;
  out << "third " << f.third.percent() << " % of " << f.third.all << ", root " << f.root.percent() << " % of "
      << f.root.all << ", strong beats " << f.strong.percent() << " % of " << f.strong.all << " (beside them " << f.blue
      << " blue, " << f.sixth << " sixths, " << f.leading << " leading, " << f.anticipated << " anticipated), low "
      << f.low.percent() << " % of " << f.low.all << ", hand " << f.hand.percent() << " % of " << f.hand.all
      << ", leap " << f.leap.percent() << " % of " << f.leap.all << " (at changes of chord " << f.change.percent()
      << " % of " << f.change.all << "), ending " << f.ending.percent() << " % of " << f.ending.all;
  return out.str();
}

}  // namespace

TEST_CASE("The courses pair each idiom, density, key, kind of chord and meter with each", "[shelf][pairs]") {
  std::set<std::string> pairs;
  std::set<std::string> meetings;
  const auto all = courses();
  for (const auto& c : all) {
    const std::string facts[] = {"i" + c.id, "d" + std::to_string(static_cast<int>(c.density)),
                                 "k" + std::to_string(c.key), "c" + std::to_string(static_cast<int>(c.chords)),
                                 "m" + seguente::textOf(c.meter)};
    for (int a = 0; a < 5; ++a)
      for (int b = a + 1; b < 5; ++b) pairs.insert(facts[a] + facts[b]);
  }
  const auto n = idiomIds().size();
  const std::size_t sizes[] = {n, 3, 12, chordKinds, meters.size()};
  std::size_t wanted = 0;
  for (int a = 0; a < 5; ++a)
    for (int b = a + 1; b < 5; ++b) wanted += sizes[a] * sizes[b];
  CHECK(pairs.size() == wanted);
}

TEST_CASE("Any idiom at any density in any key and meter over any chords is music, to one hand's measure",
          "[shelf][pairs]") {
  Found all;
  std::set<std::string> withoutThird;
  for (const auto& c : courses()) {
    const Found f = run(c);
    if (!f.thirdIsThere) withoutThird.insert(c.id);
    all.add(f);
  }
  std::printf("%s\n", shares(all).c_str());
  CHECK(all.contract == "");
  CHECK(all.first[0] == "");  // the third within the first bar
  CHECK(all.first[1] == "");  // the bass on the root
  INFO("for example " << all.first[2]);
  CHECK(all.strong.percent() >= 99);
  CHECK(all.first[3] == "");  // nothing too low
  CHECK(all.first[4] == "");  // one hand's span
  CHECK(all.first[5] == "");  // one hand's leaps
  CHECK(all.change.whole());  // and from chord to chord
  CHECK(all.first[6] == "");  // the ending
  CHECK(all.third.all > 500);
  CHECK(all.hand.all > 5000);
}
