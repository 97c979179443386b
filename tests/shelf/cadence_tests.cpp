// Cadences told apart, turnaround and tag: how a piece and its phrases end, and what is done only when it is asked for.
// Sources: full and half cadence as any harmony handbook defines them (V-I at the end; a phrase that ends on V). The
// figures: the table of tests/reference/idioms (its column "cadence") where a source stands; else common practice.
#include <algorithm>
#include <map>
#include <set>

#include "dsp/harmony.h"
#include "tests/catch.h"
#include "tests/support/music.h"

using namespace seguente;
using namespace seguente::test;

namespace {

Settings inCMajor(Density density = Density::medium) {
  Settings settings;
  settings.density = density;
  settings.key = *parseKey("C");
  return settings;
}

/// One chord a bar from the first bar line on, in C major; a note of the tune first, so that nothing vamps.
Score bars(const std::string& id, const std::vector<std::string>& chords, Settings settings = inCMajor()) {
  const Idiom& ours = idiom(id);
  Score score(48000, ours.meter, 120);
  score.with(settings).with(ours).tune("C7", {}, quarters(0.1));
  const Ticks bar = ours.meter.bar(), gap{quarter.value / 20};
  for (std::size_t i = 0; i < chords.size(); ++i) {
    const auto n = static_cast<std::int64_t>(i);
    if (i > 0 && chords[i] == chords[i - 1]) continue;
    std::size_t last = i;
    while (last + 1 < chords.size() && chords[last + 1] == chords[i]) ++last;
    score.chord(chords[i], bar * n, bar * (static_cast<std::int64_t>(last) + 1) - gap);
  }
  return score;
}

const std::string C = "C3 E3 G3", F = "F3 A3 C4", G = "G3 B3 D4", Dm = "D3 F3 A3", Am = "A3 C4 E4", Cm = "C3 Eb3 G3";

std::set<FigureKind> kinds(const std::vector<Event>& strokes, Ticks from, Ticks to) {
  std::set<FigureKind> out;
  for (const auto& e : strokes)
    if (e.reason.dueTick >= from && e.reason.dueTick < to) out.insert(e.reason.figure);
  return out;
}

/// The lowest key of each stroke of a part's kind, as pitch classes: "C A D G".
std::string line(const Idiom& ours, const std::vector<Event>& strokes, PartKind kind, Ticks from, Ticks to) {
  std::string out;
  std::map<Ticks, int> lowest;
  for (const auto& e : strokes)
    if (ours.parts[e.reason.part].kind == kind && e.reason.dueTick >= from && e.reason.dueTick < to) {
      const auto [at, first] = lowest.try_emplace(e.reason.dueTick, e.note().value);
      at->second = std::min<int>(at->second, e.note().value);
    }
  for (const auto& [tick, low] : lowest) {
    auto name = keyName({static_cast<std::uint8_t>(low)});
    name.pop_back();
    out += (out.empty() ? "" : " ") + name;
  }
  return out;
}

std::set<int> classes(const std::vector<Event>& strokes, Ticks from, Ticks to) {
  std::set<int> out;
  for (const auto& e : strokes)
    if (e.reason.dueTick >= from && e.reason.dueTick < to) out.insert(e.note().value % 12);
  return out;
}

}  // namespace

TEST_CASE("A full cadence closes V-I in its own way, and what comes from elsewhere closes plainly", "[shelf]") {
  for (const auto density : {Density::lean, Density::medium, Density::full})
    for (const auto* id : {"march", "reel-vamp", "jig-vamp", "ragtime", "waltz", "walking-bass", "gospel-bounce"})
      for (const bool fromDominant : {true, false}) {
        INFO(id << ", density " << static_cast<int>(density));
        const Ticks bar = idiom(id).meter.bar();
        auto score = bars(id, {C, fromDominant ? G : F, C, C, C, C}, inCMajor(density));
        score.signal(Gesture::end, bar * 2 + Ticks{bar.value * 9 / 10});
        const auto strokes = strikes(render(score, bar * 8));
        CHECK(strokes.back().reason.figure == (fromDominant ? FigureKind::fullCadence : FigureKind::end));
        CHECK(strokes.back().reason.dueTick < bar * 5);  // and then nothing more
        CHECK(strokes.back().reason.dueTick >= bar * 3);
      }
}

TEST_CASE("March, reel, jig and ragtime close V-I with one, five, one in the bass", "[shelf]") {
  // The table's cadences: march 1-5-1, ragtime low 5 low 1 with the chord, reel and jig low 5 low 1.
  for (const auto* id : {"march", "reel-vamp", "jig-vamp", "ragtime"}) {
    INFO(id);
    const Ticks bar = idiom(id).meter.bar();
    auto score = bars(id, {C, G, C, C, C});
    score.signal(Gesture::end, bar * 2 + Ticks{bar.value * 9 / 10});
    CHECK(line(idiom(id), strikes(render(score, bar * 8)), PartKind::bass, bar * 3, bar * 8) == "C G C");
  }
}

TEST_CASE("A gospel bounce closes V-I with octaves that walk five, four, three, two, one", "[shelf]") {  // the table
  const Ticks bar = quarters(4);
  auto score = bars("gospel-bounce", {C, G, C, C, C, C});
  score.signal(Gesture::end, quarters(11.5));
  CHECK(line(idiom("gospel-bounce"), strikes(render(score, bar * 8)), PartKind::bass, bar * 3, bar * 8) ==
        "C G F E D C");
}

TEST_CASE("In another key the fifth before is no dominant", "[shelf]") {
  // C-F with the key of C known: I-IV, which is no cadence on F.
  auto score = bars("march", {C, C, F, F, F});
  score.signal(Gesture::end, quarters(5.9));
  CHECK(strikes(render(score, quarters(16))).back().reason.figure == FigureKind::end);
}

TEST_CASE("Where four bars end on the dominant the country bass walks five, six, seven to the tonic", "[shelf]") {
  // The table: "bass walks 5-6-7 into the next root"; the dominant's own 1 2 3.
  for (const auto density : {Density::lean, Density::medium, Density::full})
    for (const auto* id : {"country-two-beat", "march", "polka", "ragtime", "reel-vamp"}) {
      INFO(id << ", density " << static_cast<int>(density));
      const Ticks bar = idiom(id).meter.bar();
      const auto strokes = strikes(render(bars(id, {C, C, F, G, C, C, F, G, C}, inCMajor(density)), bar * 9));
      for (const int end : {3, 7}) {
        CHECK(kinds(strokes, bar * end, bar * (end + 1)) == std::set{FigureKind::halfCadence});
        CHECK(line(idiom(id), strokes, PartKind::bass, bar * end, bar * (end + 1) + Ticks{1}) == "G A B C");
      }
      CHECK(!kinds(strokes, bar * 0, bar * 3).contains(FigureKind::halfCadence));
      CHECK(!kinds(strokes, bar * 4, bar * 7).contains(FigureKind::halfCadence));
    }
}

TEST_CASE("A dominant inside a phrase is no half cadence", "[shelf]") {
  const auto strokes = strikes(render(bars("country-two-beat", {C, G, G, C, C, G, C, C}), quarters(32)));
  CHECK(!kinds(strokes, {}, quarters(32)).contains(FigureKind::halfCadence));
}

TEST_CASE("At a half cadence a waltz's chord stays open, a hymn breathes on four, an Alberti bass comes to rest",
          "[shelf]") {  // common practice, no source
  struct Row {
    const char* id;
    double silentFrom;  // quarters: nothing is struck from here to the bar line
  };
  for (const auto& [id, from] : {Row{"waltz", 1.5}, Row{"hymn", 0.5}, Row{"minuet", 0.5}, Row{"alberti-bass", 2.5}}) {
    INFO(id);
    const Ticks bar = idiom(id).meter.bar();
    const auto strokes = strikes(render(bars(id, {C, C, F, G, C}), bar * 5));
    CHECK(kinds(strokes, bar * 3, bar * 4) == std::set{FigureKind::halfCadence});
    for (const auto& e : strokes) CHECK((e.reason.dueTick < bar * 3 + quarters(from) || e.reason.dueTick >= bar * 4));
  }
}

TEST_CASE("No idiom turns round unless it is asked to", "[shelf]") {
  // DESIGN: no idiom invents harmony under a held chord unless asked or charted.
  for (const auto& id : idiomIds())
    for (const auto density : {Density::lean, Density::medium, Density::full}) {
      const Ticks bar = idiom(id).meter.bar();
      const auto strokes =
          strikes(render(bars(id, {C, C, C, C, F, F, G, C, C, C, C, C, F, G, C, C}, inCMajor(density)), bar * 16));
      CHECK(!kinds(strokes, {}, bar * 16).contains(FigureKind::turnaround));
    }
}

TEST_CASE("Asked for, the bass goes I vi ii V from the next bar line, and the tune's form begins again", "[shelf]") {
  // I-vi-ii-V is the trade's turnaround: common practice; in minor i-VI-iio-V of the harmonic minor scale.
  for (const auto density : {Density::lean, Density::medium, Density::full})
    for (const auto* id : {"swing-two-feel", "stride", "charleston"})
      for (const bool minor : {false, true}) {
        INFO(id << ", density " << static_cast<int>(density) << (minor ? ", minor" : ""));
        const Ticks bar = quarters(4);
        auto score = bars(id, std::vector<std::string>(6, minor ? Cm : C), inCMajor(density));
        score.signal(Gesture::turnaround, quarters(6.2));
        const auto strokes = strikes(render(score, bar * 6));
        CHECK(kinds(strokes, bar * 2, bar * 4) == std::set{FigureKind::turnaround});
        CHECK(!kinds(strokes, bar * 4, bar * 6).contains(FigureKind::turnaround));
        CHECK(line(idiom(id), strokes, PartKind::bass, bar * 2, bar * 4) == (minor ? "C Ab D G" : "C A D G"));
        CHECK(line(idiom(id), strokes, PartKind::bass, bar * 4, bar * 4 + Ticks{1}) == "C");
        const auto has = [&](double at, const std::set<int>& chord) {
          for (const int p : classes(strokes, bar * 2 + quarters(at), bar * 2 + quarters(at + 2)))
            CHECK(chord.contains(p));
        };
        const int third = minor ? 3 : 4;
        has(0, {0, third, 7});
        has(2, minor ? std::set{8, 0, 3} : std::set{9, 0, 4});
        has(4, minor ? std::set{2, 5, 8, 0} : std::set{2, 5, 9, 0});
        has(6, {7, 11, 2, 5});
        CHECK(classes(strokes, bar * 2 + quarters(6), bar * 4).contains(11));  // the leading note leads back
      }
}

TEST_CASE("A blues turns round I7 IV7 I7 V7, two beats each", "[shelf]") {  // the table's cadence of both blues
  for (const auto density : {Density::lean, Density::medium, Density::full}) {
    const Ticks bar = quarters(4), slowBar = quarters(6);
    auto shuffle = bars("blues-shuffle", std::vector<std::string>(5, C), inCMajor(density));
    shuffle.signal(Gesture::turnaround, quarters(3.9));
    CHECK(line(idiom("blues-shuffle"), strikes(render(shuffle, bar * 5)), PartKind::bass, bar, bar * 3) ==
          "C C C C F F F F C C C C G G G G");
    auto slow = bars("slow-blues", std::vector<std::string>(5, C), inCMajor(density));
    slow.signal(Gesture::turnaround, quarters(5.9));
    const auto strokes = strikes(render(slow, slowBar * 5));
    CHECK(line(idiom("slow-blues"), strokes, PartKind::bass, slowBar, slowBar * 3) == "C F C G");
    CHECK(classes(strokes, slowBar, slowBar + quarters(3)).contains(10));  // sevenths, though the hand holds none
  }
}

TEST_CASE("A walking bass turns round to a note that leads home", "[shelf]") {
  auto score = bars("walking-bass", std::vector<std::string>(6, C));
  score.signal(Gesture::turnaround, quarters(3.9));
  const auto walk =
      line(idiom("walking-bass"), strikes(render(score, quarters(24))), PartKind::bass, quarters(4), quarters(13));
  CHECK((walk == "C E A C D F G B C" || walk == "C E A C D F G D C"));  // by step from below or from above
}

TEST_CASE("A hand that plays a chord of its own ends the turnaround", "[shelf]") {
  auto score = bars("swing-two-feel", {C, C, F, F, F});
  score.signal(Gesture::turnaround, quarters(3.9));
  const auto r = render(score, quarters(20));
  const auto strokes = strikes(r);
  CHECK(kinds(strokes, quarters(4), quarters(8)).contains(FigureKind::turnaround));
  CHECK(!kinds(strokes, quarters(8), quarters(20)).contains(FigureKind::turnaround));
  CHECK(line(idiom("swing-two-feel"), strokes, PartKind::bass, quarters(8), quarters(9)) == "F");
  const std::set chord{5, 9, 0};
  INFO(attacks(r, quarters(8), quarters(12)));
  for (const int p : classes(strokes, quarters(8), quarters(12))) CHECK(chord.contains(p));
}

TEST_CASE("An idiom without a turnaround goes on when it is asked for one", "[shelf]") {
  auto score = bars("waltz", std::vector<std::string>(4, C));
  score.signal(Gesture::turnaround, quarters(2.9));
  const auto asked = strikes(render(score, quarters(12)));
  const auto plain = strikes(render(bars("waltz", std::vector<std::string>(4, C)), quarters(12)));
  REQUIRE(asked.size() == plain.size());
  for (std::size_t i = 0; i < asked.size(); ++i) CHECK(asked[i].note() == plain[i].note());
}

TEST_CASE("A chart may ask for the turnaround, under a chord that stays and under one that is struck there",
          "[shelf]") {
  const auto c = parseSymbol("C"), f = parseSymbol("F");
  for (const bool stays : {true, false}) {
    const std::vector<Expectation> chart = {{{}, quarters(4), stays ? *c : *f},
                                            {quarters(4), quarters(12), *c, false, false, true},
                                            {quarters(12), quarters(20), *c}};
    auto score = bars("swing-two-feel", {stays ? C : F, C, C, C, C});
    score.with(ChartRef{chart.data(), chart.size()});
    const auto strokes = strikes(render(score, quarters(20)));
    CHECK(kinds(strokes, quarters(4), quarters(12)) == std::set{FigureKind::turnaround});
    CHECK(!kinds(strokes, quarters(12), quarters(20)).contains(FigureKind::turnaround));
  }
}

TEST_CASE("A tag is the last four bars once more, known beforehand, and then the close by itself", "[shelf]") {
  for (const auto density : {Density::lean, Density::medium, Density::full}) {
    const Ticks bar = quarters(4);
    auto score = bars("walking-bass", {C, C, F, F, Am, Dm, G, C, Am, Dm, G, C, C, C}, inCMajor(density));
    score.signal(Gesture::tag, quarters(29));
    const auto strokes = strikes(render(score, bar * 14));
    for (const auto& e : strokes) {
      if (e.reason.dueTick < bar * 8 || e.reason.dueTick >= bar * 11 || e.reason.play != PlayKind::approach) continue;
      CHECK(e.reason.expected == ExpectedSource::chart);  // to Dm, G and C
      const int bars = static_cast<int>(e.reason.dueTick.value / bar.value);
      CHECK(e.reason.goal == PitchClass::of(bars == 8 ? 2 : bars == 9 ? 7 : 0));
    }
    CHECK(kinds(strokes, bar * 8, bar * 11).contains(FigureKind::statement));
    CHECK(strokes.back().reason.figure == FigureKind::fullCadence);
    CHECK(strokes.back().reason.dueTick < bar * 12);
    CHECK(strokes.back().reason.dueTick >= bar * 11);
  }
}

TEST_CASE("A tag over one chord closes in its last bar", "[shelf]") {
  auto score = bars("march", std::vector<std::string>(12, C));
  score.signal(Gesture::tag, quarters(7.5));
  const auto strokes = strikes(render(score, quarters(24)));
  CHECK(strokes.back().reason.figure == FigureKind::end);
  CHECK(strokes.back().reason.dueTick < quarters(16));
  CHECK(strokes.back().reason.dueTick >= quarters(14));
}
