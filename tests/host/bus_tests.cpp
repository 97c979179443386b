// BUS: a MIDI effect among audio. LATENCY, SCAN, INSTANCES: what hosts count on. Scenarios: SCENARIOS.md.
#include <filesystem>

#include "tests/catch.h"
#include "tests/host/direct.h"
#include "tests/host/files_opened.h"

using namespace seguente;
using namespace seguente::host;
using seguente::test::quarters;

namespace {

Piece played(int transposedBy = 0) {
  Piece piece(48000, {4, 4}, 120);
  piece.score().chord("C3 E3 G3", quarters(0.05), quarters(3.8)).tune("E5", quarters(1.2), quarters(3.3));
  piece.score().chord("B2 F3 G3", quarters(4.05), quarters(7.8));
  if (transposedBy != 0) piece.set(ParameterId::transpose, transposedBy);
  piece.endsAt(quarters(8.5));
  return piece;
}

int threads() {
  int count = 0;
  for ([[maybe_unused]] const auto& entry : std::filesystem::directory_iterator("/proc/self/task")) ++count;
  return count;
}

}  // namespace

TEST_CASE("BUS-1: with no audio, one channel or two the notes are the same, and audio that a host adds passes") {
  const auto expected = byEngine(played());
  for (const int channels : {0, 1, 2}) {
    Performing how;
    how.audioChannels = channels;
    INFO(channels << " channels");
    CHECK(firstDifference(expected, performDirectly(played(), how)) == "");
    for (const auto format : formats) {
      INFO(nameOf(format));
      CHECK(firstDifference(asCarried(format, expected), perform(format, played(), how)) == "");
    }
  }
  Processor processor;
  processor.prepareToPlay(48000, 64);
  juce::AudioBuffer<float> audio(2, 64);
  for (int i = 0; i < 64; ++i) audio.setSample(0, i, 0.25f), audio.setSample(1, i, -0.5f);
  juce::MidiBuffer midi;
  processor.processBlock(audio, midi);
  CHECK(audio.getSample(0, 63) == 0.25f);
  CHECK(audio.getSample(1, 0) == -0.5f);
}

TEST_CASE("BUS-2: blocks larger than the host had announced") {
  const auto expected = byEngine(played());
  Performing how;
  how.largest = 64;
  how.blocks = {{3000}, {}};
  CHECK(firstDifference(expected, performDirectly(played(), how)) == "");
  for (const auto format : formats) {
    INFO(nameOf(format));
    CHECK(firstDifference(asCarried(format, expected), perform(format, played(), how)) == "");
  }
}

TEST_CASE("LATENCY-1: none is reported, and there is no tail") {
  for (const auto format : formats) {
    Bundle bundle(format);
    bundle.plugin().prepareToPlay(48000, 256);
    INFO(nameOf(format));
    CHECK(bundle.plugin().getLatencySamples() == 0);
    CHECK(bundle.plugin().getTailLengthSeconds() == 0);
  }
}

TEST_CASE("SCAN-1: a host that only looks: the constructor opens no file and starts no thread") {
  const int before = threads();
  const FilesOpened opened;
  {
    Processor processor;
    CHECK(processor.getParameters().size() == static_cast<int>(parameterCount));
    CHECK(threads() == before);
    CHECK(opened.since() == std::vector<std::string>{});
  }
  // And the watch sees what it is to see: preparing reads the player's own folder.
  std::filesystem::create_directories(ownIdiomsFolder());
  Processor processor;
  processor.prepareToPlay(48000, 256);
  if (FilesOpened::canSee) CHECK(opened.since().size() > 0);
}

TEST_CASE("SCAN-2: what each format tells of itself") {
  for (const auto format : formats) {
    const auto said = descriptionOf(format);
    INFO(nameOf(format));
    CHECK(said.name == "Seguente");
    CHECK_FALSE(said.isInstrument);
    CHECK(said.numInputChannels == 0);
    CHECK(said.numOutputChannels == 0);
    Bundle bundle(format);
    CHECK(bundle.plugin().acceptsMidi());
    CHECK(bundle.plugin().producesMidi());
    for (const auto& row : parameterTable()) {
      if (row.which == ParameterId::bypass) continue;
      INFO(row.name);
      CHECK(bundle.parameter(row.which).getDefaultValue() == Approx(normal(row.which, row.standard)).margin(1e-5));
    }
  }
}

TEST_CASE("INSTANCES-1: a hundred in one process play at once, each its own") {
  for (const auto format : formats) {
    std::vector<std::unique_ptr<Bundle>> bundles;
    std::vector<std::unique_ptr<Piece>> pieces;
    std::vector<std::unique_ptr<Host>> hosts;
    for (int i = 0; i < 100; ++i) {
      bundles.push_back(std::make_unique<Bundle>(format));
      pieces.push_back(std::make_unique<Piece>(played(i % 5 - 2)));
      hosts.push_back(std::make_unique<Host>(*bundles.back(), *pieces.back()));
    }
    while (hosts[0]->now() < pieces[0]->end())
      for (auto& host : hosts) host->block(512);
    for (std::size_t i = 5; i < 100; ++i) {
      INFO(nameOf(format) << ", instance " << i);
      REQUIRE(firstDifference(hosts[i % 5]->heard(), hosts[i]->heard()) == "");
    }
    CHECK(firstDifference(hosts[0]->heard(), hosts[1]->heard()) != "");
    CHECK(noteOns(hosts[0]->heard()).size() > 8);
  }
}
