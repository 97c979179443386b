// What the format says once for all densities (percussion), and for one hand's bass (fifth_below).
#include <algorithm>
#include <fstream>
#include <sstream>

#include "dsp/idiom_file.h"
#include "tests/catch.h"
#include "tests/support/music.h"

using namespace seguente;
using namespace seguente::test;

namespace {

std::string shippedText(const std::string& id) {
  std::stringstream text;
  text << std::ifstream(std::string(SEGUENTE_PATTERNS) + "/" + id + ".toml").rdbuf();
  return text.str();
}

std::string changed(std::string text, const std::string& from, const std::string& to) {
  const auto at = text.find(from);
  REQUIRE(at != std::string::npos);
  return text.replace(at, from.size(), to);
}

int percussionSteps(const Idiom& idiom, FigureRef ref) {
  const auto steps = idiom.stepsOf(idiom.figure(ref));
  return static_cast<int>(
      std::count_if(steps.begin(), steps.end(), [](const Step& s) { return s.play.kind == PlayKind::percussion; }));
}

/// Percussion's strokes over four bars of a march, asked for or not.
int strokesHeard(bool asked) {
  const Idiom& march = idiom("march");
  Score score(48000, march.meter, 110);
  Settings settings;
  if (asked) settings.kindsOn = 1u << static_cast<unsigned>(PartKind::percussion);
  score.with(settings).with(march).tune("C7", {}, quarters(0.1)).chord("C3 E3 G3", {}, quarters(8));
  int heard = 0;
  for (const auto& e : strikes(render(score, quarters(8))))
    heard += march.parts[e.reason.part].kind == PartKind::percussion;
  return heard;
}

}  // namespace

TEST_CASE("A percussion figure written once goes round under statement, answer, lift and vamp of every density",
          "[idiom_file]") {
  const Idiom& waltz = idiom("country-waltz");  // its figure is two bars long, its percussion's one
  for (const auto density : {Density::lean, Density::medium, Density::full}) {
    const auto& f = waltz.at(density);
    CHECK(percussionSteps(waltz, f.statement) == 6);
    CHECK(percussionSteps(waltz, f.vamp) == 3);
    CHECK(percussionSteps(waltz, f.hold) == 0);
    CHECK(percussionSteps(waltz, f.end) == 0);
    CHECK(percussionSteps(waltz, f.shortForms[0]) == 0);
  }
  CHECK(percussionSteps(waltz, waltz.at(Density::medium).lift) == 6);
}

TEST_CASE("Percussion is silent until it is asked for", "[idiom_file]") {
  CHECK(strokesHeard(false) == 0);
  CHECK(strokesHeard(true) == 16);  // four a bar
}

TEST_CASE("A percussion figure holds percussion only, and says where it does not", "[idiom_file]") {
  const auto text =
      changed(shippedText("march"), "part = \"percussion\", play = \"bass drum\"", "part = \"bass\", play = \"1\"");
  const auto result = compileIdiom(text, "march.toml");
  CHECK(result.idiom == nullptr);
  REQUIRE(!result.faults.empty());
  CHECK(result.faults[0].text().find("found a row of part \"bass\", expected a percussion part") != std::string::npos);
  CHECK(result.faults[0].line > 1);
}

TEST_CASE("With fifth_below the fifth lies a fourth under the root, and no chord under its bass", "[idiom_file]") {
  const Idiom& waltz = idiom("waltz");
  for (const auto* shape : {"C3 E3 G3", "A2 C3 E3", "G2 B2 D3", "F2 A2 C3"}) {
    Score score(48000, waltz.meter, 110);
    Settings settings;
    settings.density = Density::lean;
    score.with(settings).with(waltz).tune("C7", {}, quarters(0.1)).chord(shape, {}, quarters(6));
    int root = 0, fifth = 0, bass = 0;
    bool over = true;  // no note of the chord under the bass of its own bar
    for (const auto& e : strikes(render(score, quarters(6)))) {
      if (waltz.parts[e.reason.part].kind == PartKind::chords)
        over = over && e.note().value >= bass;
      else
        bass = (e.reason.dueTick == Ticks{} ? root : fifth) = e.note().value;
    }
    INFO(shape);
    CHECK(root - fifth == 5);
    CHECK(over);
  }
}

TEST_CASE(
    "A part that is asked for within a bar comes in with its next stroke, and one that is let go has had its last",
    "[idiom_file]") {
  const Idiom& march = idiom("march");  // a drum on every eighth
  Settings quiet, drummed;
  drummed.kindsOn = 1u << static_cast<unsigned>(PartKind::percussion);
  Settings none = quiet;
  none.kindsOff = 0xFF;
  Settings alone = drummed;  // nothing but the drums: the figure's other steps have no turns
  alone.kindsOff = 1u << static_cast<unsigned>(PartKind::bass) | 1u << static_cast<unsigned>(PartKind::chords);
  Score score(48000, march.meter, 110);
  score.with(quiet).with(march).chord("C3 E3 G3", {}, quarters(16));
  score.with(drummed, quarters(4.7)).with(alone, quarters(8.7)).with(quiet, quarters(10.7));
  score.with(none, quarters(12.1)).with(quiet, quarters(13.2));
  std::string drums, others;
  for (const auto& e : strikes(render(score, quarters(14)))) {
    const double place = static_cast<double>(e.reason.dueTick.value) / static_cast<double>(quarters(1).value);
    std::string& row = march.parts[e.reason.part].kind == PartKind::percussion ? drums : others;
    const auto text = std::to_string(place).substr(0, 4) + " ";
    if (row.size() < text.size() || row.substr(row.size() - text.size()) != text) row += text;
    CHECK(e.sample == score.sampleOf(e.reason.dueTick));
  }
  CHECK(drums.substr(0, 10) == "5.00 5.50 ");
  CHECK(drums.substr(drums.size() - 10) == "10.0 10.5 ");
  CHECK(others.find("8.50 11.0 ") != std::string::npos);
  CHECK(others.find("12.0 13.5 ") != std::string::npos);
}

TEST_CASE("A word that is no truth is refused for fifth_below", "[idiom_file]") {
  const auto result =
      compileIdiom(changed(shippedText("waltz"), "fifth_below = true", "fifth_below = 1"), "waltz.toml");
  CHECK(result.idiom == nullptr);
  REQUIRE(result.faults.size() == 1);
}
