// What comes next, as far as it can be known: from keys pressed early, from a chart, from the round just heard.
// A progression that has come round twice is expected a third time. Source: none; the bars are the project's own.
#include <cstdio>
#include <map>

#include "dsp/expected.h"
#include "tests/catch.h"
#include "tests/shelf/room.h"
#include "tests/support/music.h"

using namespace seguente;
using namespace seguente::test;

namespace {

struct Anticipated {
  int right = 0, wrong = 0, unknown = 0;
  void add(const Anticipated& o) {
    right += o.right;
    wrong += o.wrong;
    unknown += o.unknown;
  }
  double percent() const { return right + wrong > 0 ? 100.0 * right / (right + wrong) : 100.0; }
};

/// A tune's chords, some verses of them, under an idiom that leads on; judged from a verse on (0 is the first).
Anticipated verses(const std::string& id, const Tune& tune, int count, int judgedFrom, bool chart) {
  const Ticks barStart = quarters(tune.pickup);
  Score score(48000, tune.meter, tune.quartersPerMinute, barStart);
  Settings settings;
  settings.handRule = HandRule::noMelody;
  settings.density = Density::full;
  score.with(settings).with(idiom(id));
  const Ticks verse = quarters(tune.length);
  std::vector<Expectation> charted;
  std::vector<std::pair<Ticks, Chord>> begins;
  for (int v = 0; v < count; ++v)
    for (const TuneChord& c : tune.chords) {
      if (c.chord.none()) continue;
      const Ticks from = verse * v + quarters(c.at), to = from + quarters(c.length);
      std::string names;
      int key = 47;
      for (std::size_t i = 0; i < std::min<std::size_t>(c.chord.count, 4); ++i) {
        const int wanted = (c.chord.root.value + c.chord.tones[i]) % 12;
        key = key + 1 + ((wanted - key - 1) % 12 + 12) % 12;
        names += (names.empty() ? "" : " ") + keyName({static_cast<std::uint8_t>(key)});
      }
      score.chord(names, from, to - Ticks{quarter.value / 16});
      charted.push_back({from, to, c.chord, false, false});
      begins.emplace_back(from, c.chord);
    }
  if (chart) score.with(ChartRef{charted.data(), charted.size()});
  const Rendering r = render(score, verse * count);
  Anticipated found;
  for (const Event& e : strikes(r)) {
    const bool leads = e.reason.play == PlayKind::nextBass || e.reason.play == PlayKind::approach;
    if (!leads || e.reason.dueTick < verse * judgedFrom) continue;
    if (e.reason.expected == ExpectedSource::nobody) {
      ++found.unknown;
      continue;
    }
    // The chord that is in force a beat later.
    const Ticks then = e.reason.dueTick + tune.meter.beat();
    const Chord* next = nullptr;
    for (const auto& [from, chord] : begins)
      if (from <= then) next = &chord;
    if (then >= verse * count || next == nullptr) continue;
    (next->root == e.reason.goal ? found.right : found.wrong) += 1;
  }
  return found;
}

}  // namespace

TEST_CASE("A progression that has come round twice is expected a third time", "[shelf][foresight]") {
  Foresight foresight;
  const auto chordOf = [](const char* symbol) { return *parseSymbol(symbol); };
  const std::array<Chord, 4> round{chordOf("C"), chordOf("Am"), chordOf("F"), chordOf("G7")};
  for (int i = 0; i < 4; ++i) foresight.chordBegan(round[static_cast<std::size_t>(i)], quarters(4 * i));
  CHECK(foresight.silent());
  for (int i = 4; i < 9; ++i) foresight.chordBegan(round[static_cast<std::size_t>(i % 4)], quarters(4 * i));
  const Expected now = foresight.expected(quarters(4 * 8 + 1));
  REQUIRE(now.chord != nullptr);
  CHECK(now.chord->root == PitchClass{0});
  CHECK(now.to == quarters(4 * 9));
  const Expected next = foresight.expected(quarters(4 * 9));
  REQUIRE(next.chord != nullptr);
  CHECK(*next.chord == round[1]);
  CHECK(next.from == quarters(4 * 9));
  CHECK(next.source == ExpectedSource::round);
  const int once = next.confidence;
  // The longer it goes round, the surer.
  for (int i = 9; i < 17; ++i) foresight.chordBegan(round[static_cast<std::size_t>(i % 4)], quarters(4 * i));
  CHECK(foresight.expected(quarters(4 * 16 + 1)).confidence > once);
  // Something else comes: nothing is expected any more.
  foresight.chordBegan(chordOf("Bb"), quarters(4 * 17));
  CHECK(foresight.silent());
}

TEST_CASE("What was expected and has not come is not expected for ever", "[shelf][foresight]") {
  Foresight foresight;
  const std::array<Chord, 2> round{*parseSymbol("C"), *parseSymbol("F")};
  for (int i = 0; i < 9; ++i) foresight.chordBegan(round[static_cast<std::size_t>(i % 2)], quarters(4 * i));
  CHECK(foresight.expected(quarters(4 * 9)).chord != nullptr);
  CHECK(foresight.expected(quarters(4 * 9 + 2)).chord == nullptr);
}

TEST_CASE("Keys pressed early go before the chart", "[shelf][foresight]") {
  const Expectation charted{{}, quarters(8), *parseSymbol("C"), false, false};
  const Chord early = *parseSymbol("F");
  Foresight foresight;
  foresight.setChart({&charted, 1});
  foresight.pressedEarly(&early, quarters(4));
  CHECK(foresight.expected(quarters(3)).source == ExpectedSource::chart);
  CHECK(foresight.expected(quarters(4)).source == ExpectedSource::keys);
  CHECK(foresight.expected(quarters(4)).chord->root == PitchClass{5});
  foresight.pressedEarly(nullptr);
  CHECK(foresight.expected(quarters(4)).source == ExpectedSource::chart);
}

TEST_CASE("Anticipated notes are right: with a chart, and from the second round on", "[shelf][foresight]") {
  Anticipated charted, rounds;
  for (const Tune& tune : referenceTunes())
    for (const char* id : {"walking-bass", "montuno", "bossa-nova"}) {
      charted.add(verses(id, tune, 2, 0, true));
      rounds.add(verses(id, tune, 4, 1, false));
    }
  std::printf("anticipated, with a chart: %.2f %% of %d (nobody knew: %d); from the second round: %.2f %% of %d (%d)\n",
              charted.percent(), charted.right + charted.wrong, charted.unknown, rounds.percent(),
              rounds.right + rounds.wrong, rounds.unknown);
  CHECK(charted.percent() >= 99);
  CHECK(charted.right > 500);
  CHECK(rounds.percent() >= 90);
  CHECK(rounds.right > 900);
  CHECK(rounds.unknown < rounds.right);  // and it does expect something
}

TEST_CASE("A wrong expectation sounds no longer than the one anticipated note", "[shelf][foresight]") {
  // Three rounds of C F, and then a G where F was expected: the anticipated note ends when the G comes, or at its own
  // end, and every other note of ours is of the chord that is held.
  Score score(48000, {4, 4}, 120);
  score.with(idiom("montuno"));
  const char* shapes[] = {"C3 E3 G3", "C3 F3 A3"};
  for (int i = 0; i < 7; ++i) score.chord(shapes[i % 2], quarters(4 * i), quarters(4 * i + 3.9));
  score.chord("B2 D3 G3", quarters(28), quarters(31.9));
  const Rendering r = render(score, quarters(32));
  int wrong = 0;
  for (const Event& e : strikes(r)) {
    if (e.reason.expected != ExpectedSource::round || e.reason.goal == PitchClass{7}) continue;
    if (e.reason.dueTick < quarters(26) || e.reason.dueTick >= quarters(28)) continue;
    ++wrong;
    CHECK(endOf(r, e.noteId) <= score.sampleOf(quarters(28)));
  }
  CHECK(wrong == 1);
  for (const Event& e : strikes(r))
    if (e.reason.dueTick >= quarters(28)) CHECK(e.note().value % 12 != 5);
}
