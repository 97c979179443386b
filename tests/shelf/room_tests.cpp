// Room for the tune. Its rules are common practice, no source: accompaniment lies under the tune, gives way to it,
// follows its loudness, is lighter while it moves, and answers while it rests.
#include <cstdio>
#include <cstdlib>

#include "tests/catch.h"
#include "tests/shelf/room.h"
#include "tests/support/music.h"

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
  // Two of some 2,400: C-D-F-A after plain triads, where the C is first taken for a slip beside the D: Dm, and then F6.
  INFO(all.first[4]);
  CHECK(all.root.percent() >= 99.9);
  INFO(all.first[5]);
  CHECK(all.third.percent() >= 98);
  CHECK(all.over.all > 5000);
}

namespace {

/// Velocities of the chords part of block quarters from a place until before another.
std::vector<int> velocities(const Rendering& r, Ticks from, Ticks to) {
  std::vector<int> out;
  for (const Event& e : strikes(r))
    if (e.reason.dueTick >= from && e.reason.dueTick < to &&
        idiom("block-quarters").parts[e.reason.part].kind == PartKind::chords)
      out.push_back(e.bytes[2]);
  return out;
}

Score blockQuarters() {
  Score score(48000, {4, 4}, 120);
  score.with(idiom("block-quarters")).chord("C3 E3 G3", {}, quarters(32), 64);
  return score;
}

}  // namespace

TEST_CASE("The accompaniment follows the tune's loudness, by half the hand and half the tune", "[shelf][room]") {
  // The curve: the mean of the hand's force and of the tune's loudness less 16, since a tune is played louder.
  const auto at = [](int velocity) {
    Score score = blockQuarters();
    for (int i = 0; i < 4; ++i) score.tune("C5", quarters(4 * i), quarters(4 * i + 3.9), velocity);
    return velocities(render(score, quarters(16)), quarters(8), quarters(16)).at(0);
  };
  // By half, of which force takes 60 % and level 85 % (the settings' defaults).
  const int most = static_cast<int>(80 * 0.5 * 0.6 * 0.85);
  CHECK(at(40) < at(80));
  CHECK(at(80) < at(120));
  CHECK(std::abs(at(120) - at(40) - most) <= 2);
}

TEST_CASE("The accompaniment is lighter while the tune moves, and comes back when it stays", "[shelf][room]") {
  Score score = blockQuarters();
  score.tune("C5", {}, quarters(3.9));
  for (int i = 0; i < 8; ++i) score.tune(i % 2 == 0 ? "D5" : "E5", quarters(4 + 0.5 * i), quarters(4.4 + 0.5 * i));
  score.tune("C5", quarters(8), quarters(11.9));
  const Rendering r = render(score, quarters(12));
  const auto stays = velocities(r, quarters(1), quarters(2)), moves = velocities(r, quarters(5), quarters(6)),
             again = velocities(r, quarters(10), quarters(11));
  REQUIRE(!stays.empty());
  REQUIRE(!moves.empty());
  REQUIRE(!again.empty());
  CHECK(moves[0] < stays[0]);
  CHECK(again[0] == stays[0]);
}

TEST_CASE("Where the tune comes down into the chord, the chord gives way, and its bass stays", "[shelf][room]") {
  Settings settings;
  settings.handRule = HandRule::byChannel;
  settings.melodyChannels = 1;
  settings.chordChannels = 2;
  Score score(48000, {4, 4}, 120);
  score.with(settings).with(idiom("held-chords")).chord("C3 E3 G3", {}, quarters(8), 70, 1);
  score.tune("E3", quarters(2), quarters(3), 80, 0);
  const Rendering r = render(score, quarters(4));
  bool gaveWay = false, bassStays = false;
  for (const Event& e : strikes(r)) {
    if (e.reason.dueTick != Ticks{}) continue;
    const Samples end = endOf(r, e.noteId);
    if (e.note().value >= 51) {
      CHECK(end <= score.sampleOf(quarters(2)));
      gaveWay = true;
    } else if (end > score.sampleOf(quarters(2))) {
      bassStays = true;
    }
  }
  CHECK(gaveWay);
  CHECK(bassStays);
}
