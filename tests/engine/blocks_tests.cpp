// The contracts of DESIGN.md as properties over random hands and random transports.
#include "tests/catch.h"
#include "tests/support/contracts.h"
#include "tests/support/hands.h"
#include "tests/support/music.h"

using namespace seguente;
using namespace seguente::test;

namespace {

const std::vector<Blocks> cuts = {{{1}, {}},
                                  {{7}, {}},
                                  {{64}, {}},
                                  {{511}, {}},
                                  {{8192}, {}},
                                  {{8193}, {}},
                                  {{0, 1, 7, 64, 511, 8192, 8193}, {}},
                                  {{0, 1, 7, 64, 511, 8192, 8193}, 1},
                                  {{0, 1, 2, 3, 48, 441, 1024}, 2}};

void sameInAllBlocks(std::uint64_t seed, const HandsOptions& options) {
  const auto p = randomHands(seed, options);
  const auto inputs = p.score.inputs();
  const auto whole = renderInBlocks(inputs, {}, options.rate, p.end);
  INFO("seed " << seed);
  REQUIRE(!strikes(whole).empty());
  for (const auto& blocks : cuts) {
    INFO(blocks.text());
    const auto cut = renderInBlocks(inputs, blocks, options.rate, p.end);
    REQUIRE(firstDifference(whole, cut, p.score) == "");
  }
}

std::string brokenBy(const Performance& p, double rate) {
  const auto inputs = p.score.inputs();
  const auto r = renderInBlocks(inputs, {{256}, {}}, rate, p.end);
  const auto broken = brokenContract(r, inputs);
  return broken.empty() ? passedWrongly(r, inputs, p.settings) : broken;
}

}  // namespace

// Source of the sizes: DESIGN.md, "The block does not matter".
TEST_CASE("However the stream is cut into blocks, the same notes sound at the same samples", "[engine][blocks]") {
  for (std::uint64_t seed = 1; seed <= 60; ++seed) sameInAllBlocks(seed, {48000, 5});
}

TEST_CASE("Blocks do not matter when the accompaniment shares the tune's channel", "[engine][blocks]") {
  HandsOptions options{44100, 6};
  options.tuneChannel = true;
  for (std::uint64_t seed = 101; seed <= 130; ++seed) sameInAllBlocks(seed, options);
}

TEST_CASE("Blocks do not matter when the host and the cable send rubbish", "[engine][blocks][hostile]") {
  HandsOptions options{48000, 5};
  options.rubbish = true;
  for (std::uint64_t seed = 201; seed <= 230; ++seed) sameInAllBlocks(seed, options);
}

TEST_CASE("No note hangs, nothing that passes is touched, and ours keep off the tune's keys", "[engine][contracts]") {
  for (std::uint64_t seed = 1001; seed <= 2000; ++seed) {
    HandsOptions options{48000, 12};
    options.tuneChannel = seed % 2 == 0;
    options.transport = seed % 3 != 0;
    options.twoChannels = seed % 5 == 0;
    INFO("seed " << seed);
    CHECK(brokenBy(randomHands(seed, options), options.rate) == "");
  }
}

TEST_CASE("Rubbish from host and cable leaves no note hanging and passes untouched", "[engine][contracts][hostile]") {
  for (std::uint64_t seed = 3001; seed <= 3600; ++seed) {
    HandsOptions options{48000, 8};
    options.tuneChannel = seed % 2 == 0;
    options.rubbish = true;
    INFO("seed " << seed);
    CHECK(brokenBy(randomHands(seed, options), options.rate) == "");
  }
}

TEST_CASE("A hundred and twenty-eight keys at once and ten thousand events in a block end cleanly",
          "[engine][contracts][hostile]") {
  Score score(48000, {4, 4}, 120);
  score.with(idiom("waltz"));
  for (int k = 0; k < 128; ++k) score.message({0x90, static_cast<std::uint8_t>(k), 100}, Samples{1000});
  Random random(5);
  for (int i = 0; i < 10000; ++i) {
    const auto status = random.oneOf(std::vector<int>{0x80, 0x90, 0xB0});
    const auto data = static_cast<std::uint8_t>(random.between(0, 127));
    const auto value = static_cast<std::uint8_t>(random.between(0, 127));
    score.message({static_cast<std::uint8_t>(status), data, value}, Samples{20000 + i / 5000});
  }
  const auto inputs = score.inputs();
  for (const auto& blocks : {Blocks{}, Blocks{{64}, {}}}) {
    const auto r = renderInBlocks(inputs, blocks, 48000, Samples{96000});
    CHECK(brokenContract(r, inputs) == "");
    CHECK(passedWrongly(r, inputs, Settings{}) == "");
  }
}

TEST_CASE("An engine without an idiom, and one before any time is known, lets the tune through",
          "[engine][contracts]") {
  Score score(48000, {4, 4}, 120);
  score.tune("E5", quarters(0.5), quarters(1)).chord("C3 E3 G3", quarters(1), quarters(3));
  auto inputs = score.inputs();
  const auto noIdiom = renderInBlocks(inputs, {{480}, {}}, 48000, Samples{96000});
  CHECK(brokenContract(noIdiom, inputs) == "");
  CHECK(passedWrongly(noIdiom, inputs, Settings{}) == "");
  inputs.erase(inputs.begin());  // the first time anchor
  const auto noTime = renderInBlocks(inputs, {{480}, {}}, 48000, Samples{96000});
  CHECK(brokenContract(noTime, inputs) == "");
  CHECK(passedWrongly(noTime, inputs, Settings{}) == "");
}
