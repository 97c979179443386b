// The idioms that we ship: whole, faultless, with a relative in every meter; the figures of the first seven, as they
// are written (tests/shelf holds all of them, played, against the table).
#include <algorithm>
#include <array>
#include <cmath>
#include <fstream>
#include <map>
#include <nlohmann/json.hpp>
#include <string>
#include <tuple>
#include <vector>

#include "dsp/idiom_file.h"
#include "dsp/idiom_steps.h"
#include "tests/catch.h"

using namespace seguente;
using nlohmann::json;

namespace {

/// By id: those that have a slot.
std::vector<std::string> slots() {
  std::ifstream stream(SEGUENTE_PATTERNS "/slots.txt");
  std::vector<std::string> ids;
  for (std::string line; std::getline(stream, line);)
    if (!line.empty() && line.front() != '#') ids.push_back(line.substr(line.find(' ') + 1));
  std::sort(ids.begin(), ids.end());
  return ids;
}
const std::vector<std::string> shipped = slots();

/// One stroke as a table of figures has it: when, how long (ticks), what.
using Stroke = std::tuple<std::int64_t, std::int64_t, std::string>;

IdiomLibrary& library() {
  static IdiomLibrary all({SEGUENTE_PATTERNS});
  return all;
}

const Idiom& idiomCalled(const std::string& id) {
  std::vector<Fault> faults;
  const auto* idiom = library().find(id, faults);
  for (const auto& fault : faults) INFO(fault.text());
  REQUIRE(idiom != nullptr);
  REQUIRE(faults.empty());
  return *idiom;
}

std::string textOf(const Play& play) {
  switch (play.kind) {
    case PlayKind::upper:
      return "C";
    case PlayKind::nextBass:
      return "R";
    case PlayKind::approach:
      return "R~";
    case PlayKind::degrees:
      break;
    default:
      return "as held";
  }
  std::string text;
  for (std::size_t i = 0; i < play.count; ++i) {
    const auto degree = play.degrees[i];
    text += (i > 0 ? "+" : "");
    for (int a = degree.alteration; a < 0; ++a) text += "b";
    text += std::to_string(degree.number);
  }
  return text;
}

/// A slow and obvious swing: within each quarter the first half is stretched and the second pressed together.
std::int64_t swung(std::int64_t tick, std::int64_t permille) {
  const auto start = tick / quarter.value * quarter.value;
  const auto place = tick - start;
  const auto half = quarter.value / 2;
  const auto longer = quarter.value * permille / (1000 + permille);
  return place < half ? start + place * longer / half
                      : start + longer + (place - half) * (quarter.value - longer) / half;
}

/// The strokes of a figure in the named parts, in order.
std::vector<Stroke> strokesOf(const Idiom& idiom, FigureRef ref, const std::vector<std::string>& parts) {
  std::vector<Stroke> strokes;
  if (!ref.there()) return strokes;
  const auto& figure = idiom.figure(ref);
  for (std::size_t i = 0; i < figure.count; ++i) {
    const auto& step = idiom.steps[figure.first + i];
    if (std::find(parts.begin(), parts.end(), idiom.parts[step.part].name) == parts.end()) continue;
    const auto at = swung(step.at.value, idiom.swingPermille);
    const auto off = swung((step.at + step.length).value, idiom.swingPermille);
    strokes.emplace_back(at, off - at, textOf(step.play));
  }
  std::sort(strokes.begin(), strokes.end());
  return strokes;
}

std::int64_t ticksFrom(const std::string& quarters) { return ticksOf(*parseFraction(quarters), quarter)->value; }

/// The rows of the table of figures; a line of one bar goes round until the figure is over.
std::vector<Stroke> strokesOf(const json& rows, Ticks bar, Ticks length) {
  std::vector<Stroke> strokes;
  std::int64_t last = 0;
  for (const auto& row : rows) last = std::max(last, ticksFrom(row[0]));
  const auto round = last < bar.value ? bar : length;
  for (std::int64_t start = 0; start < length.value; start += round.value)
    for (const auto& row : rows) strokes.emplace_back(start + ticksFrom(row[0]), ticksFrom(row[1]), row[2]);
  std::sort(strokes.begin(), strokes.end());
  return strokes;
}

json figureCalled(const std::string& name) {
  std::ifstream stream(SEGUENTE_TEST_REFERENCE "/idioms/figures.json");
  const auto all = json::parse(stream);
  json found;
  for (const auto& figure : all["idioms"])
    if (figure["id"] == name) found = figure;
  INFO(name);
  REQUIRE(found.is_object());
  return found;
}

std::vector<Stroke> quarters(const std::vector<std::tuple<std::string, std::string, std::string>>& rows) {
  std::vector<Stroke> strokes;
  for (const auto& [at, length, play] : rows) strokes.emplace_back(ticksFrom(at), ticksFrom(length), play);
  return strokes;
}

FigureRef shortForm(const Idiom& idiom, Density density, double beats) {
  const auto& figures = idiom.at(density);
  for (std::size_t i = 0; i < figures.shortCount; ++i)
    if (idiom.figure(figures.shortForms[i]).length.value ==
        std::llround(static_cast<double>(idiom.meter.beat().value) * beats))
      return figures.shortForms[i];
  return {};
}

// The parts that the table of figures calls low and high. A bossa's lean bass is a guitarist's thumb; "octave" only
// doubles.
const std::vector<std::string> low{"bass", "thumb"}, both{"bass", "thumb", "chords"};
const std::array<Density, 3> allDensities{Density::lean, Density::medium, Density::full};

}  // namespace

TEST_CASE("At least thirty-six idioms are installed, each with its slot, a good file and good relatives",
          "[idiom_file]") {
  std::vector<std::string> ids;
  for (const auto& entry : library().entries()) ids.push_back(entry.id);
  CHECK(ids == shipped);
  CHECK(ids.size() >= 36);
  for (const auto& id : shipped) CHECK(idiomCalled(id).id == id);
}

TEST_CASE("Every idiom has lean, medium and full, a vamp, a hold, a cadence, an end, and short forms", "[idiom_file]") {
  for (const auto& id : shipped) {
    INFO(id);
    const auto& idiom = idiomCalled(id);
    CHECK(idiom.at(Density::lean).written);
    CHECK(idiom.at(Density::medium).written);
    CHECK(idiom.at(Density::full).written);
    for (const auto density : allDensities) {
      const auto& f = idiom.at(density);
      CHECK((f.statement.there() && f.vamp.there() && f.hold.there() && f.cadence.there() && f.end.there()));
      // One for half a bar of two or for two beats, one for what is felt as a beat or less.
      const auto meter = idiom.anyMeter ? Meter{4, 4} : idiom.meter;
      const bool compound = meter.numerator > 3 && meter.numerator % 3 == 0, two = meter.numerator == 2;
      CHECK(shortForm(idiom, density, compound ? 3 : two ? 1 : 2).there());
      CHECK(shortForm(idiom, density, two ? 0.5 : 1).there());
    }
  }
}

TEST_CASE("No meter is left with held chords: each idiom names a relative for it that moves", "[idiom_file]") {
  for (const auto& id : shipped) {
    const auto& idiom = idiomCalled(id);
    for (const auto* text : {"2/4", "3/4", "4/4", "2/2", "3/8", "6/8", "9/8", "12/8", "5/4", "7/8"}) {
      INFO(id << " in " << text);
      const auto meter = *parseMeter(text);
      const auto* other = inMeter(idiom, meter);
      REQUIRE(other != nullptr);
      CHECK((other->anyMeter || other->meter.bar().value % meter.bar().value == 0));
      CHECK((other->anyMeter ? id : std::string()) == (id == "held-chords" ? id : std::string()));
    }
  }
  CHECK(inMeter(idiomCalled("bossa-nova"), {3, 4})->id == "waltz");  // a bossa in three would be nonsense (DESIGN)
  CHECK(inMeter(idiomCalled("waltz"), {3, 4})->id == "waltz");
}

TEST_CASE("A waltz strikes the lowest note alone on beat 1 and the upper notes together on 2 and 3", "[idiom_file]") {
  const auto figure = figureCalled("waltz");  // MacDowell 1912; LearnMusicTheory.net; ballroom tempo list
  const auto& waltz = idiomCalled("waltz");
  auto expected = strokesOf(figure["low"], waltz.meter.bar(), waltz.meter.bar());
  for (const auto& stroke : strokesOf(figure["high"], waltz.meter.bar(), waltz.meter.bar())) expected.push_back(stroke);
  for (const auto density : allDensities) CHECK(strokesOf(waltz, waltz.at(density).statement, both) == expected);
  // "bass alternates 1 / 5 by the bar when the chord stays" (same row of the table)
  CHECK(figure["note"] == "bass alternates 1 / 5 by the bar when the chord stays");
  for (const auto density : allDensities)
    CHECK(strokesOf(waltz, waltz.at(density).answer, both) ==
          quarters({{"0", "1", "5"}, {"1", "1", "C"}, {"2", "1", "C"}}));
}

TEST_CASE("A waltz's chord of two beats is low, then one chord; of one beat, low and chord together", "[idiom_file]") {
  const auto figure = figureCalled("waltz");
  const auto& waltz = idiomCalled("waltz");
  REQUIRE(figure["short_two"] == "low, then one C");
  REQUIRE(figure["short_one"] == "low + C together");
  CHECK(strokesOf(waltz, shortForm(waltz, Density::medium, 2), both) == quarters({{"0", "1", "1"}, {"1", "1", "C"}}));
  CHECK(strokesOf(waltz, shortForm(waltz, Density::medium, 1), both) == quarters({{"0", "1", "1"}, {"0", "1", "C"}}));
  REQUIRE(figure["cadence"] == "low 1, C on beat 2, rest on 3; or held");
  CHECK(strokesOf(waltz, waltz.at(Density::medium).cadence, both) == quarters({{"0", "1", "1"}, {"1", "1", "C"}}));
}

TEST_CASE("A walking bass goes root, third, fifth and a note that leads on", "[idiom_file]") {
  const auto figure = figureCalled("walking bass");  // Fitzgerald, Walking Bass Line Theory Basics, part 1
  const auto& walking = idiomCalled("walking-bass");
  const auto expected = strokesOf(figure["low"], walking.meter.bar(), walking.meter.bar());
  for (const auto density : allDensities) CHECK(strokesOf(walking, walking.at(density).statement, low) == expected);
  CHECK(strokesOf(walking, walking.at(Density::lean).statement, {"chords"}).empty());
  REQUIRE(figure["short_two"] == "beat 1 target, beat 2 approach");
  CHECK(strokesOf(walking, shortForm(walking, Density::lean, 2), both) ==
        quarters({{"0", "1", "1"}, {"1", "1", "R~"}}));
  REQUIRE(figure["short_one"] == "root");
  CHECK(strokesOf(walking, shortForm(walking, Density::lean, 1), both) == quarters({{"0", "1", "1"}}));
}

TEST_CASE("Comping over a walking bass is the Charleston: 1 and the and of 2 only", "[idiom_file]") {
  const auto figure = figureCalled("swing comping (Charleston)");  // three teaching pages, agreeing
  const auto& walking = idiomCalled("walking-bass");
  std::vector<std::int64_t> at;  // the second chord falls on a swung eighth, so only the places are compared, straight
  const auto& full = walking.figure(walking.at(Density::full).statement);
  for (std::size_t i = 0; i < full.count; ++i)
    if (walking.parts[walking.steps[full.first + i].part].name == "chords")
      at.push_back(walking.steps[full.first + i].at.value);
  std::vector<std::int64_t> expected;
  for (const auto& row : figure["high"]) expected.push_back(ticksFrom(row[0]));
  CHECK(at == expected);
}

TEST_CASE("A bossa nova's bass is a dotted swaying that anticipates the next chord, over two bars of chords",
          "[idiom_file]") {
  const auto figure = figureCalled("bossa nova");  // a jazz piano teaching page on the bossa nova bass
  const auto& bossa = idiomCalled("bossa-nova");
  const auto bar = bossa.meter.bar();
  for (const auto density : allDensities) {
    const auto statement = bossa.at(density).statement;
    CHECK(bossa.figure(statement).length == bar * figure["bars"].get<int>());
    CHECK(strokesOf(bossa, statement, low) == strokesOf(figure["low"], bar, bar * 2));
  }
  CHECK(strokesOf(bossa, bossa.at(Density::medium).statement, {"chords"}) == strokesOf(figure["high"], bar, bar * 2));
  REQUIRE(figure["short_one"] == "low + C");
  CHECK(strokesOf(bossa, shortForm(bossa, Density::lean, 1), both) == quarters({{"0", "1", "1"}, {"0", "1", "C"}}));
  REQUIRE(figure["short_two"] == "1 . 5 5 as dotted quarter + eighth");
  CHECK(strokesOf(bossa, shortForm(bossa, Density::lean, 2), low) ==
        quarters({{"0", "3/2", "1"}, {"3/2", "1/2", "5"}}));
}

TEST_CASE("A blues shuffle is root and fifth twice, root and sixth twice, long and short as a triplet",
          "[idiom_file]") {
  const auto figure = figureCalled("blues shuffle");  // common practice; the ratio: Friberg & Sundstroem 2002
  const auto& shuffle = idiomCalled("blues-shuffle");
  CHECK(shuffle.swingPermille == 2000);
  CHECK(shuffle.swingLow == 1500);  // "a shuffle stays within about 1.5 to 2.3" (DESIGN)
  CHECK(shuffle.swingHigh == 2300);
  const auto expected = strokesOf(figure["high"], shuffle.meter.bar(), shuffle.meter.bar());
  for (const auto density : allDensities) {
    CHECK(strokesOf(shuffle, shuffle.at(density).statement, low) == expected);
    const auto answer = shuffle.at(density).answer;
    CHECK((!answer.there() || strokesOf(shuffle, answer, low) == expected));
  }
  REQUIRE(figure["short_two"] == "1+5, 1+6");
  CHECK(strokesOf(shuffle, shortForm(shuffle, Density::lean, 2), both) ==
        quarters({{"0", "1", "1+5"}, {"1", "1", "1+6"}}));
  REQUIRE(figure["short_one"] == "1+5");
  CHECK(strokesOf(shuffle, shortForm(shuffle, Density::lean, 1), both) == quarters({{"0", "1", "1+5"}}));
}

TEST_CASE("The blue third is played against the shuffle, and not on every stroke", "[idiom_file]") {
  const auto& shuffle = idiomCalled("blues-shuffle");  // common practice, no source
  const auto& figure = shuffle.figure(shuffle.at(Density::medium).statement);
  int blue = 0, bass = 0;
  for (std::size_t i = 0; i < figure.count; ++i) {
    const auto& step = shuffle.steps[figure.first + i];
    bass += shuffle.parts[step.part].kind == PartKind::bass;
    if (step.condition != Condition::majorThirdWithRoom || step.play.degrees[0] != Degree{3, -1}) continue;
    ++blue;
    CHECK(step.length.value * 12 == quarter.value);
  }
  CHECK(blue == 1);
  CHECK(bass == 8);
}

TEST_CASE("A broken bass plays the chord's notes one by one from the bottom", "[idiom_file]") {
  const auto& broken = idiomCalled("broken-bass");  // common practice, no source
  const auto expected = quarters({{"0", "1", "1"}, {"1", "1", "3"}, {"2", "1", "5"}, {"3", "1", "3"}});
  for (const auto density : {Density::lean, Density::medium})
    CHECK(strokesOf(broken, broken.at(density).statement, both) == expected);
}

TEST_CASE("A rocking bass is root and fifth, then root and sixth, two rounds to a bar of four", "[idiom_file]") {
  const auto& rocking = idiomCalled("rocking-bass");  // common practice, no source
  const auto expected = quarters({{"0", "1", "1+5"}, {"1", "1", "1+6"}, {"2", "1", "1+5"}, {"3", "1", "1+6"}});
  for (const auto density : {Density::lean, Density::medium})
    CHECK(strokesOf(rocking, rocking.at(density).statement, both) == expected);
  CHECK(rocking.swingPermille == 1000);
}

TEST_CASE("Held chords are one stroke of bass and chord that lasts the bar, in any meter", "[idiom_file]") {
  const auto& held = idiomCalled("held-chords");  // common practice, no source
  CHECK(held.anyMeter);
  const auto& statement = held.figure(held.at(Density::lean).statement);
  CHECK(strokesOf(held, held.at(Density::lean).statement, both) ==
        std::vector<Stroke>{{0, statement.length.value, "1"}, {0, statement.length.value, "C"}});
}

TEST_CASE("The stresses of the published figures are stressed in ours", "[idiom_file]") {
  for (const auto& [name, id] : std::map<std::string, std::string>{{"waltz", "waltz"},
                                                                   {"walking bass", "walking-bass"},
                                                                   {"bossa nova", "bossa-nova"},
                                                                   {"blues shuffle", "blues-shuffle"}}) {
    const auto& idiom = idiomCalled(id);
    const auto& figure = idiom.figure(idiom.at(Density::lean).statement);
    const auto published = figureCalled(name);
    for (const std::string accent : published["accents"]) {
      if (accent == "lightly") continue;  // a word beside the walking bass's places
      INFO(id << " at " << accent);
      bool stressed = false;
      for (std::size_t i = 0; i < figure.count; ++i) {
        const auto& step = idiom.steps[figure.first + i];
        stressed = stressed || (step.at.value == ticksFrom(accent) && step.stress > 0);
      }
      CHECK(stressed);
    }
  }
}

TEST_CASE("Every part can place every root in its register", "[idiom_file]") {
  for (const auto& id : shipped)
    for (const auto& part : idiomCalled(id).parts) {
      if (part.kind == PartKind::percussion) continue;
      INFO(id << " " << part.name);
      CHECK(part.high.value - part.low.value >= 11);  // twelve keys hold each of twelve roots once
      // Room for a tune above middle C; common practice, no source. A counter-line keeps under it wherever that lies.
      CHECK((part.high.value <= 64 || part.kind == PartKind::counterLine));
    }
}
