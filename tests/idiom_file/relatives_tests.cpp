// Idioms that stand in for each other in foreign meters, replaced one by one while others play.
#include <array>
#include <map>
#include <string>
#include <vector>

#include "dsp/idiom_relatives.h"
#include "tests/catch.h"
#include "tests/support/random.h"

using namespace seguente;

namespace {

std::unique_ptr<Idiom> idiom(const std::string& id, const std::vector<std::string>& relatives = {}) {
  auto made = std::make_unique<Idiom>();
  made->id = id;
  made->meter = {4, 4};
  for (const auto& relative : relatives) made->relatives.push_back({{2, 4}, nullptr, relative});
  return made;
}

struct Shelf {
  RelatedIdioms idioms;
  std::vector<Fault> advice;
  void put(std::size_t place, std::unique_ptr<Idiom> idiom) { idioms.put(place, std::move(idiom)); }
  bool resolve() { return idioms.resolve(advice); }
  const Idiom* operator[](std::size_t place) const { return idioms.at(place).get(); }
};

}  // namespace

TEST_CASE("Idioms in a circle find each other, and are replaced together with whoever names them", "[idiom_file]") {
  Shelf shelf;
  shelf.put(0, idiom("alone"));
  shelf.put(1, idiom("a", {"b"}));
  shelf.put(2, idiom("b", {"a", "alone"}));
  shelf.put(3, idiom("names-a", {"a"}));
  CHECK(shelf.resolve());
  CHECK_FALSE(shelf.resolve());
  CHECK(shelf[1]->relatives[0].idiom == shelf[2]);
  CHECK(shelf[2]->relatives[0].idiom == shelf[1]);
  CHECK(shelf[3]->relatives[0].idiom == shelf[1]);
  const std::array before{shelf[0], shelf[1], shelf[2], shelf[3]};
  std::array<std::weak_ptr<const Idiom>, 4> watch;
  for (std::size_t i = 0; i < 4; ++i) watch[i] = shelf.idioms.at(i);
  const auto playing = shelf.idioms.at(3);  // as if lent

  shelf.put(2, idiom("b", {"a", "alone"}));
  CHECK(shelf.resolve());
  CHECK(shelf[0] == before[0]);
  for (const std::size_t i : {1u, 2u, 3u}) CHECK(shelf[i] != before[i]);
  CHECK(shelf[1]->relatives[0].idiom == shelf[2]);
  CHECK(shelf[2]->relatives[1].idiom == before[0]);
  CHECK(playing->relatives[0].idiom == before[1]);  // what plays keeps its old relatives alive
  CHECK(before[1]->relatives[0].idiom == before[2]);
  CHECK(before[2]->id == "b");
  CHECK_FALSE(watch[1].expired());
}

TEST_CASE("What nobody plays any more is freed when it is replaced, circles too", "[idiom_file]") {
  Shelf shelf;
  shelf.put(1, idiom("a", {"b"}));
  shelf.put(2, idiom("b", {"a"}));
  shelf.resolve();
  const std::weak_ptr<const Idiom> a = shelf.idioms.at(1), b = shelf.idioms.at(2);
  shelf.put(2, nullptr);
  CHECK(shelf.resolve());
  CHECK(a.expired());
  CHECK(b.expired());
  CHECK(shelf[1]->relatives[0].idiom == nullptr);
  REQUIRE(shelf.advice.size() == 1);
  CHECK(shelf.advice[0].found == "relative 2/4 = \"b\"");
}

TEST_CASE("A relative is the place's own idiom first, else the one in the lowest place", "[idiom_file]") {
  Shelf shelf;
  shelf.put(9, idiom("waltz", {"waltz"}));
  shelf.put(5, idiom("other", {"waltz"}));
  shelf.resolve();
  CHECK(shelf[5]->relatives[0].idiom == shelf[9]);
  shelf.put(1, idiom("waltz"));
  CHECK(shelf.resolve());
  CHECK(shelf[5]->relatives[0].idiom == shelf[1]);
  CHECK(shelf[9]->relatives[0].idiom == shelf[9]);
}

TEST_CASE("A relative whose bar does not fit is left out and told once", "[idiom_file]") {
  Shelf shelf;
  auto three = idiom("three");
  three->meter = {3, 4};
  shelf.put(0, std::move(three));
  shelf.put(1, idiom("mine", {"three"}));
  shelf.resolve();
  CHECK(shelf[1]->relatives[0].idiom == nullptr);
  shelf.put(2, idiom("else"));
  shelf.resolve();
  REQUIRE(shelf.advice.size() == 1);
  CHECK(shelf.advice[0].expected == "an idiom whose bar is a whole number of bars of 2/4");
}

TEST_CASE("However idioms are replaced, relatives are those that stand there now, and nothing else changes or stays",
          "[idiom_file]") {
  constexpr std::size_t used = 10;
  for (std::uint64_t seed = 0; seed < 40; ++seed) {
    INFO("seed " << seed);
    test::Random random(seed);
    const auto anyId = [&] { return "id" + std::to_string(random.between(0, 7)); };
    Shelf shelf;
    for (int round = 0; round < 30; ++round) {
      std::array<std::weak_ptr<const Idiom>, used> before;
      std::vector<std::shared_ptr<const Idiom>> playing;  // in every other run: so that no address comes back
      std::array<std::vector<const Idiom*>, used> named;
      std::array<bool, used> put{};
      for (std::size_t place = 0; place < used; ++place) {
        before[place] = shelf.idioms.at(place);
        if (seed % 2 == 0) playing.push_back(shelf.idioms.at(place));
        if (shelf[place] != nullptr)
          for (const auto& relative : shelf[place]->relatives) named[place].push_back(relative.idiom);
      }
      for (auto n = random.between(1, 3); n > 0; --n) {
        std::vector<std::string> relatives;
        for (auto r = random.between(0, 3); r > 0; --r) relatives.push_back(anyId());
        const auto place = static_cast<std::size_t>(random.between(0, used - 1));
        put[place] = true;
        shelf.put(place, random.oneIn(5) ? nullptr : idiom(anyId(), relatives));
      }
      shelf.resolve();
      std::map<std::string, const Idiom*> lowest;
      for (std::size_t place = used; place-- > 0;)
        if (shelf[place] != nullptr) lowest[shelf[place]->id] = shelf[place];
      for (std::size_t place = 0; place < used; ++place) {
        const auto* now = shelf[place];
        const bool same = now != nullptr && before[place].lock().get() == now;
        if (!same && playing.empty()) CHECK(before[place].expired());
        if (now == nullptr) continue;
        bool sameRelatives = true;
        for (std::size_t i = 0; i < now->relatives.size(); ++i) {
          const auto& relative = now->relatives[i];
          const auto* const expected = relative.id == now->id ? now : lowest[relative.id];
          CHECK(relative.idiom == expected);
          sameRelatives = sameRelatives && i < named[place].size() && named[place][i] == expected;
        }
        if (!playing.empty()) CHECK(same == (!put[place] && sameRelatives));
      }
      CHECK_FALSE(shelf.resolve());
    }
  }
}
