// A round that is kept going: a progression is played once, then only the tune; the chords come by themselves, in time.
// Source of the behaviour: the project's own; that a phrase has two bars or a multiple of four: common practice, no
// source.
#include "tests/catch.h"
#include "tests/support/contracts.h"
#include "tests/support/hands.h"
#include "tests/support/music.h"
#include "tests/support/random.h"

using namespace seguente;
using namespace seguente::test;

namespace {

/// Four bars of four, a chord a bar, from the first bar on; the hand lets go a little before each bar line.
Score played(const char* idiomId = "march",
             const std::vector<const char*>& shapes = {"C3 E3 G3", "A2 C3 E3", "F3 A3 C4", "G3 B3 D4"}) {
  Score score(48000, {4, 4}, 120);
  Settings settings;
  settings.split = key("E4");
  score.with(settings).with(idiom(idiomId));
  for (std::size_t i = 0; i < shapes.size(); ++i)
    score.chord(shapes[i], quarters(4.0 * static_cast<double>(i)), quarters(4.0 * static_cast<double>(i) + 3.9));
  return score;
}

/// The roots of the chords that were told, by the bar in which each begins: "0:C 1:A".
std::string chordsTold(const Rendering& r, Ticks from = {}) {
  std::string text;
  for (const auto& f : r.facts) {
    if (f.fact.kind != FactKind::chord || f.fact.tick < from || f.fact.revision != 0) continue;
    if (f.fact.status == FactStatus::final && f.chord && !text.ends_with(symbolOf(*f.chord).view()))
      text += (text.empty() ? "" : " ") + std::to_string(f.fact.tick.value / quarters(4).value) + ":" +
              std::string(symbolOf(*f.chord).view());
    if (!f.chord) text += text.empty() ? "-" : " -";
  }
  return text;
}

/// Up to a place, and nobody ends it there.
Rendering play(const Score& score, Ticks end) {
  return renderInBlocks(score.inputs(), {}, score.rate(), score.sampleOf(end), false);
}

/// What sounds of ours in bar `bar` of four quarters, moved to the first bar.
std::string inBar(const Rendering& r, int bar, int count = 1) {
  return attacks(r, quarters(4.0 * bar), quarters(4.0 * (bar + count)));
}

}  // namespace

TEST_CASE("A progression that was played once goes on by itself when it is asked to", "[engine][round]") {
  Score score = played();
  score.signal(Gesture::round, quarters(14));
  const auto r = play(score, quarters(16 * 3 + 8));
  CHECK(chordsTold(r) == "0:C 1:Am 2:F 3:G 4:C 5:Am 6:F 7:G 8:C 9:Am 10:F 11:G 12:C 13:Am");
  // Played in time, and by the same figures as under the hand: the first whole round of its own against the second.
  for (int bar = 4; bar < 8; ++bar) CHECK(inBar(r, bar) == inBar(r, bar + 4));
  for (const Event& e : strikes(r))
    if (e.reason.dueTick >= quarters(16)) CHECK(e.sample == score.sampleOf(e.tick));
}

TEST_CASE("Without the signal the figure stops with the hand", "[engine][round]") {
  Score score = played();
  const auto r = play(score, quarters(32));
  CHECK(inBar(r, 6) == "");
}

TEST_CASE("The tune passes, and two keys of the chord hand take over from the round", "[engine][round]") {
  Score score = played();
  score.signal(Gesture::round, quarters(14));
  score.tune("E5", quarters(16), quarters(17)).tune("C4", quarters(18), quarters(19));  // below the split
  score.chord("D3 F3 A3", quarters(24), quarters(27.9));
  const auto r = play(score, quarters(40));
  CHECK(chordsTold(r) == "0:C 1:Am 2:F 3:G 4:C 5:Am 6:Dm -");
  CHECK(inBar(r, 9) == "");  // the hand let go: the round is over
}

TEST_CASE("A chord that is back after four bars is the round's second beginning", "[engine][round]") {
  Score score = played("march", {"C3 E3 G3", "A2 C3 E3", "F3 A3 C4", "G3 B3 D4", "C3 E3 G3"});
  score.signal(Gesture::round, quarters(17));
  const auto r = play(score, quarters(38));
  CHECK(chordsTold(r) == "0:C 1:Am 2:F 3:G 4:C 5:Am 6:F 7:G 8:C 9:Am");
}

TEST_CASE("A round that ends on its first chord stays there for both bars", "[engine][round]") {
  Score score = played("march", {"C3 E3 G3", "F3 A3 C4", "G3 B3 D4", "C3 E3 G3"});
  score.signal(Gesture::round, quarters(13));
  const auto r = play(score, quarters(30));
  CHECK(chordsTold(r) == "0:C 1:F 2:G 3:C 5:F 6:G 7:C");
}

TEST_CASE("What came before a silence of more than a bar is no part of the round", "[engine][round]") {
  Score score(48000, {4, 4}, 120);
  score.with(idiom("march"));
  score.chord("E3 G#3 B3", {}, quarters(3.9));
  score.chord("C3 E3 G3", quarters(16), quarters(19.9)).chord("G2 B2 D3", quarters(20), quarters(23.9));
  score.signal(Gesture::round, quarters(22));
  const auto r = play(score, quarters(40));
  CHECK(chordsTold(r, quarters(16)) == "4:C 5:G 6:C 7:G 8:C 9:G");
}

TEST_CASE("A progression heard twice is the round, however it began", "[engine][round]") {
  Score score(48000, {4, 4}, 120);
  score.with(idiom("march"));
  score.chord("E3 G#3 B3", {}, quarters(3.9));  // an introduction
  for (int i = 0; i < 2; ++i) {
    score.chord("C3 E3 G3", quarters(4 + 8 * i), quarters(7.9 + 8 * i));
    score.chord("F3 A3 C4", quarters(8 + 8 * i), quarters(11.9 + 8 * i));
  }
  score.chord("C3 E3 G3", quarters(20), quarters(23.9)).signal(Gesture::round, quarters(22));
  const auto r = play(score, quarters(36));
  CHECK(chordsTold(r, quarters(20)) == "5:C 6:F 7:C 8:F");
}

TEST_CASE("Asked again, the round lets go; End closes it", "[engine][round]") {
  Score score = played();
  score.signal(Gesture::round, quarters(14)).signal(Gesture::round, quarters(22));
  const auto off = play(score, quarters(40));
  CHECK(inBar(off, 6, 4) == "");
  CHECK(chordsTold(off).ends_with("5:Am -"));
  Score ended = played();
  ended.signal(Gesture::round, quarters(14)).signal(Gesture::end, quarters(19.9));
  const auto r = play(ended, quarters(60));
  int closing = 0;
  for (const Event& e : strikes(r)) {
    if (e.reason.dueTick < quarters(20)) continue;
    CHECK(e.reason.reason == Reason::cadence);
    ++closing;
  }
  CHECK(closing > 0);
  CHECK(hangingNotes(r) == "");
}

TEST_CASE("While the singer's note is held the round waits, and goes on in whole bars", "[engine][round]") {
  Score score = played();
  score.signal(Gesture::round, quarters(14));
  score.signal(Gesture::hold, quarters(18.9)).signal(Gesture::goOn, quarters(25.9));  // C held from 19 to 26
  const auto r = play(score, quarters(40));
  // Am was due at 20: go on came within bar 6, so it comes at the next bar line, 28.
  CHECK(chordsTold(r) == "0:C 1:Am 2:F 3:G 4:C 7:Am 8:F 9:G");
  CHECK(attacks(r, quarters(19.5), quarters(25.9)) == "");
}

TEST_CASE("A hold that ends before the chord was due moves nothing", "[engine][round]") {
  Score score = played();
  score.signal(Gesture::round, quarters(14));
  score.signal(Gesture::hold, quarters(16.9)).signal(Gesture::goOn, quarters(17.9));
  CHECK(chordsTold(play(score, quarters(30))) == "0:C 1:Am 2:F 3:G 4:C 5:Am 6:F 7:G");
}

TEST_CASE("A hold that is taken back before its beat leaves no step to come late", "[engine][hold]") {
  Score score(48000, {4, 4}, 60);
  score.with(idiom("boogie-woogie")).chord("C3 E3 G3", {}, quarters(16));
  score.signal(Gesture::hold, quarters(4.1)).signal(Gesture::goOn, quarters(4.8));
  const auto r = play(score, quarters(12));
  CHECK(lateWithoutCause(r) == "");
  CHECK(attacks(r, quarters(4.2), quarters(4.95)) == "");
  CHECK(attacks(r, quarters(5), quarters(6)) != "");
}

TEST_CASE("An idiom whose bar goes by while the chord is held on enters where it goes on, and nothing comes late",
          "[engine][hold]") {
  Score score(48000, {4, 4}, 120);
  score.with(idiom("march")).chord("C3 E3 G3", quarters(0), quarters(31));
  score.add(score.sampleOf(quarters(2.5)),
            Input::of(score.sampleOf(quarters(2.5)), IdiomRef{&idiom("held-chords"), 7}));
  score.signal(Gesture::hold, quarters(2.9)).signal(Gesture::goOn, quarters(9.2));
  const auto r = play(score, quarters(16));
  bool enters = false;
  for (const Event& e : strikes(r)) {
    CHECK(e.sample == score.sampleOf(e.reason.dueTick));
    CHECK_FALSE((e.tick > quarters(3) && e.tick < quarters(10)));
    enters = enters || e.tick == quarters(10);
  }
  CHECK(enters);
}

TEST_CASE("A host's loop carries the round on, and a host that stops ends it", "[engine][round]") {
  Score score = played();
  score.signal(Gesture::round, quarters(14));
  score.jump(score.sampleOf(quarters(24)), quarters(16));  // in the round's third bar, back by two
  const auto r = play(score, quarters(30));
  std::string after;
  for (const auto& f : r.facts)
    if (f.fact.kind == FactKind::chord && f.chord && f.fact.sample >= Samples{24 * 24000} && f.fact.revision == 0)
      after += std::string(symbolOf(*f.chord).view()) + " ";
  CHECK(after == "F G C Am ");
  Score stopped = played();
  stopped.signal(Gesture::round, quarters(14)).stop(quarters(18));
  const auto silent = play(stopped, quarters(40));
  for (const Event& e : strikes(silent)) CHECK(e.sample < stopped.sampleOf(quarters(18)));
}

TEST_CASE("A chord that was struck early before the signal is part of the round", "[engine][round]") {
  Score score = played("march", {"C3 E3 G3", "A2 C3 E3"});
  score.chord("F3 A3 C4", quarters(7.92), quarters(11.9));
  score.signal(Gesture::round, quarters(7.95));
  const auto r = play(score, quarters(30));
  CHECK(chordsTold(r) == "0:C 1:Am 2:F 3:C 4:Am 5:F 6:C 7:Am");
}

TEST_CASE("A round that is asked for while a host stands still waits for it, and the call comes back",
          "[engine][round]") {
  Score score = played("march", {"C3 E3 G3"});
  score.stop(quarters(7.9));
  const Samples stop = score.sampleOf(quarters(7.9));
  Samples at = stop + Samples{100};
  for (const char* name : {"A2", "C3", "E3", "F2"}) {  // another root, while the fingers land just before a beat
    score.message({0x90, static_cast<std::uint8_t>(key(name).value), 70}, at);
    at = at + Samples{400};
  }
  score.add(at + Samples{2000}, Input::of(at + Samples{2000}, Gesture::round));
  const auto r = renderInBlocks(score.inputs(), {}, score.rate(), stop + Samples{480000}, false);
  // A plain chord sounds as it is held, and no figure plays. (It once asked for ever when its place would come.)
  for (const Event& e : strikes(r)) CHECK((e.sample < stop || e.reason.reason != Reason::step));
}

TEST_CASE("Basses that lead on know what comes in a kept round", "[engine][round][foresight]") {
  Score score = played("walking-bass");
  score.signal(Gesture::round, quarters(14));
  int led = 0;
  for (const Event& e : strikes(play(score, quarters(40)))) {
    const bool leads = e.reason.play == PlayKind::nextBass || e.reason.play == PlayKind::approach;
    if (!leads || e.reason.dueTick < quarters(14.5)) continue;
    CHECK(e.reason.expected == ExpectedSource::round);
    ++led;
  }
  CHECK(led > 3);
}

TEST_CASE("The engine says where the round begins again and which chord is next", "[engine][round]") {
  Score score = played();
  score.signal(Gesture::round, quarters(14));
  const auto inputs = score.inputs();
  Engine engine;
  engine.prepare(48000);
  const Sink nowhere{nullptr, [](void*, const Output&) {}, nullptr};
  CHECK(!engine.round().kept);
  engine.process(inputs, score.sampleOf(quarters(21)), nowhere);
  CHECK(engine.round().kept);
  CHECK(engine.round().beginsAgain == quarters(32));
  CHECK(engine.round().length == quarters(16));
  const NextChord next = engine.nextChord();
  REQUIRE(next.known);
  CHECK(symbolOf(next.chord).view() == "F");
  CHECK(next.at == quarters(24));
}

// Source of the sizes: DESIGN.md, "The block does not matter". Random hands and transports, with signals.
TEST_CASE("Kept rounds under random hands: blocks do not matter and no contract is broken", "[engine][round][blocks]") {
  int byThemselves = 0;
  for (std::uint64_t seed = 1; seed <= 200; ++seed) {
    HandsOptions options{48000, 12};
    options.transport = seed % 3 == 0;
    options.tuneChannel = seed % 2 == 0;
    options.listening = seed % 5 == 0;
    options.rubbish = seed % 7 == 0;
    auto p = randomHands(seed, options);
    Random random(seed);
    for (Samples at{}; at < p.end; at = at + Samples{random.between(20000, 160000)})
      p.score.add(at, Input::of(at, random.oneOf(std::vector{Gesture::round, Gesture::round, Gesture::round,
                                                             Gesture::hold, Gesture::goOn, Gesture::end})));
    // Somewhere the chord hand rests for good, so that rounds have room.
    auto inputs = p.score.inputs();
    const Samples rest{random.between(3, 8) * 48000};
    std::erase_if(inputs, [&](const Input& i) {
      return i.kind == InputKind::midi && i.midi.noteOn() && i.midi.bytes[1] < 60 && i.sample > rest;
    });
    INFO("seed " << seed);
    const auto whole = renderInBlocks(inputs, {}, options.rate, p.end);
    const auto broken = brokenContract(whole, inputs);
    REQUIRE(broken == "");
    for (const auto& blocks : {Blocks{{64}, {}}, Blocks{{0, 1, 7, 64, 511, 8192, 8193}, seed}})
      REQUIRE(firstDifference(whole, renderInBlocks(inputs, blocks, options.rate, p.end), p.score) == "");
    for (const Event& e : strikes(whole))
      byThemselves += e.sample > rest + Samples{2 * 48000} && e.reason.reason == Reason::step;
  }
  CHECK(byThemselves > 500);  // and rounds do go on by themselves
}
