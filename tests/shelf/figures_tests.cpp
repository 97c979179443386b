// Every figure of the published table (tests/reference/idioms/figures.json, a source beside each), played by the engine
// over a triad, a minor one, a seventh, a diminished, an augmented and a suspended chord and a bare fifth, in root
// position and inversions: where it strikes, which degrees, and what is stressed.
#include <algorithm>
#include <array>
#include <fstream>
#include <map>
#include <nlohmann/json.hpp>
#include <set>

#include "dsp/idiom_steps.h"
#include "tests/catch.h"
#include "tests/support/music.h"

using namespace seguente;
using namespace seguente::test;
using nlohmann::json;

namespace {

/// How the table is read for one of ours. Most stand there note for note, at medium density.
enum class TableRow {
  plain,
  leanOnly,      // at medium density the chord joins, as the table's remark allows
  highAndRoot,   // the table has the chord alone; ours sets the root under its first stroke
  onceItRuns,    // the bar in which the chord comes begins with its root
  eitherAccent,  // one accent in the statement, the other in the answer
};

struct Entry {
  const char* name;
  const char* id;
  TableRow reading = TableRow::plain;
};

constexpr std::array<Entry, 48> table{{{"waltz", "waltz"},
                                       {"country waltz", "country-waltz"},
                                       {"jazz waltz", "jazz-waltz"},
                                       {"mazurka", "mazurka", TableRow::eitherAccent},
                                       {"minuet", "minuet"},
                                       {"march (oom-pah)", "march"},
                                       {"polka", "polka"},
                                       {"country two-beat", "country-two-beat"},
                                       {"ragtime", "ragtime"},
                                       {"stride", "stride"},
                                       {"Alberti bass", "alberti-bass"},
                                       {"broken chord up", "broken-three"},
                                       {"arpeggio up-down", "arpeggio-in-six"},
                                       {"nocturne (wide)", "nocturne"},
                                       {"barcarolle", "barcarolle"},
                                       {"berceuse (lullaby)", "berceuse"},
                                       {"siciliana", "siciliana"},
                                       {"tarantella", "tarantella"},
                                       {"jig vamp", "jig-vamp"},
                                       {"reel vamp", "reel-vamp"},
                                       {"block quarters", "block-quarters"},
                                       {"ballad", "ballad"},
                                       {"ballad arpeggio", "ballad-arpeggio"},
                                       {"hymn", "hymn"},
                                       {"rock eighths", "rock-eighths"},
                                       {"pop 3-3-2", "three-three-two"},
                                       {"doo-wop", "doo-wop"},
                                       {"slow blues", "slow-blues"},
                                       {"blues shuffle", "blues-shuffle", TableRow::leanOnly},
                                       {"boogie-woogie", "boogie-woogie"},
                                       {"walking bass", "walking-bass"},
                                       {"swing two-feel", "swing-two-feel"},
                                       {"swing comping (Charleston)", "charleston", TableRow::highAndRoot},
                                       {"bossa nova", "bossa-nova"},
                                       {"samba", "samba"},
                                       {"son montuno (tumbao)", "montuno", TableRow::onceItRuns},
                                       {"cha-cha-cha", "cha-cha-cha"},
                                       {"bolero (Cuban)", "bolero"},
                                       {"beguine", "beguine"},
                                       {"habanera", "habanera", TableRow::leanOnly},
                                       {"tango (in four)", "tango"},
                                       {"milonga", "milonga"},
                                       {"calypso", "calypso"},
                                       {"reggae skank", "skank"},
                                       {"one drop", "one-drop"},
                                       {"ska", "ska"},
                                       {"gospel slow", "gospel-slow"},
                                       {"gospel bounce", "gospel-bounce"}}};

/// A chord as it is held, and its degrees 1 to 7 in semitones above each root that may be named. What a chord lacks has
/// the answer that DESIGN.md states: no third in a bare fifth, the fifth for the sixth of an augmented triad, bb7 over
/// a diminished one.
struct Held {
  const char* name;
  std::vector<const char*> shapes;
  std::map<int, std::array<int, 8>> degrees;  // by root; [0] unused, [7] the flat seventh
  std::map<int, std::vector<int>> upper;      // "C": semitones above the root
};

std::vector<Held> chords() {
  const std::array<int, 8> major{0, 0, 2, 4, 5, 7, 9, 10}, minor{0, 0, 2, 3, 5, 7, 9, 10},
      diminished{0, 0, 2, 3, 5, 6, 9, 10}, augmented{0, 0, 2, 4, 5, 8, 8, 10}, fourth{0, 0, 2, 5, 5, 7, 9, 10},
      second{0, 0, 2, 2, 5, 7, 9, 10}, bare{0, 0, 2, 12, 5, 7, 9, 10};
  return {{"C", {"C3 E3 G3", "E3 G3 C4", "G2 C3 E3"}, {{0, major}}, {{0, {4, 7}}}},
          {"Am", {"A2 C3 E3", "C3 E3 A3", "E3 A3 C4"}, {{9, minor}}, {{9, {3, 7}}}},
          {"G7", {"G2 B2 D3 F3", "B2 D3 F3 G3", "D3 F3 G3 B3"}, {{7, major}}, {{7, {4, 7, 10}}}},
          {"Bdim", {"B2 D3 F3", "D3 F3 B3", "F3 B3 D4"}, {{11, diminished}}, {{11, {3, 6}}}},
          {"Caug",
           {"C3 E3 G#3", "E3 G#3 C4"},  // symmetrical: each of its notes may be named as the root
           {{0, augmented}, {4, augmented}, {8, augmented}},
           {{0, {4, 8}}, {4, {4, 8}}, {8, {4, 8}}}},
          {"Csus4",
           {"C3 F3 G3", "F3 G3 C4", "G2 C3 F3"},  // F, G and C over F are the same keys as Fsus2
           {{0, fourth}, {5, second}},
           {{0, {5, 7}}, {5, {2, 7}}}},
          {"C5", {"C3 G3", "G2 C3"}, {{0, bare}}, {{0, {7, 0}}}}};
}

const json& figures() {
  static const json all = json::parse(std::ifstream(SEGUENTE_TEST_REFERENCE "/idioms/figures.json"));
  return all["idioms"];
}

const json& figureCalled(std::string_view name) {
  for (const auto& f : figures())
    if (f["id"] == name) return f;
  static const json none;
  return none;
}

Ticks ticksFrom(const std::string& text) { return *ticksOf(*parseFraction(text), quarter); }

/// A slow and obvious swing.
Ticks swung(Ticks straight, const Idiom& idiom) {
  const auto pair = idiom.swingPair.value;
  const auto start = straight.value / pair * pair, within = straight.value - start;
  const auto longer = pair * idiom.swingPermille / (1000 + idiom.swingPermille);
  if (within * 2 < pair) return {start + within * 2 * longer / pair};
  return {start + longer + (within * 2 - pair) * (pair - longer) / pair};
}

using Onsets = std::map<std::int64_t, std::set<int>>;  // tick: pitch classes

/// "1+8", "b14", "C", "R" as pitch classes over a root.
std::set<int> pitches(const std::string& play, const Held& held, int root) {
  std::set<int> out;
  if (play == "C") {
    for (const int up : held.upper.at(root)) out.insert((root + up) % 12);
  } else if (play == "R") {
    out.insert(root);  // with nothing expected, the chord's own
  } else if (play != "R~") {
    for (std::size_t at = 0; at < play.size();) {
      auto end = std::min(play.find('+', at), play.size());
      auto word = play.substr(at, end - at);
      const bool flat = word.front() == 'b';
      if (flat) word.erase(0, 1);
      const int number = (std::stoi(word) - 1) % 7 + 1;
      // A flat seventh is that over any chord; every other degree is the chord's own.
      out.insert((root + (flat ? 10 : held.degrees.at(root)[static_cast<std::size_t>(number)])) % 12);
      at = end + 1;
    }
  }
  return out;
}

void addRows(const json& rows, Ticks bar, int bars, const Idiom& idiom, const Held& held, int root, Onsets& out) {
  Ticks last{};
  for (const auto& row : rows) last = std::max(last, ticksFrom(row[0]));
  for (int round = 0; round < (last < bar ? bars : 1); ++round)
    for (const auto& row : rows) {
      if (row[2] == "R~") continue;  // whichever step leads on: another test's matter
      const auto at = bar * round + ticksFrom(row[0]);
      const auto tick = idiom.id == "blues-shuffle" ? at : swung(at, idiom);  // the table writes this one out
      for (const int p : pitches(row[2], held, root)) out[tick.value].insert(p);
    }
}

/// Two rounds of the figure over one chord that is held.
Rendering playedOver(const Idiom& idiom, const char* shape, Density density, int bars) {
  Score score(48000, idiom.meter, 100);
  Settings settings;
  settings.density = density;
  settings.level = 100;
  settings.split = {66};  // inversions reach above middle C
  score.with(settings).with(idiom);
  score.tune("C7", {}, quarters(0.1));  // the tune has begun, far above
  const Ticks end = idiom.meter.bar() * (bars * 2);
  score.chord(shape, {}, end, 64);  // so hard that every part plays at its own level
  return render(score, end);
}

int rootNamed(const Rendering& r) {
  int root = -1;
  for (const auto& f : r.facts)
    if (f.fact.kind == FactKind::chord && f.chord) root = f.chord->root.value;
  return root;
}

Onsets onsets(const Rendering& r, const Idiom& idiom, Ticks from, Ticks to, bool bass, bool chordParts) {
  Onsets out;
  for (const auto& e : strikes(r)) {
    const auto& part = idiom.parts[e.reason.part];
    if (part.name == "octave" || e.reason.play == PlayKind::approach) continue;
    if (part.kind == PartKind::bass ? !bass : !chordParts) continue;
    if (e.reason.dueTick < from || e.reason.dueTick >= to) continue;
    out[(e.reason.dueTick - from).value].insert(e.note().value % 12);
  }
  return out;
}

std::string text(const Onsets& onsets) {
  std::string out;
  for (const auto& [at, pitches] : onsets) {
    out += quartersText({at}) + ":";
    for (const int p : pitches) out += std::to_string(p) + " ";
  }
  return out;
}

}  // namespace

TEST_CASE("Each figure of the table strikes where it says and what it says, over every kind of chord and inversion",
          "[shelf][figures]") {
  CHECK(figures().size() == table.size());
  for (const auto& entry : table) {
    const auto& figure = figureCalled(entry.name);
    INFO(entry.name);
    REQUIRE(figure.is_object());
    const Idiom& ours = idiom(entry.id);
    CHECK(figure["meter"] == textOf(ours.meter));
    const int bars = figure["bars"];
    const auto density = entry.reading == TableRow::leanOnly ? Density::lean : Density::medium;
    for (const auto& held : chords())
      for (const auto* shape : held.shapes) {
        const auto r = playedOver(ours, shape, density, bars);
        const int root = rootNamed(r);
        INFO(held.name << " held as " << shape << ", source " << std::string(figure["source"]));
        REQUIRE(held.degrees.contains(root));
        const Ticks round = ours.meter.bar() * bars;
        const Ticks from = entry.reading == TableRow::onceItRuns ? round : Ticks{};
        Onsets expected;
        addRows(figure["high"], ours.meter.bar(), bars, ours, held, root, expected);
        if (entry.reading == TableRow::highAndRoot)
          expected[0].insert(root);
        else
          addRows(figure["low"], ours.meter.bar(), bars, ours, held, root, expected);
        CHECK(text(onsets(r, ours, from, from + round, true, true)) == text(expected));
      }
  }
}

TEST_CASE("Each figure of the table is stressed where it says", "[shelf][figures]") {
  for (const auto& entry : table) {
    const auto& figure = figureCalled(entry.name);
    const Idiom& ours = idiom(entry.id);
    const int bars = figure["bars"];
    for (const auto density : {Density::lean, Density::medium}) {
      const auto r = playedOver(ours, "C3 E3 G3", density, bars);
      const Ticks round = ours.meter.bar() * bars;
      for (const std::string accent : figure["accents"]) {
        if (accent == "lightly") continue;  // a word beside the walking bass's places
        INFO(entry.name << " at " << accent << ", density " << static_cast<int>(density));
        bool stressed = false;
        for (const auto& e : strikes(r)) {
          const Ticks at{(e.reason.dueTick.value) % round.value};
          const bool first = e.reason.dueTick < round;
          if (entry.reading == TableRow::onceItRuns ? first : entry.reading != TableRow::eitherAccent && !first)
            continue;
          const auto tick =
              entry.id == std::string("blues-shuffle") ? ticksFrom(accent) : swung(ticksFrom(accent), ours);
          stressed = stressed || (at == tick && e.bytes[2] > ours.parts[e.reason.part].level);
        }
        CHECK(stressed);
      }
    }
  }
}

TEST_CASE("An arpeggio goes up where its degrees go up and down where they go down, from every root",
          "[shelf][figures]") {
  // A figure that is folded into its register where the root lies high is another figure. Common practice, no source.
  for (const auto* id : {"broken-three", "broken-bass", "arpeggio-in-six", "arpeggio-in-nine", "nocturne", "barcarolle",
                         "berceuse", "ballad-arpeggio", "boogie-woogie", "alberti-bass"}) {
    const Idiom& ours = idiom(id);
    for (int up = 0; up < 12; ++up) {
      std::string shape;
      for (const int n : {0, 4, 7}) shape += keyName({static_cast<std::uint8_t>(43 + up + n)}) + " ";
      shape.pop_back();
      for (const auto density : {Density::lean, Density::medium, Density::full}) {
        const auto r = playedOver(ours, shape.c_str(), density, 2);
        INFO(id << " over " << shape << ", density " << static_cast<int>(density));
        int lastKey = -1, lastDegree = 0;
        bool same = true;
        for (const auto& e : strikes(r)) {
          if (e.reason.play != PlayKind::degrees || ours.parts[e.reason.part].name != "bass") continue;
          const int degree = e.reason.degree.number, key = e.note().value;
          if (lastKey >= 0) same = same && (degree > lastDegree) == (key > lastKey);
          lastKey = key;
          lastDegree = degree;
        }
        CHECK(same);
      }
    }
  }
}
