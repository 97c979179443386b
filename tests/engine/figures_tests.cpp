// Sentences about music that the shipped idioms must fulfil when they are played. Sources as in figures.json: Mac
// (MacDowell 1912), LMT (LearnMusicTheory.net, s. 5.1), Fitz (Fitzgerald, walking bass), Bos (a bossa bass page).
#include <algorithm>

#include "dsp/idiom_file.h"
#include "tests/catch.h"
#include "tests/support/music.h"

using namespace seguente;
using namespace seguente::test;

namespace {

const std::vector<std::string> beginnersShapes = {"C3 E3 G3", "C3 F3 A3", "B2 F3 G3"};

/// Plays each shape for `bars` bars of the idiom's own meter and says what came in the first bar of each.
std::vector<std::string> eachBar(const std::string& id, const std::vector<std::string>& shapes, int bars = 1,
                                 Density density = Density::medium, int part = -1) {
  const Meter meter = idiom(id).meter;
  Score score(48000, meter, 120);
  Settings settings;
  settings.density = density;
  score.with(settings).with(idiom(id));
  const auto length = meter.bar() * bars;
  for (std::size_t i = 0; i < shapes.size(); ++i) {
    const auto at = length * static_cast<std::int64_t>(i);
    score.chord(shapes[i], at, at + length - quarters(0.05));
    score.tune("C7", at, at + quarters(0.1));  // far above: the tune has begun
  }
  const auto r = render(score, length * static_cast<std::int64_t>(shapes.size()));
  std::vector<std::string> out;
  for (std::size_t i = 0; i < shapes.size(); ++i) {
    const auto at = length * static_cast<std::int64_t>(i);
    out.push_back(attacks(r, at, at + meter.bar(), Names::pitchClasses, part));
  }
  return out;
}

/// "0:C+G 1:C+G 2:C+A" -> "C+G C+A": what is struck, without times and repeats, so that every density may say it.
std::string order(const std::string& attacks) {
  std::string out, last;
  for (std::size_t from = 0; from < attacks.size();) {
    const auto end = std::min(attacks.find(' ', from), attacks.size());
    const auto word = attacks.substr(from, end - from);
    from = end + 1;
    const auto colon = word.find(':');
    const auto what = word.substr(colon + 1);
    if (what != last) out += (out.empty() ? "" : " ") + what;
    last = what;
  }
  return out;
}

std::string transposed(const std::string& names, int semitones) {
  std::string out;
  for (const auto k : keys(names)) {
    const NoteNumber moved{static_cast<std::uint8_t>(k.value + semitones)};
    out += (out.empty() ? "" : " ") + keyName(moved);
  }
  return out;
}

std::string pitchClass(int value) {
  auto name = keyName({static_cast<std::uint8_t>(60 + (value % 12 + 12) % 12)});
  name.pop_back();
  return name;
}

/// Whether "…+Eb+…" is struck anywhere.
bool strikesPitch(const std::string& attacks, const std::string& name) {
  std::string separated;
  for (const char c : attacks) separated += c == '+' || c == ':' ? ' ' : c;
  return (" " + separated + " ").find(" " + name + " ") != std::string::npos;
}

/// Whether the lower note is struck alone or with others and the upper one right after it.
bool crushes(const std::string& attacks, const std::string& lower, const std::string& upper) {
  std::vector<std::string> words;
  for (std::size_t from = 0; from < attacks.size();) {
    const auto end = std::min(attacks.find(' ', from), attacks.size());
    words.push_back(attacks.substr(from, end - from));
    from = end + 1;
  }
  for (std::size_t i = 0; i + 1 < words.size(); ++i)
    if (strikesPitch(words[i], lower) && strikesPitch(words[i + 1], upper)) return true;
  return false;
}

int bassPart(const std::string& id) {
  const auto& parts = idiom(id).parts;
  for (std::size_t i = 0; i < parts.size(); ++i)
    if (parts[i].kind == PartKind::bass) return static_cast<int>(i);
  return -1;
}

}  // namespace

// Source: Mac, LMT.
TEST_CASE("A waltz strikes the lowest note alone on beat 1 and the upper two on 2 and 3", "[engine][waltz]") {
  for (const auto density : {Density::lean, Density::medium}) {
    const auto bars = eachBar("waltz", beginnersShapes, 1, density);
    CHECK(bars[0] == "0:C 1:E+G 2:E+G");
    CHECK(order(bars[1]).substr(0, 2) == "F ");
    CHECK(order(bars[2]).substr(0, 2) == "G ");
  }
}

// Source: common practice, no source (the project's issue 2, item 8).
TEST_CASE("The broken bass over C, F and G plays C E G, F A C, G B D, whatever inversion is held", "[engine][broken]") {
  const auto bars = eachBar("broken-bass", beginnersShapes);
  CHECK(order(bars[0]).substr(0, 5) == "C E G");
  CHECK(order(bars[1]).substr(0, 5) == "F A C");
  CHECK(order(bars[2]).substr(0, 5) == "G B D");
}

// Source: common practice, no source (issue 2, item 8).
TEST_CASE("The rocking bass plays C+G C+A, F+C F+D, G+D G+E, twice in a bar", "[engine][rocking]") {
  const auto bars = eachBar("rocking-bass", {"C3 E3 G3", "C3 F3 A3", "B2 F3 G3", "C3 E3 A3"});
  CHECK(order(bars[0]) == "C+G C+A C+G C+A");
  CHECK(order(bars[1]) == "F+C F+D F+C F+D");
  CHECK(order(bars[2]) == "G+D G+E G+D G+E");
  CHECK(order(bars[3]) == "A+E A+F# A+E A+F#");  // over A minor the sixth is F#, not the key's F
}

// Source: common practice, no source: a figure is the same figure in every key and from every inversion.
TEST_CASE("Waltz, broken and rocking bass are the same figures in every key and inversion", "[engine][keys]") {
  const std::vector<std::vector<std::string>> inversions = {
      {"C3 E3 G3", "E3 G3 C4", "G2 C3 E3"}, {"C3 Eb3 G3", "Eb3 G3 C4", "G2 C3 Eb3"}, {"C3 E3 Bb3", "E3 Bb3 C4"}};
  for (int up = -8; up <= -1; ++up)  // all below C4
    for (std::size_t kind = 0; kind < inversions.size(); ++kind)
      for (const auto& shape : inversions[kind]) {
        const auto held = transposed(shape, up);
        INFO("held: " << held);
        const auto root = pitchClass(up), third = pitchClass(up + (kind == 1 ? 3 : 4)), fifth = pitchClass(up + 7);
        const auto sixth = pitchClass(up + 9);
        CHECK(eachBar("waltz", {held})[0].substr(0, 3 + root.size()) == "0:" + root + " ");
        CHECK(order(eachBar("broken-bass", {held})[0]).find(root + " " + third + " " + fifth) == 0);
        CHECK(order(eachBar("rocking-bass", {held})[0]).find(root + "+" + fifth + " " + root + "+" + sixth) == 0);
      }
}

// Source: common practice, no source (issue 2, item 8): the minor third crushed into the major one.
TEST_CASE("The blue third of C, F and G is Eb-E, Ab-A and Bb-B", "[engine][blues]") {
  const auto bars = eachBar("blues-shuffle", beginnersShapes, 1, Density::medium);
  const std::vector<std::pair<std::string, std::string>> blue = {{"Eb", "E"}, {"Ab", "A"}, {"Bb", "B"}};
  for (std::size_t i = 0; i < blue.size(); ++i) {
    INFO(bars[i]);
    CHECK(crushes(bars[i], blue[i].first, blue[i].second));
  }
}

TEST_CASE("A blue third never sounds over a minor chord, and yields to a tune within a semitone", "[engine][blues]") {
  const auto minor = eachBar("blues-shuffle", {"C3 Eb3 G3"}, 2)[0];
  INFO(minor);
  CHECK(!strikesPitch(minor, "E"));
  for (const auto* held : {"D5", "Eb5", "E5"}) {
    Score score(48000, {4, 4}, 120);
    score.with(idiom("blues-shuffle")).chord("C3 E3 G3", {}, quarters(8)).tune(held, {}, quarters(8));
    const auto yielded = attacks(render(score, quarters(8)), {}, quarters(8));
    INFO(held << " is held over " << yielded);
    CHECK(!strikesPitch(yielded, "Eb"));
  }
}

// Source: Fitz.
TEST_CASE("A walking bass has the root where a chord starts", "[engine][walking]") {
  const int part = bassPart("walking-bass");
  const std::vector<std::string> shapes = {"C3 E3 G3", "A2 C3 E3", "D3 F3 A3", "B2 F3 G3", "E3 G3 C4", "C3 F3 A3"};
  const std::vector<std::string> roots = {"C", "A", "D", "G", "C", "F"};
  const auto bars = eachBar("walking-bass", {shapes.begin(), shapes.begin() + 4}, 1, Density::medium, part);
  for (std::size_t i = 0; i < bars.size(); ++i) {
    INFO(bars[i]);
    CHECK(bars[i].find("0:" + roots[i]) == 0);
    CHECK(std::count(bars[i].begin(), bars[i].end(), ':') >= 4);  // it walks in four
  }
}

// Source: Bos. With nothing expected the anticipation is the present chord's own bass.
TEST_CASE("A bossa bass is 1 . 5 5 . and then the next root", "[engine][bossa]") {
  const auto bars = eachBar("bossa-nova", beginnersShapes, 2, Density::medium, bassPart("bossa-nova"));
  CHECK(bars[0] == "0:C 3/2:G 2:G 7/2:C");
  CHECK(bars[1].find("F 3/2:C 2:C 7/2:F") != std::string::npos);
  CHECK(bars[2].find("G 3/2:D 2:D 7/2:G") != std::string::npos);
}

// Source: Bos; the chart is what is expected.
TEST_CASE("With a chart the bossa's anticipation is the root of the chord to come", "[engine][bossa][chart]") {
  const auto c = parseSymbol("C"), f = parseSymbol("F");
  REQUIRE((c && f));
  const std::vector<Expectation> chart = {{{}, quarters(4), *c}, {quarters(4), quarters(8), *f}};
  Score score(48000, {4, 4}, 120);
  score.with(ChartRef{chart.data(), chart.size()}).with(idiom("bossa-nova")).tune("C6", {}, quarters(0.2));
  score.chord("C3 E3 G3", {}, quarters(3.9)).chord("C3 F3 A3", quarters(4), quarters(8));
  const auto r = render(score, quarters(8));
  CHECK(attacks(r, {}, quarters(4), Names::pitchClasses, bassPart("bossa-nova")) == "0:C 3/2:G 2:G 7/2:F");
}

// Source: common practice, no source: what is held is what sounds.
TEST_CASE("Held chords sound the chord from its start, in any meter", "[engine][held]") {
  for (const Meter meter : {Meter{4, 4}, Meter{3, 4}, Meter{6, 8}, Meter{5, 4}}) {
    Score score(48000, meter, 100);
    score.with(idiom("held-chords")).chord("C3 E3 G3", {}, meter.bar()).chord("C3 F3 A3", meter.bar(), meter.bar() * 2);
    const auto r = render(score, meter.bar() * 2);
    for (const auto* name : {"C", "E", "G"}) CHECK(strikesPitch(attacks(r, {}, {1}), name));
    for (const auto* name : {"F", "A", "C"}) CHECK(strikesPitch(attacks(r, meter.bar(), meter.bar() + Ticks{1}), name));
  }
}

// Source: DESIGN.md, "An idiom in a meter where it would be nonsense is replaced by its named relative".
TEST_CASE("In a foreign meter an idiom's named relative plays, note for note", "[engine][relative]") {
  int relatives = 0;
  for (const auto& id : idiomIds())
    for (const Meter meter : {Meter{3, 4}, Meter{4, 4}, Meter{6, 8}, Meter{2, 4}}) {
      const auto* relative = inMeter(idiom(id), meter);
      if (relative == nullptr || relative == &idiom(id)) continue;
      ++relatives;
      INFO(id << " in " << int(meter.numerator) << "/" << int(meter.denominator) << " is " << relative->id);
      std::string played[2];
      for (int i = 0; i < 2; ++i) {
        Score score(48000, meter, 120);
        score.with(i == 0 ? idiom(id) : *relative).chord("C3 E3 G3", {}, meter.bar() * 2);
        played[i] = attacks(render(score, meter.bar() * 2), {}, meter.bar() * 2, Names::withOctave);
      }
      CHECK(played[0] == played[1]);
      CHECK(played[0] != "");
    }
  CHECK(relatives > 0);
}
