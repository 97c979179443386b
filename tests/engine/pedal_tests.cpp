// A part's pedal, and a fermata that the next chord ends. Sources: DESIGN.md ("each part says what it does with" the
// pedal); CC 64 is MIDI 1.0; that a fermata ends with the next chord is common practice, no source.
#include <fstream>
#include <sstream>
#include <string>

#include "dsp/idiom_file.h"
#include "tests/catch.h"
#include "tests/support/harness.h"
#include "tests/support/score.h"

using namespace seguente;
using namespace seguente::test;

namespace {
/// The shipped waltz, but its chords take the pedal.
std::unique_ptr<Idiom> pedalledWaltz() {
  std::ifstream file(std::string(SEGUENTE_PATTERNS) + "/waltz.toml");
  std::stringstream text;
  text << file.rdbuf();
  std::string waltz = text.str();
  const std::string place = "kind     = \"chords\"\n";
  const auto at = waltz.find(place);
  REQUIRE(at != std::string::npos);
  waltz.insert(at + place.size(), "pedal = true\n");
  auto result = compileIdiom(waltz, "waltz.toml");
  REQUIRE(result.faults.empty());
  return std::move(result.idiom);
}
}  // namespace

TEST_CASE("A part that asks for the pedal has it changed with each chord, and up again at the end", "[engine][pedal]") {
  const auto waltz = pedalledWaltz();
  Score score(48000, {3, 4}, 120);
  score.with(*waltz).chord("C3 E3 G3", {}, quarters(3)).chord("C3 F3 A3", quarters(3), quarters(6));
  const auto r = render(score, quarters(12));
  std::string pedal;
  for (const auto& e : r.events)
    if (e.kind == OutputKind::controller) {
      CHECK(e.bytes[0] == 0xB0 + Settings{}.outputChannel[1]);
      CHECK(e.bytes[1] == 64);
      pedal += e.bytes[2] >= 64 ? "down " : "up ";
    }
  CHECK(pedal == "down up down up ");
}

TEST_CASE("After a fermata in the chart the next chord goes on by itself, the same one too",
          "[engine][signals][chart]") {
  const auto c = parseSymbol("C"), f = parseSymbol("F");
  REQUIRE((c && f));
  for (const bool same : {false, true}) {
    const Chord& next = same ? *f : *c;
    const std::vector<Expectation> chart = {
        {{}, quarters(3), *c}, {quarters(3), quarters(6), *f, true, false}, {quarters(6), quarters(12), next}};
    Score score(48000, {3, 4}, 120);
    score.with(ChartRef{chart.data(), chart.size()}).with(idiom("waltz")).tune("C7", {}, quarters(0.1));
    score.chord("C3 E3 G3", {}, quarters(2.9)).chord("C3 F3 A3", quarters(3), quarters(5.9));
    score.chord(same ? "C3 F3 A3" : "C3 E3 G3", quarters(6), quarters(12));
    const auto r = render(score, quarters(12));
    int onEachBeat = 0;
    for (int beat = 6; beat < 12; ++beat)
      for (const auto& e : r.events)
        if (e.kind == OutputKind::noteOn && e.sample == score.sampleOf(quarters(beat))) {
          ++onEachBeat;
          break;
        }
    INFO((same ? "the same chord" : "another chord"));
    CHECK(onEachBeat == 6);
  }
}
