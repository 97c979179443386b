// HANDS and FOLLOW: hands that are told apart by listening, and a beat that is taken from them, in hosts. The notes are
// generated hands' (tests/performances). Scenarios: SCENARIOS.md.
#include <algorithm>

#include "plugin/commandline/performance.h"
#include "plugin/commandline/render.h"
#include "tests/catch.h"
#include "tests/host/direct.h"
#include "tests/performances/two_hands.h"

using namespace seguente;
using namespace seguente::host;
using seguente::test::Blocks;
using seguente::test::Group;
using seguente::test::Half;
using seguente::test::TwoHands;

namespace {

/// Two hands on one channel, in a host of their tempo; pedals stay out: VST3 carries them at a block's start alone.
Piece pieceOf(const TwoHands& hands, double rate, const char* idiom, double seconds) {
  const double bar = static_cast<double>(hands.meter.bar().value) / static_cast<double>(quarter.value);
  Piece piece(rate, hands.meter, 120, test::quarters(hands.pickup - bar));
  piece.choose(idiom);
  const auto at = [&](double when) { return Samples{std::llround(when * rate)}; };
  for (const auto& n : hands.notes) {
    piece.score().message({0x90, static_cast<std::uint8_t>(n.key), static_cast<std::uint8_t>(n.velocity)}, at(n.on));
    piece.score().message({0x80, static_cast<std::uint8_t>(n.key), 64}, at(n.off));
  }
  return piece.endsAt(at(std::min(hands.end, seconds)));
}

void soundsAsItShould(const Piece& piece) {
  soundsAsTheEngine(piece, 30,
                    {Blocks{{37}, {}}, Blocks{{64}, {}}, Blocks{{441}, {}}, Blocks{{1024}, {}}, Blocks{{4096}, {}},
                     Blocks{{1, 7, 511, 2048}, 5}});
}

/// What the engine said of the hands, in one call.
std::vector<test::HeardFact> factsOf(const Piece& piece) {
  return test::renderInBlocks(piece.inputs(), {}, piece.score().rate(), piece.end(), false).facts;
}

View viewOf(const Processor& processor) {
  View view;
  processor.view().read(view);
  return view;
}

}  // namespace

TEST_CASE("HANDS-1: both hands on one channel, close together, the tune under the chord: told apart by listening") {
  int revised = 0;
  for (const auto group : {Group::close, Group::dipping}) {
    const auto hands = test::performanceOf(group, Half::report, 4);
    const auto piece = pieceOf(hands, 48000, "rocking-bass", 25);
    for (const auto& f : factsOf(piece)) revised += f.fact.kind == FactKind::hand && f.fact.revision > 0 ? 1 : 0;
    INFO(test::groupName(group) << ", " << hands.tune);
    soundsAsItShould(piece);
  }
  CHECK(revised > 0);
}

TEST_CASE("HANDS-2: listening, a fixed key and back again, with keys down: each ends as what it was struck as") {
  const auto hands = test::performanceOf(Group::dipping, Half::report, 5);
  auto piece = pieceOf(hands, 48000, "rocking-bass", 20);
  for (int i = 1; i < 16; ++i) piece.set(ParameterId::handSplit, i % 4, Samples{i * 58000});
  soundsAsItShould(piece);
}

TEST_CASE("HANDS-3: a key that was lent to the tune and taken back changes hands on the screen") {
  int seen = 0;
  for (std::uint64_t seed = 1; seed < 10 && seen < 3; ++seed) {
    const auto piece = pieceOf(test::performanceOf(Group::close, Half::report, seed), 48000, "rocking-bass", 60);
    const auto facts = factsOf(piece);
    Processor processor;
    Performing how;
    how.blocks = {{32}, {}};
    Host host(processor, setterOf(processor), piece, how);
    for (const auto& [f, chord, complete] : facts) {
      if (f.kind != FactKind::hand || f.status != FactStatus::withdrawn) continue;
      const auto lent = std::find_if(facts.begin(), facts.end(), [&, id = f.id](const test::HeardFact& h) {
        return h.fact.kind == FactKind::hand && h.fact.id == id && h.fact.revision == 0;
      });
      if (f.sample - lent->fact.sample < Samples{96} || lent->fact.sample < host.now()) continue;
      host.playUntil(Samples{lent->fact.sample.value + 32});
      CHECK(viewOf(processor).tune.has(f.note));
      host.playUntil(Samples{f.sample.value + 32});
      CHECK(viewOf(processor).held.has(f.note));
      CHECK_FALSE(viewOf(processor).tune.has(f.note));
      ++seen;
    }
  }
  CHECK(seen >= 3);
}

TEST_CASE("FOLLOW-1: time from the hands, while the host rolls at another tempo, jumps and stops") {
  for (const auto* idiom : {"waltz", "held-chords"}) {
    const auto hands = test::performanceOf(Group::rubato, Half::report, 6);
    auto piece = pieceOf(hands, 48000, idiom, 30);
    piece.set(ParameterId::time, 2).set(ParameterId::ownTempo, 96);
    piece.score().tempoFrom(Samples{200000}, 61);
    INFO(idiom << ", " << hands.tune);
    const auto facts = factsOf(piece);
    CHECK(std::any_of(facts.begin(), facts.end(),
                      [](const test::HeardFact& f) { return f.fact.kind == FactKind::beat; }));
    soundsAsItShould(piece);
  }
}

TEST_CASE("FOLLOW-2: what `seguente render --tempo follow` plays of a file the plugin plays of it in a host") {
  for (const auto* name : {"clementine", "twelve-bars"}) {
    HearingOptions options;
    options.input = std::string(SEGUENTE_PRESETS "/demo/") + name + ".mid";
    options.settings.handRule = HandRule::automatic;
    options.settings.follow.on = true;
    auto prepared = prepare(options, &test::idiom("held-chords"));
    REQUIRE(prepared.fault == "");
    auto& p = *prepared.value;
    Piece piece;
    piece.choose("held-chords").set(ParameterId::time, 2);
    for (auto& input : p.inputs) {
      if (input.kind == InputKind::settings) {
        // As the plugin has it: all to channel 1, and an idiom of any meter leaves it to be guessed. A file's tempo is
        // what the own tempo is to the plugin.
        input.settings.outputChannel = {0, 0, 0, 0};
        input.settings.follow.guessMeter = true;
        input.settings.follow.meter = {4, 4};
        if (input.settings.follow.tempo != 0) piece.set(ParameterId::ownTempo, input.settings.follow.tempo);
      }
      if (input.kind == InputKind::midi && (input.midi.noteOn() || input.midi.noteOff()))
        piece.score().add(input.sample, input);
    }
    p.over = std::numeric_limits<std::int64_t>::max();
    piece.endsAt(p.inputs.back().sample);
    const auto rendering = render(p, 48000, 0);
    CHECK(rendering.beats.size() > 20);
    std::vector<Heard> expected;
    for (const auto& e : rendering.ours)
      if (e.sample < piece.end() && e.noteId != 0)
        expected.push_back({e.sample.value, {e.bytes.begin(), e.bytes.end()}});
    REQUIRE(expected.size() > 40);
    const auto ours = byEngine(piece);
    for (const auto format : formats) {
      // All of ours is in what came, and all that came beyond it is the tune's.
      auto came = perform(format, piece);
      for (const auto& e : expected) {
        INFO(name << ", " << nameOf(format) << ": " << textOf(e));
        const auto there = std::find(came.begin(), came.end(), e);
        REQUIRE(there != came.end());
        came.erase(there);
      }
      INFO(name << ", " << nameOf(format));
      CHECK(came.size() + expected.size() == ours.size());
    }
  }
}

TEST_CASE("FOLLOW-3: the screen shows the tempo, bar and beat that the hands give") {
  const double rate = 48000, beat = 60.0 / 88, from = 0.7;
  TwoHands hands;
  hands.meter = {3, 4};
  const int bars = 12;
  for (int b = 0; b < bars; ++b) {
    const double bar = from + b * 3 * beat;
    for (const auto k : test::keys(b % 2 == 0 ? "C3 E3 G3" : "B2 F3 G3"))
      hands.notes.push_back({bar, bar + 2.7 * beat, k.value, 64, Hand::chord});
    for (int k = 0; k < 3; ++k)
      hands.notes.push_back({bar + k * beat, bar + (k + 0.9) * beat, 72 + 2 * ((b + k) % 4), 80, Hand::melody});
  }
  hands.end = from + bars * 3 * beat;
  auto piece = pieceOf(hands, rate, "waltz", 60);
  piece.set(ParameterId::time, 2);
  Processor processor;
  Host host(processor, setterOf(processor), piece, {});
  for (int b = 4; b < bars; ++b)
    for (int k = 0; k < 3; ++k) {
      host.playUntil(Samples{std::llround((from + (b * 3 + k + 0.5) * beat) * rate)});
      const auto view = viewOf(processor);
      INFO("bar " << b + 1 << ", beat " << k + 1);
      CHECK(view.playing);
      CHECK(view.quartersPerMinute == Approx(88).epsilon(0.03));
      CHECK(view.bar == b + 1);
      CHECK((view.tick - view.barStart).value / quarter.value == k);
    }
}

TEST_CASE("TIME-15: bars are numbered over changes of meter, in a host that counts them and in one that does not") {
  for (const auto says : {Says::everything, Says::onChange}) {
    Piece piece(48000, {4, 4}, 120);
    piece.score().meter({3, 4}, test::quarters(8)).meter({6, 8}, test::quarters(14)).meter({5, 4}, test::quarters(20));
    piece.endsAt(test::quarters(35));
    Processor processor;
    Performing how;
    how.says = says;
    Host host(processor, setterOf(processor), piece, how);
    // Bars begin at quarters 0 4 8 11 14 17 20 25 30.
    const double middles[] = {2, 6, 9.5, 12.5, 15.5, 18.5, 22.5, 27.5, 32.5};
    for (int bar = 1; bar <= 9; ++bar) {
      host.playUntil(test::quarters(middles[bar - 1]));
      INFO("bar " << bar);
      CHECK(viewOf(processor).bar == bar);
    }
  }
}
