// FILE: what the command line renders of a file is what the plugin plays of it in a host. Scenarios: SCENARIOS.md.
#include <algorithm>
#include <limits>
#include <utility>

#include "plugin/commandline/performance.h"
#include "plugin/commandline/render.h"
#include "tests/catch.h"
#include "tests/host/direct.h"

using namespace seguente;
using namespace seguente::host;

namespace {

struct Tune {
  const char* name;
  const char* idiom;
  std::int64_t pickup;  // quarters
};
constexpr Tune tunes[] = {
    {"long-long-ago", "bossa-nova", 0}, {"clementine", "waltz", 1}, {"old-hundredth", "rocking-bass", 1}};

/// The order of what belongs together at one sample is tested in BLOCK-1: here it is a set.
std::vector<Heard> sorted(std::vector<Heard> heard) {
  const auto number = [](const Heard& h) {
    std::int64_t value = 0;
    for (const auto byte : h.bytes) value = value * 256 + byte;
    return value;
  };
  std::sort(heard.begin(), heard.end(), [&](const Heard& a, const Heard& b) {
    return std::pair(number(a), a.sample) < std::pair(number(b), b.sample);
  });
  return heard;
}

/// The stream of the file, set as the plugin is set: names and programs are the file's business, not the plugin's.
std::unique_ptr<Performance> performanceOf(const Tune& tune, const Settings& settings, int rate) {
  HearingOptions options;
  options.input = std::string(SEGUENTE_PRESETS "/demo/") + tune.name + ".mid";
  options.time.pickup = quarter * tune.pickup;
  options.pickupGiven = true;
  options.rate = rate;
  auto prepared = prepare(options, &test::idiom(tune.idiom));
  REQUIRE(prepared.fault == "");
  auto& p = *prepared.value;
  p.over = std::numeric_limits<std::int64_t>::max();
  std::vector<Input> inputs;
  std::vector<EventPlace> places;
  for (std::size_t i = 0; i < p.inputs.size(); ++i) {
    auto input = p.inputs[i];
    if (input.kind == InputKind::midi && !input.midi.noteOn() && !input.midi.noteOff()) continue;
    if (input.kind == InputKind::settings) input.settings = settings;
    inputs.push_back(input);
    places.push_back(p.places[i]);
  }
  p.inputs = std::move(inputs);
  p.places = std::move(places);
  return std::move(prepared.value);
}

/// The same notes in a host that counts as the file does, at its one tempo.
Piece pieceOf(const Tune& tune, const Performance& p, int rate) {
  REQUIRE(p.inputs.front().kind == InputKind::time);
  const auto& anchor = p.inputs.front().time;
  REQUIRE(anchor.tick == Ticks{0});
  Piece piece(rate, anchor.meter, anchor.quartersPerMinute, anchor.barStart);
  piece.choose(tune.idiom);
  for (const auto& input : p.inputs) {
    if (input.kind == InputKind::midi) piece.score().add(input.sample, input);
    REQUIRE((input.kind != InputKind::time || input.sample == Samples{0}));
  }
  return piece.endsAt(p.inputs.back().sample);
}

/// The notes that are rendered before `end`, in a set's order.
std::vector<Heard> heardIn(const Rendering& rendering, const Performance& p, Samples end) {
  std::vector<Heard> heard;
  for (const auto& e : rendering.ours)
    if (e.sample < end) heard.push_back({e.sample.value, {e.bytes.begin(), e.bytes.end()}});
  for (std::size_t i = 0; i < p.inputs.size(); ++i) {
    const auto& input = p.inputs[i];
    if (rendering.passed[i] != 0 && input.sample < end)
      heard.push_back({input.sample.value, {input.midi.bytes.begin(), input.midi.bytes.end()}});
  }
  return heard;
}

}  // namespace

TEST_CASE("FILE-1: whole tunes from files: the built plugin plays the notes that the command line renders") {
  for (const auto& tune : tunes)
    for (const int rate : {44100, 48000, 96000}) {
      const auto performance = performanceOf(tune, settingsFrom(ParameterValues(), &test::idiom(tune.idiom)), rate);
      auto piece = pieceOf(tune, *performance, rate);
      const auto whole = piece.end();
      const auto rendering = render(*performance, rate, 0);
      REQUIRE(heardIn(rendering, *performance, whole).size() > 100);
      for (const std::int64_t size : {1, 37, 64, 441, 1024, 4096}) {
        piece.endsAt(size == 1 ? Samples{rate * 6} : whole);  // sample by sample is slow
        const auto expected = heardIn(rendering, *performance, piece.end());
        for (const auto format : formats) {
          Performing how;
          how.blocks = {{size}, {}};
          INFO(tune.name << ", " << nameOf(format) << ", " << rate << " Hz, blocks of " << size);
          CHECK(firstDifference(sorted(asCarried(format, expected)), sorted(perform(format, piece, how))) == "");
        }
      }
    }
}
