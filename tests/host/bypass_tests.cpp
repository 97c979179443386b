// BYPASS: switched off in the middle of a note, and on again; asleep and awake. Scenarios: SCENARIOS.md.
#include "tests/catch.h"
#include "tests/host/direct.h"

using namespace seguente;
using namespace seguente::host;
using seguente::test::quarters;

namespace {

Piece heldChord() {
  Piece piece(48000, {4, 4}, 120);
  piece.score().chord("C3 E3 G3", quarters(0.05), quarters(9.8)).tune("E5", quarters(1.2), quarters(5.7));
  piece.endsAt(quarters(10.5));
  return piece;
}

/// From here on the engine is bypassed, or no longer.
void tell(Piece& piece, double at, bool bypassed) {
  const auto sample = piece.score().sampleOf(quarters(at));
  piece.score().add(sample, Input::bypassAt(sample, bypassed));
}

}  // namespace

TEST_CASE(
    "BYPASS-1: the switch is turned in a note: ours ends at once, what is played passes, and after it the figure "
    "goes on with the keys that are down") {
  auto piece = heldChord();
  const auto from = piece.score().sampleOf(quarters(2.3)), to = piece.score().sampleOf(quarters(6.6));
  auto expectedPiece = heldChord();
  tell(expectedPiece, 2.3, true);
  tell(expectedPiece, 6.6, false);
  const auto expected = byEngine(expectedPiece);
  piece.set(ParameterId::bypass, 1, from).set(ParameterId::bypass, 0, to);
  for (const auto format : formats) {
    const auto heard = perform(format, piece);
    INFO(nameOf(format));
    CHECK(firstDifference(asCarried(format, expected), heard) == "");
    int ours = 0, after = 0;
    for (const auto& h : noteOns(heard)) {
      ours += h.sample > from.value && h.sample < to.value;
      after += h.sample >= to.value;
    }
    CHECK(ours == 0);
    CHECK(after > 2);
  }
}

TEST_CASE("BYPASS-2: a host that calls for the bypass itself, in the middle of a note") {
  const auto piece = heldChord();
  auto expectedPiece = heldChord();
  tell(expectedPiece, 2.3, true);
  tell(expectedPiece, 6.6, false);
  const auto expected = byEngine(expectedPiece);
  const auto from = piece.score().sampleOf(quarters(2.3)), to = piece.score().sampleOf(quarters(6.6));
  Processor processor;
  Host host(processor, setterOf(processor), piece);
  host.playUntil(from).playUntil(to, true).playUntil(piece.end());
  CHECK(firstDifference(expected, host.heard()) == "");
  // JUCE's VST3 host turns such a call into the bypass parameter, as real ones do.
  Bundle bundle(Format::vst3);
  Host vst3(bundle, piece);
  vst3.playUntil(from).playUntil(to, true).playUntil(piece.end());
  CHECK(firstDifference(asCarried(Format::vst3, expected), vst3.heard()) == "");
}

TEST_CASE("BYPASS-3: a chord changes while bypassed, and the new one is what goes on") {
  Piece piece(48000, {4, 4}, 120);
  piece.score().chord("C3 E3 G3", quarters(0.05), quarters(3.9)).chord("C3 F3 A3", quarters(3.95), quarters(9.8));
  piece.endsAt(quarters(10.5));
  auto expectedPiece = Piece(48000, {4, 4}, 120);
  expectedPiece.score()
      .chord("C3 E3 G3", quarters(0.05), quarters(3.9))
      .chord("C3 F3 A3", quarters(3.95), quarters(9.8));
  expectedPiece.endsAt(quarters(10.5));
  tell(expectedPiece, 2.3, true);
  tell(expectedPiece, 6.6, false);
  piece.set(ParameterId::bypass, 1, piece.score().sampleOf(quarters(2.3)));
  piece.set(ParameterId::bypass, 0, piece.score().sampleOf(quarters(6.6)));
  const auto expected = byEngine(expectedPiece);
  for (const auto format : formats) {
    INFO(nameOf(format));
    CHECK(firstDifference(asCarried(format, expected), perform(format, piece)) == "");
  }
}

TEST_CASE("SUSPEND-1: the host prepares again in a note, at another rate: what is owed comes first, then it plays on") {
  const auto piece = heldChord();
  for (const double rate : {44100.0, 48000.0, 96000.0})
    for (const bool built : {true, false}) {
      INFO(rate << (built ? ", VST3" : ", directly"));
      Bundle bundle(Format::vst3);
      Processor processor;
      const Setter set =
          built ? Setter([&](ParameterId which, double plain) { bundle.set(which, plain); }) : setterOf(processor);
      Host host(built ? static_cast<juce::AudioProcessor&>(bundle.plugin()) : processor, set, piece);
      host.playUntil(quarters(2.3));
      std::string sounding = stillSounding(host.heard());
      REQUIRE(sounding != "");
      const auto before = host.now().value;
      host.prepareAgain(rate, 512);
      host.block(64);
      // Everything that the plugin had struck, and the tune that it had passed, is closed on the block's first sample.
      std::vector<Heard> soFar;
      for (const auto& h : host.heard())
        if (h.sample <= before) soFar.push_back(h);
      CHECK(stillSounding(soFar) == "");
      // Keys struck from now on sound as ever.
      const auto heardBefore = noteOns(host.heard()).size();
      for (const auto key : test::keys("C3 F3 A3")) host.send({0x90, key.value, 80});
      host.playUntil(quarters(8));
      CHECK(noteOns(host.heard()).size() > heardBefore + 2);
      for (const auto key : test::keys("C3 F3 A3")) host.send({0x80, key.value, 64});
      host.playUntil(piece.end());
      CHECK(stillSounding(host.heard()) == "");
    }
}

TEST_CASE("SUSPEND-2: a host lets the plugin sleep in a note; when it wakes, nothing sounds that nobody ends") {
  const auto piece = heldChord();
  Processor processor;
  Host host(processor, setterOf(processor), piece);
  host.playUntil(quarters(2.3));
  REQUIRE(stillSounding(host.heard()) != "");
  processor.reset();  // both formats' wrappers call it when a host stops processing
  const auto before = host.now().value;
  host.block(1);
  std::vector<Heard> soFar;
  for (const auto& h : host.heard())
    if (h.sample <= before) soFar.push_back(h);
  CHECK(stillSounding(soFar) == "");
}
