// BLOCK: the same music however a host cuts its time. Scenarios and their numbers: SCENARIOS.md.
#include "tests/catch.h"
#include "tests/host/perform.h"

using namespace seguente;
using namespace seguente::host;
using seguente::test::Blocks;
using seguente::test::quarters;

namespace {

/// Two bars of a song: three chords as hands strike them, a tune above, from 0.1 quarters on.
Piece song(double rate = 48000) {
  Piece piece(rate, {4, 4}, 120);
  piece.score()
      .chord("C3 E3 G3", quarters(0.1), quarters(3.8))
      .tune("E4 C5", quarters(0.5), quarters(1.3))
      .tune("G4", quarters(2.01), quarters(3.7))
      .chord("B2 F3 G3", quarters(3.97), quarters(5.9), 55)
      .chord("C3 E3 G3", quarters(6.02), quarters(7.6), 90)
      .tune("C5", quarters(6.1), quarters(7.9));
  return piece.endsAt(quarters(8.5));
}

const std::vector<Blocks> cuts = {{{64}, {}},
                                  {{511}, {}},
                                  {{1024}, {}},
                                  {{8193}, {}},
                                  {{1}, {}},
                                  {{0, 1, 7, 64, 511, 1024, 8193}, {}},
                                  {{0, 1, 7, 64, 511, 1024, 8193}, 3}};

}  // namespace

TEST_CASE("BLOCK-1: a song sounds the same in every block size, in both formats, and as the engine alone plays it") {
  const auto piece = song();
  const auto expected = byEngine(piece);
  REQUIRE(noteOns(expected).size() > 10);
  for (const auto format : formats)
    for (const auto& blocks : cuts) {
      INFO(nameOf(format) << ", " << blocks.text());
      Performing how;
      how.blocks = blocks;
      CHECK(firstDifference(asCarried(format, expected), perform(format, piece, how)) == "");
    }
}
