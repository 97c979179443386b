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

/// "" when the same messages came, none farther off than so many samples.
std::string apart(std::vector<Heard> expected, std::vector<Heard> came, std::int64_t most) {
  expected = sorted(std::move(expected));
  came = sorted(std::move(came));
  for (std::size_t i = 0; i < std::min(expected.size(), came.size()); ++i)
    if (std::abs(expected[i].sample - came[i].sample) <= most) came[i].sample = expected[i].sample;
  return firstDifference(expected, came);
}

/// The stream of the file, set as the plugin is set: names and programs are the file's business, not the plugin's.
std::unique_ptr<Performance> performanceOf(const Tune& tune, const Settings& settings) {
  HearingOptions options;
  options.input = std::string(SEGUENTE_PRESETS "/demo/") + tune.name + ".mid";
  options.time.pickup = quarter * tune.pickup;
  options.pickupGiven = true;
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
Piece pieceOf(const Tune& tune, const Performance& p) {
  REQUIRE(p.inputs.front().kind == InputKind::time);
  const auto& anchor = p.inputs.front().time;
  REQUIRE(anchor.tick == Ticks{0});
  Piece piece(48000, anchor.meter, anchor.quartersPerMinute, anchor.barStart);
  piece.choose(tune.idiom);
  for (const auto& input : p.inputs) {
    if (input.kind == InputKind::midi) piece.score().add(input.sample, input);
    REQUIRE((input.kind != InputKind::time || input.sample == Samples{0}));
  }
  return piece.endsAt(p.inputs.back().sample);
}

}  // namespace

TEST_CASE("FILE-1: whole tunes from files: the built plugin plays the notes that the command line renders") {
  for (const auto& tune : tunes) {
    const auto performance = performanceOf(tune, settingsFrom(ParameterValues(), &test::idiom(tune.idiom)));
    const auto piece = pieceOf(tune, *performance);
    const auto rendering = render(*performance, 48000, 0);
    std::vector<Heard> expected;
    for (const auto& e : rendering.ours)
      if (e.sample < piece.end()) expected.push_back({e.sample.value, {e.bytes.begin(), e.bytes.end()}});
    REQUIRE(expected.size() > 50);
    for (std::size_t i = 0; i < performance->inputs.size(); ++i) {
      const auto& input = performance->inputs[i];
      if (rendering.passed[i] != 0 && input.sample < piece.end())
        expected.push_back({input.sample.value, {input.midi.bytes.begin(), input.midi.bytes.end()}});
    }
    for (const auto format : formats)
      for (const std::int64_t size : {64, 1024}) {
        Performing how;
        how.blocks = {{size}, {}};
        INFO(tune.name << ", " << nameOf(format) << ", blocks of " << size);
        // A file's tempo is a whole number of microseconds a quarter; LV2 carries it as a single float, and is mended
        // when that has come to a sample.
        const std::int64_t most = format == Format::lv2 ? 1 : 0;
        CHECK(apart(asCarried(format, expected), perform(format, piece, how), most) == "");
      }
  }
}
