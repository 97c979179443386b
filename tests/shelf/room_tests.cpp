// Room for the tune. Its rules are common practice, no source: accompaniment lies under the tune, gives way to it,
// follows its loudness, is lighter while it moves, and answers while it rests.
#include <cstdio>

#include "tests/catch.h"
#include "tests/shelf/room.h"

using namespace seguente;
using namespace seguente::test;

TEST_CASE("Any idiom leaves any tune its room", "[shelf][room]") {
  Room all;
  const auto tunes = referenceTunes();
  std::size_t i = 0;
  for (const auto& id : idiomIds()) {
    for (std::size_t row = 0; row < 3; ++row)
      all.add(accompany(id, static_cast<Density>((row + i) % 3), tunes[(i * 3 + row) % tunes.size()], i + row));
    ++i;
  }
  std::printf("over %.3f of %d, doubled %.3f, under %.3f of %d, clash %.3f of %d, root %.3f, third %.3f of %d\n",
              all.over.percent(), all.over.all, all.doubled.percent(), all.under.percent(), all.under.all,
              all.clash.percent(), all.clash.all, all.root.percent(), all.third.percent(), all.third.all);
  CHECK(all.contract == "");
  CHECK(all.first[0] == "");
  CHECK(all.first[1] == "");
  CHECK(all.first[2] == "");
  CHECK(all.first[3] == "");
  CHECK(all.first[4] == "");
  std::printf("third: %s\n", all.first[5].c_str());
  CHECK(all.over.all > 5000);
}
