// The clock from the hands, as sentences: what a player may expect of an accompanist who listens.
#include <algorithm>
#include <cmath>

#include "tests/catch.h"
#include "tests/follow/judge.h"
#include "tests/support/contracts.h"
#include "tests/support/hands.h"
#include "tests/support/music.h"

using namespace seguente;
using namespace seguente::test;

namespace {

/// Plays place by place in seconds: what a hand does, without a clock.
struct Hands {
  std::vector<Input> inputs;
  void message(int status, int key, int value, double at) {
    MidiMessage m;
    m.bytes = {static_cast<std::uint8_t>(status), static_cast<std::uint8_t>(key), static_cast<std::uint8_t>(value)};
    m.length = 3;
    inputs.push_back(Input::of(Samples{std::llround(at * performerRate)}, m));
  }
  void tune(int key, double from, double to) {
    message(0x90, key, 80, from);
    message(0x80, key, 64, to);
  }
  void chord(std::string_view names, double from, double to) {
    for (const auto note : keys(names)) {
      message(0x91, note.value, 64, from);
      message(0x81, note.value, 64, to);
    }
  }
  /// Bars of `beats` quarter notes: a chord on the first, a tune on each.
  double bars(int count, int beats, double from, double period) {
    for (int b = 0; b < count; ++b) {
      const double bar = from + b * beats * period;
      chord(b % 2 == 0 ? "C3 E3 G3" : "B2 F3 G3", bar, bar + (beats - 0.3) * period);
      for (int k = 0; k < beats; ++k) tune(72 + 2 * ((b + k) % 4), bar + k * period, bar + (k + 0.9) * period);
    }
    return from + count * beats * period;
  }
  Played played(double end) const {
    Played p;
    p.inputs = inputs;
    std::stable_sort(p.inputs.begin(), p.inputs.end(),
                     [](const Input& a, const Input& b) { return a.sample < b.sample; });
    p.beats = {end};
    return p;
  }
};

std::vector<ToldBeat> live(std::vector<ToldBeat> told) {
  std::erase_if(told, [](const ToldBeat& b) { return !b.live(); });
  return told;
}

std::vector<ToldBeat> between(const std::vector<ToldBeat>& told, double from, double to) {
  std::vector<ToldBeat> in;
  for (const auto& b : told)
    if (b.falls >= from && b.falls < to) in.push_back(b);
  return in;
}

/// Every beat from..to (in periods from `start`) is met within 40 ms, and the downbeats are the player's.
void beatsAreMet(const std::vector<ToldBeat>& told, double start, double period, int from, int to, int perBar) {
  for (int k = from; k < to; ++k) {
    const double wanted = start + k * period;
    const auto here = between(told, wanted - 0.04, wanted + 0.04);
    INFO("beat " << k + 1 << " at " << wanted << " s");
    REQUIRE(here.size() == 1);
    CHECK(here.front().downbeat == (k % perBar == 0));
  }
}

Settings follows(Meter meter = {3, 4}) { return followingSettings(meter, false); }

/// The stream of a performance with an idiom and settings before it.
std::vector<Input> streamOf(const Played& p, const Settings& settings) {
  std::vector<Input> inputs = {Input::of(Samples{}, settings), Input::of(Samples{}, IdiomRef{&idiom("waltz"), 1})};
  inputs.insert(inputs.end(), p.inputs.begin(), p.inputs.end());
  return inputs;
}

Samples endOfStream(const Played& p) { return Samples{std::llround((p.end + 8) * performerRate)}; }

}  // namespace

TEST_CASE("A bar and a half after the first chord every beat is met, and chords mark the downbeats", "[follow]") {
  for (const int perBar : {3, 4})
    for (const double period : {0.45, 0.6, 0.8}) {
      Hands hands;
      hands.bars(8, perBar, 0.5, period);
      const auto told =
          live(followed(hands.played(0.5 + 8 * perBar * period), follows({static_cast<std::uint8_t>(perBar), 4})));
      INFO(perBar << " beats of " << period << " s");
      beatsAreMet(told, 0.5, period, 5, 8 * perBar - 1, perBar);
    }
}

TEST_CASE("A pickup comes before the first downbeat and is no downbeat", "[follow]") {
  Hands hands;
  hands.tune(67, 0.5, 0.95);
  hands.bars(8, 3, 1.0, 0.5);
  const auto told = live(followed(hands.played(13), follows()));
  beatsAreMet(told, 1.0, 0.5, 4, 20, 3);
}

TEST_CASE("With a count-in the first downbeat is already met", "[follow]") {
  Hands hands;
  for (int i = 0; i < 3; ++i) hands.tune(84, 0.5 + 0.6 * i, 0.6 + 0.6 * i);
  hands.bars(6, 3, 2.3, 0.6);
  auto settings = follows();
  settings.follow.countIn = 3;
  const auto told = live(followed(hands.played(13), settings));
  beatsAreMet(told, 2.3, 0.6, 0, 17, 3);
}

TEST_CASE("Two or three is guessed by where the chords fall", "[follow]") {
  for (const int perBar : {3, 4}) {
    Hands hands;
    hands.bars(10, perBar, 0.5, 0.5);
    const auto told = live(followed(hands.played(0.5 + 10 * perBar * 0.5), followingSettings({}, true)));
    REQUIRE(!told.empty());
    CHECK(told.back().meter == Meter{static_cast<std::uint8_t>(perBar), 4});
    beatsAreMet(told, 0.5, 0.5, 6 * perBar, 10 * perBar - 1, perBar);
  }
}

TEST_CASE("A long note that is held does not disturb the beat", "[follow]") {
  Hands hands;
  hands.bars(4, 4, 0.5, 0.5);
  hands.chord("C3 E3 G3", 8.5, 10.4);  // a bar in which nothing else is struck
  hands.tune(79, 8.5, 10.4);
  hands.bars(4, 4, 10.5, 0.5);
  const auto told = live(followed(hands.played(18), follows({4, 4})));
  beatsAreMet(told, 0.5, 0.5, 8, 34, 4);
}

TEST_CASE("The accompaniment waits at a fermata and comes back in with the player", "[follow]") {
  for (const double pause : {0.7, 1.5, 4.0}) {
    Hands hands;
    hands.bars(4, 3, 0.5, 0.6);
    const double held = 0.5 + 12 * 0.6, back = held + 3 * 0.6 + pause;
    hands.chord("C3 E3 G3", held, back - 0.1);
    hands.tune(79, held, back - 0.1);
    hands.bars(4, 3, back, 0.6);
    const auto told = live(followed(hands.played(back + 7), follows()));
    INFO("a pause of " << pause << " s");
    CHECK(between(told, held + 1.8 + 0.1, back - 0.05).size() <= 0);  // no beat goes by without him
    beatsAreMet(told, back, 0.6, 0, 11, 3);
  }
}

TEST_CASE("While it waits, nothing of ours is struck, and what sounds is held", "[follow]") {
  Hands hands;
  hands.bars(4, 3, 0.5, 0.6);
  hands.chord("C3 E3 G3", 7.7, 12);
  hands.tune(79, 7.7, 12);
  hands.bars(2, 3, 12.1, 0.6);
  const auto played = hands.played(15);
  const auto r = renderInBlocks(streamOf(played, follows()), {}, performerRate, Samples{15 * 48000});
  for (const auto& e : strikes(r)) {
    const double at = static_cast<double>(e.sample.value) / performerRate;
    INFO("struck at " << at);
    CHECK((at < 9.6 || at > 12.0));
  }
}

TEST_CASE("The beat never gallops: no way to the next beat is near half or twice the usual", "[follow]") {
  const auto tunes = readTunes();
  int intervals = 0;
  for (const std::size_t t : {4u, 14u, 20u, 24u})
    for (std::uint64_t seed = 0; seed < 5; ++seed) {
      Manner manner;
      const auto played = play(tunes[t], manner, seed);
      const auto told = live(followed(played, followingSettings(played.meter, false)));
      INFO(tunes[t].title << ", seed " << seed);
      for (std::size_t i = 12; i < told.size(); ++i) {
        std::vector<double> before;
        for (std::size_t k = i - 7; k < i; ++k) before.push_back(told[k].falls - told[k - 1].falls);
        std::sort(before.begin(), before.end());
        const double ratio = (told[i].falls - told[i - 1].falls) / before[3];
        INFO("at " << told[i].falls << " s");
        CHECK(ratio > 0.6);
        CHECK(ratio < 1.6);
        ++intervals;
      }
    }
  CHECK(intervals > 500);
}

// Source of the player: REFERENCES section 6; Mates 1994, Repp 2005 for phase and period correction.
TEST_CASE("A player who follows us is not chased: after five minutes the tempo is where it was", "[follow]") {
  for (std::uint64_t seed = 0; seed < 4; ++seed) {
    Together player;
    player.lag = 0.03 + 0.015 * static_cast<double>(seed);
    player.adopts = seed % 2 == 0 ? 0 : 0.3;
    player.meter = seed < 2 ? Meter{3, 4} : Meter{4, 4};
    const auto r = playTogether(player, seed);
    INFO("lag " << player.lag << " s: " << r.earlyPeriod << " s a beat at first, " << r.endPeriod << " at the end");
    CHECK(std::abs(r.endPeriod / r.earlyPeriod - 1) < 0.02);
    CHECK(r.farthest < 0.12);  // while his lateness is being learnt
  }
}

TEST_CASE("When the hands stop for good the beat ends, and it begins again with the next chord in the old tempo",
          "[follow]") {
  Hands hands;
  const double end = hands.bars(6, 3, 0.5, 0.5);
  hands.bars(4, 3, end + 8, 0.52);
  const auto told = live(followed(hands.played(end + 15), follows()));
  CHECK(between(told, end + 4, end + 7.9).empty());
  beatsAreMet(told, end + 8, 0.52, 0, 10, 3);
}

TEST_CASE("Every beat is foretold before it falls, and told once when it has", "[follow]") {
  const auto tune = readTunes()[4];
  const auto played = play(tune, {}, 3);
  const auto r =
      renderInBlocks(streamOf(played, followingSettings(played.meter, false)), {}, performerRate, endOfStream(played));
  std::uint32_t lastFinal = 0;
  int finals = 0, foretold = 0;
  bool ahead = false;
  for (const auto& f : r.facts) {
    if (f.fact.kind != FactKind::beat) continue;
    if (f.fact.status == FactStatus::provisional) {
      CHECK(f.fact.falls >= f.fact.sample);
      ahead = true;
    }
    if (f.fact.status != FactStatus::final) continue;
    CHECK(f.fact.id > lastFinal);
    lastFinal = f.fact.id;
    ++finals;
    foretold += ahead ? 1 : 0;
    ahead = false;
  }
  CHECK(finals > 40);
  CHECK(foretold > finals - 8);
}

// Source of the sizes: DESIGN.md, "The block does not matter".
TEST_CASE("However the stream is cut into blocks, a followed clock plays the same", "[follow][blocks]") {
  const auto tunes = readTunes();
  for (std::uint64_t seed = 0; seed < 12; ++seed) {
    Manner manner;
    manner.depth = 0.15;
    manner.fermatas = seed % 3 == 0;
    manner.learner = seed % 3 == 1;
    const auto played = play(tunes[seed * 2 % tunes.size()], manner, seed);
    auto settings = followingSettings(played.meter, seed % 2 == 0);
    settings.waitForChord = seed % 4 == 1;
    const auto inputs = streamOf(played, settings);
    const auto whole = renderInBlocks(inputs, {}, performerRate, endOfStream(played));
    REQUIRE(!strikes(whole).empty());
    CHECK(unfitForAudio(whole) == "");
    for (const auto& blocks : {Blocks{{64}, {}}, Blocks{{7, 8193}, {}}, Blocks{{0, 1, 7, 64, 511, 8192, 8193}, seed}}) {
      INFO("seed " << seed << ", " << blocks.text());
      const auto cut = renderInBlocks(inputs, blocks, performerRate, endOfStream(played));
      REQUIRE(whole.events == cut.events);
      REQUIRE(whole.facts == cut.facts);
    }
  }
}

TEST_CASE("With a followed clock no note hangs and nothing that passes is touched", "[follow][contracts]") {
  for (std::uint64_t seed = 5001; seed <= 5200; ++seed) {
    HandsOptions options{48000, 12};
    options.rubbish = seed % 3 == 0;
    options.tuneChannel = seed % 2 == 0;
    auto p = randomHands(seed, options);
    auto inputs = p.score.inputs();
    for (Input& i : inputs)
      if (i.kind == InputKind::settings) {
        i.settings.follow.on = true;
        i.settings.follow.guessMeter = seed % 5 == 0;
      }
    const auto r = renderInBlocks(inputs, {{256}, {}}, options.rate, p.end);
    INFO("seed " << seed);
    CHECK(brokenContract(r, inputs) == "");
    CHECK(passedWrongly(r, inputs, p.settings) == "");
  }
}

// Learners: the accompaniment goes on and rejoins, or waits for the chord.
TEST_CASE("A learner who searches for the next chord finds the accompaniment on his own downbeat", "[follow]") {
  for (const bool lifted : {false, true})
    for (const double search : {1.1, 1.7}) {
      Hands hands;
      hands.bars(4, 3, 0.5, 0.7);
      const double next = 0.5 + 12 * 0.7, back = next + search;
      hands.chord("C3 E3 G3", next - 2.1, lifted ? next - 0.2 : back - 0.1);
      hands.bars(5, 3, back, 0.7);
      const auto told = live(followed(hands.played(back + 10), follows()));
      INFO((lifted ? "hand lifted, " : "old chord held, ") << search << " s");
      beatsAreMet(told, back, 0.7, 0, 13, 3);
    }
}

TEST_CASE("A wrong chord that is put right takes the downbeat with it", "[follow]") {
  Hands hands;
  hands.bars(4, 3, 0.5, 0.7);
  const double wrong = 0.5 + 12 * 0.7 + 1.3, right = wrong + 0.6;
  hands.chord("D3 F3 A3", wrong, right - 0.05);
  hands.bars(5, 3, right, 0.7);
  const auto told = live(followed(hands.played(right + 10), follows()));
  beatsAreMet(told, right, 0.7, 0, 13, 3);
}

TEST_CASE("With wait for my chord the pulse stays softly in the player's tempo until the learner's own downbeat",
          "[follow]") {
  Hands hands;
  const double lift = hands.bars(4, 3, 0.5, 0.6), back = lift + 6.4;
  hands.bars(4, 3, back, 0.6);
  auto settings = follows();
  settings.waitForChord = true;
  const auto played = hands.played(back + 7);
  const auto told = live(followed(played, settings));
  const auto r =
      renderInBlocks(streamOf(played, settings), {}, performerRate, Samples{std::llround((back + 7) * 48000)});
  int pulses = 0, loudest = 0;
  for (const auto& e : strikes(r)) {
    const double at = static_cast<double>(e.sample.value) / performerRate;
    if (at > lift + 1.8 && at < back - 0.01) {
      ++pulses;
      CHECK(e.bytes[2] < 64);
    }
    if (at < lift) loudest = std::max<int>(loudest, e.bytes[2]);
  }
  CHECK(loudest > 64);
  CHECK(pulses >= 6);
  beatsAreMet(told, back, 0.6, 0, 11, 3);
}
