// LOOP: what happens when the host's place leaps. Scenarios and their numbers: SCENARIOS.md.
#include "tests/catch.h"
#include "tests/host/direct.h"

using namespace seguente;
using namespace seguente::host;
using seguente::test::quarters;

namespace {

constexpr std::int64_t beat = 24000;  // samples a quarter at 120 and 48 kHz

/// Four passes of a loop of so many quarters; in each a chord is struck just after the start. Its end comes before the
/// loop's, or not at all while it goes round; in that case the host lets go of everything when it stops.
Piece looped(double length, bool offs) {
  Piece piece(48000, {4, 4}, 120);
  const auto pass = static_cast<std::int64_t>(length * beat);
  const char* const shapes[] = {"C3 E3 G3", "B2 F3 G3"};
  for (int i = 0; i < 4; ++i) {
    if (i > 0) piece.score().jump(Samples{i * pass}, quarters(0));
    // A loop over one bar plays the same notes; the keys of two chords show that none is forgotten.
    for (const auto key : test::keys(shapes[offs ? i % 2 : 0])) {
      piece.score().message({0x90, key.value, 75}, Samples{i * pass + 500});
      if (offs) piece.score().message({0x80, key.value, 64}, Samples{i * pass + pass - 3000});
    }
  }
  piece.score().stop(piece.score().tickAt(Samples{4 * pass}));
  if (!offs)
    for (const auto key : test::keys(shapes[0])) piece.score().message({0x80, key.value, 64}, Samples{4 * pass + 10});
  piece.endsAt(Samples{4 * pass + beat});
  return piece;
}

void soundsAsItShould(const Piece& piece) {
  const auto expected = byEngine(piece);
  REQUIRE(noteOns(expected).size() > 8);
  CHECK(stillSounding(expected) == "");
  for (const auto& blocks : {test::Blocks{{64}, {}}, test::Blocks{{1000}, {}}, test::Blocks{{8193}, {}}})
    for (const auto format : formats) {
      Performing how;
      how.blocks = blocks;
      INFO(nameOf(format) << ", " << blocks.text());
      CHECK(firstDifference(asCarried(format, expected), perform(format, piece, how)) == "");
    }
}

}  // namespace

TEST_CASE("LOOP-1: a bar goes round and round, its chord let go before the end") { soundsAsItShould(looped(4, true)); }

TEST_CASE("LOOP-2: a chord held over the loop's end is struck again each pass and let go when the host stops") {
  soundsAsItShould(looped(4, false));
}

TEST_CASE("LOOP-3: a loop that is no whole number of bars, or beats") {
  soundsAsItShould(looped(3.5, true));
  soundsAsItShould(looped(3.5, false));
  soundsAsItShould(looped(2.37, true));
}

TEST_CASE("LOOP-4: a jump ahead and one back while it rolls, in a chord") {
  Piece piece(48000, {4, 4}, 120);
  piece.score().chord("C3 E3 G3", quarters(0.05), quarters(3.5));
  piece.score().jump(Samples{2 * beat + 7000}, quarters(12));
  for (const auto key : test::keys("B2 F3 G3")) piece.score().message({0x90, key.value, 75}, Samples{3 * beat});
  for (const auto key : test::keys("B2 F3 G3")) piece.score().message({0x80, key.value, 64}, Samples{6 * beat});
  piece.score().jump(Samples{5 * beat + 100}, quarters(1));
  for (const auto key : test::keys("C3 F3 A3")) piece.score().message({0x90, key.value, 75}, Samples{7 * beat});
  for (const auto key : test::keys("C3 F3 A3")) piece.score().message({0x80, key.value, 64}, Samples{12 * beat});
  piece.endsAt(Samples{13 * beat});
  soundsAsItShould(piece);
}

TEST_CASE("LOOP-5: a host that goes round in the middle of a block is believed from the next block on") {
  const auto piece = looped(4, true);
  for (const auto format : formats)
    for (const std::int64_t size : {64, 1000}) {
      Performing how;
      how.cut = false;
      how.blocks = {{size}, {}};
      const auto heard = perform(format, piece, how);
      INFO(nameOf(format) << ", blocks of " << size);
      CHECK(stillSounding(heard) == "");
      // The same notes, and none more than a block later than a host that cuts its blocks has them.
      const auto expected = noteOns(byEngine(piece)), came = noteOns(heard);
      REQUIRE(came.size() == expected.size());
      for (std::size_t i = 0; i < came.size(); ++i) {
        CHECK(came[i].bytes == expected[i].bytes);
        CHECK(std::abs(came[i].sample - expected[i].sample) <= size);
      }
    }
}
