// TIME: the accompaniment stays in the host's time. Scenarios and their numbers: SCENARIOS.md.
#include <cmath>

#include "tests/catch.h"
#include "tests/host/direct.h"
#include "tests/host/plain_lv2.h"

using namespace seguente;
using namespace seguente::host;
using seguente::test::Blocks;
using seguente::test::quarters;

namespace {

/// A chord a bar, from just after its first beat, and one note of tune in it.
Piece& chordsIn(Piece& piece, double from, double bar, int bars) {
  const char* const shapes[] = {"C3 E3 G3", "C3 F3 A3", "B2 F3 G3"};
  for (int i = 0; i < bars; ++i) {
    const double at = from + i * bar;
    piece.score().chord(shapes[i % 3], quarters(at + 0.05), quarters(at + bar - 0.1));
    piece.score().tune("E5", quarters(at + 0.4), quarters(at + 1.2));
  }
  return piece;
}

bool struckAt(const Piece& piece, std::int64_t sample) {
  for (const auto& i : piece.inputs())
    if (i.kind == InputKind::midi && i.midi.noteOn() && i.sample.value == sample) return true;
  return false;
}

void soundsAsItShould(const Piece& piece, const Performing& how = {}) {
  soundsAsTheEngine(piece, 8, {Blocks{{64}, {}}, Blocks{{1024}, {}}, Blocks{{1, 7, 511, 2048}, 5}}, how);
}

}  // namespace

TEST_CASE("TIME-1: a steady tempo that is no whole number of samples a beat") {
  // 101.75 is exact in the single precision that LV2 carries tempi in.
  Piece piece(44100, {4, 4}, 101.75);
  chordsIn(piece, 0, 4, 4).endsAt(quarters(17));
  soundsAsItShould(piece);
}

TEST_CASE("TIME-2: the tempo steps up and down, inside bars too") {
  Piece piece(48000, {4, 4}, 120);
  piece.score().tempo(92.5, quarters(4)).tempo(151, quarters(9.3)).tempo(60.25, quarters(12));
  chordsIn(piece, 0, 4, 4).endsAt(quarters(16.5));
  soundsAsItShould(piece);
}

TEST_CASE("TIME-4: a waltz in three, and a song in six eights, as the host counts them") {
  Piece waltz(48000, {3, 4}, 132);
  waltz.choose("waltz");
  chordsIn(waltz, 0, 3, 4).endsAt(quarters(13));
  soundsAsItShould(waltz);
  Piece six(48000, {6, 8}, 80);
  six.choose("held-chords").set(ParameterId::density, 2);
  chordsIn(six, 0, 3, 4).endsAt(quarters(13));
  soundsAsItShould(six);
}

TEST_CASE("TIME-5: the meter changes from four to three and back while it plays") {
  Piece piece(48000, {4, 4}, 120);
  piece.score().meter({3, 4}, quarters(8)).meter({4, 4}, quarters(14));
  chordsIn(piece, 0, 4, 2);
  chordsIn(piece, 8, 3, 2);
  chordsIn(piece, 14, 4, 2).endsAt(quarters(22.5));
  soundsAsItShould(piece);
}

TEST_CASE("TIME-6: a host that begins two beats before its zero") {
  Piece piece(48000, {4, 4}, 100);
  piece.score().jump(Samples{0}, quarters(-2));
  chordsIn(piece, -2, 2, 1);
  chordsIn(piece, 0, 4, 2).endsAt(quarters(8.5));
  soundsAsItShould(piece);
}

TEST_CASE("TIME-7: a host that names no bars: four beats from its zero make one") {
  Piece piece(48000, {4, 4}, 120);
  chordsIn(piece, 0, 4, 3).endsAt(quarters(12.5));
  Performing how;
  how.says = Says::noBars;
  soundsAsItShould(piece, how);
}

TEST_CASE("TIME-8: a host that says where it is only when that changes") {
  Piece piece(48000, {4, 4}, 120);
  // 96: the bar line falls on a sample, so that the score's line is the very one that an LV2 host's count of bars
  // tells.
  piece.score().tempo(96, quarters(5)).meter({3, 4}, quarters(8));
  chordsIn(piece, 0, 4, 2);
  chordsIn(piece, 8, 3, 2).endsAt(quarters(14.5));
  const auto expected = byEngine(piece);
  for (const auto size : {64, 480, 4096}) {
    Performing how;
    how.says = Says::onChange;
    how.blocks = {{size}, {}};
    INFO("blocks of " << size);
    CHECK(firstDifference(expected, performDirectly(piece, how)) == "");
    // VST3 has no way to say nothing: its context is there in every block.
    CHECK(firstDifference(expected, perform(Format::lv2, piece, how)) == "");
  }
}

TEST_CASE("TIME-9: a host that says nothing at all gets the own tempo") {
  Piece piece(48000, {4, 4}, 84);
  piece.set(ParameterId::ownTempo, 84);
  chordsIn(piece, 0, 4, 3).endsAt(quarters(12.5));
  Performing how;
  how.says = Says::nothing;
  soundsAsItShould(piece, how);
}

TEST_CASE("TIME-10: the own tempo rules although the host rolls at another, when that is asked for") {
  Piece piece(48000, {4, 4}, 84);
  piece.set(ParameterId::ownTempo, 84).set(ParameterId::time, 1);
  chordsIn(piece, 0, 4, 2).endsAt(quarters(8.5));
  const auto expected = byEngine(piece);
  Piece another(48000, {4, 4}, 140);  // what the host says; the notes stay where they are
  another.set(ParameterId::ownTempo, 84).set(ParameterId::time, 1);
  for (const auto& input : piece.inputs())
    if (input.kind == InputKind::midi) another.score().add(input.sample, input);
  another.endsAt(piece.end());
  for (const auto format : formats) {
    INFO(nameOf(format));
    CHECK(firstDifference(asCarried(format, expected), perform(format, another)) == "");
  }
}

TEST_CASE("TIME-11: the transport stops in a note, the keys still speak, and it starts again") {
  Piece piece(48000, {4, 4}, 120);
  piece.score().chord("C3 E3 G3", quarters(0.05), quarters(3)).stop(quarters(2.3));
  const auto stopped = piece.score().sampleOf(quarters(2.3));
  // While it stands, the score's map stands too: these are samples.
  const auto later = [&](std::int64_t n) { return Samples{stopped.value + n}; };
  for (const auto key : test::keys("B2 F3 G3")) {
    piece.score().message({0x90, key.value, 70}, later(30000));
    piece.score().message({0x80, key.value, 64}, later(52000));
  }
  piece.score().jump(later(60000), quarters(4));
  for (const auto key : test::keys("C3 F3 A3")) piece.score().message({0x90, key.value, 70}, later(61000));
  for (const auto key : test::keys("C3 F3 A3")) piece.score().message({0x80, key.value, 64}, later(130000));
  piece.endsAt(later(140000));
  soundsAsItShould(piece);
  for (const auto format : formats) {
    const auto heard = perform(format, piece);
    INFO(nameOf(format) << ": " << stillSounding(heard));
    std::vector<Heard> untilStop;
    for (const auto& h : heard)
      if (h.sample <= stopped.value) untilStop.push_back(h);
    CHECK(stillSounding(untilStop) == "");
  }
}

TEST_CASE("TIME-12: an offline bounce that starts at once, with a note on its first sample") {
  Piece piece(48000, {4, 4}, 120);
  piece.score().chord("C3 E3 G3", quarters(0), quarters(3.8)).chord("C3 F3 A3", quarters(4), quarters(7.8));
  piece.endsAt(quarters(8.5));
  const auto expected = byEngine(piece);
  for (const auto format : formats) {
    INFO(nameOf(format));
    Bundle bundle(format);
    bundle.plugin().setNonRealtime(true);
    Performing how;
    how.blocks = {{8192}, {}};
    CHECK(firstDifference(asCarried(format, expected), Host(bundle, piece, how).playUntil(piece.end()).heard()) == "");
  }
}

TEST_CASE("TIME-16: a host that records") {
  Piece piece(48000, {4, 4}, 120);
  chordsIn(piece, 0, 4, 2).endsAt(quarters(8.5));
  Performing how;
  how.records = true;
  soundsAsItShould(piece, how);
}

TEST_CASE("TIME-13: every attack of a steady or stepped tempo lies on its beat's own sample") {
  Piece piece(48000, {4, 4}, 120);
  piece.score().tempo(97, quarters(4)).tempo(133, quarters(8));
  chordsIn(piece, 0, 4, 3).endsAt(quarters(12));
  for (const auto format : formats) {
    int attacks = 0;
    for (const auto& h : noteOns(perform(format, piece))) {
      if (h.bytes[1] >= 60) continue;           // the tune
      if (struckAt(piece, h.sample)) continue;  // late, with the hand
      // The nearest eighth's own sample by the score's map, which is not the engine's.
      const auto tick = static_cast<double>(piece.score().tickAt(Samples{h.sample}).value);
      const auto eighth = quarters(std::round(2 * tick / static_cast<double>(quarter.value)) / 2);
      INFO(nameOf(format) << " " << textOf(h));
      CHECK(h.sample == piece.score().sampleOf(eighth).value);
      ++attacks;
    }
    CHECK(attacks > 8);
  }
}

namespace {

/// A host whose tempo rises evenly, and which says at each block's start what it then is.
class Ramp final : public juce::AudioPlayHead {
 public:
  static constexpr double from = 90, rise = 12;  // quarters a minute, and a second
  static double quartersAt(double seconds) { return (from * seconds + rise * seconds * seconds / 2) / 60; }
  juce::Optional<PositionInfo> getPosition() const override {
    const double seconds = static_cast<double>(sample) / 48000;
    PositionInfo info;
    info.setTimeInSamples(sample);
    info.setPpqPosition(quartersAt(seconds));
    info.setBpm(from + rise * seconds);
    info.setTimeSignature(TimeSignature{4, 4});
    info.setPpqPositionOfLastBarStart(std::floor(quartersAt(seconds) / 4) * 4);
    info.setIsPlaying(true);
    return info;
  }
  juce::int64 sample = 0;
};

}  // namespace

TEST_CASE("TIME-3: the tempo rises evenly: no attack is off by more than one tempo a block must be") {
  for (const auto format : formats)
    for (const int block : {1, 64, 512, 2048}) {
      Bundle bundle(format);
      auto& plugin = bundle.plugin();
      Ramp ramp;
      plugin.setPlayHead(&ramp);
      plugin.setRateAndBufferSizeDetails(48000, 2048);
      plugin.prepareToPlay(48000, 2048);
      juce::AudioBuffer<float> audio(0, block);
      juce::MidiBuffer midi;
      int attacks = 0;
      for (ramp.sample = 0; ramp.sample < 6 * 48000; ramp.sample += block) {
        if (ramp.sample == 0)
          for (const auto key : test::keys("C3 E3 G3")) midi.addEvent(juce::MidiMessage::noteOn(1, key.value, 0.6f), 0);
        plugin.processBlock(audio, midi);
        for (const auto m : midi) {
          if (!m.getMessage().isNoteOn()) continue;
          const double seconds = static_cast<double>(ramp.sample + m.samplePosition) / 48000;
          const double quarter = Ramp::quartersAt(seconds);
          const double tempo = Ramp::from + Ramp::rise * seconds;
          const double off = std::abs(quarter - std::round(quarter)) * 60 / tempo;  // broken bass: an attack a beat
          // host_time.h: r T^2 / (2 b); and half a sample that no host can avoid, and one by which it may stray.
          const double length = block / 48000.0;
          const double bound = Ramp::rise * length * length / (2 * tempo) + 1.5 / 48000;
          INFO(nameOf(format) << ", blocks of " << block << ", beat " << quarter);
          CHECK(off <= bound);
          ++attacks;
        }
        midi.clear();
      }
      CHECK(attacks >= 8);
      plugin.setPlayHead(nullptr);
    }
}

namespace {

/// Two real hosts count so: bar and place in the bar alone, in beats of the meter, cut off to 1/1920 of one.
SaidPosition counted(const Piece& piece, std::int64_t sample, std::int64_t offset) {
  const auto place = piece.placeAt(sample);
  const double perBeat = 4.0 / place.meter.denominator;
  SaidPosition said;
  said.offset = offset;
  said.frame = sample;
  said.bar = place.bar;
  said.barBeat = static_cast<float>(std::floor((place.quarters - place.barStart) / perBeat * 1920) / 1920);
  said.beatUnit = place.meter.denominator;
  said.beatsPerBar = place.meter.numerator;
  said.beatsPerMinute = static_cast<float>(place.quartersPerMinute / perBeat);
  said.speed = place.playing ? 1.0f : 0.0f;
  return said;
}

/// `every`: the position in each block; else only where something changes, and then in the middle of a block.
std::vector<Heard> performCounted(const Piece& piece, std::int64_t block, bool every) {
  PlainLv2 lv2(piece.score().rate());
  std::vector<Input> notes;
  for (const auto& i : piece.inputs())
    if (i.kind == InputKind::midi) notes.push_back(i);
  for (const auto& change : piece.changes()) lv2.set(parameter(change.which).id, static_cast<float>(change.plain));
  std::size_t next = 0, stretch = 0;
  const auto& stretches = piece.score().stretches();
  for (std::int64_t now = 0; now < piece.end().value; now += block) {
    const auto until = std::min(now + block, piece.end().value);
    if (every) lv2.position(counted(piece, now, 0));
    while (true) {
      const auto note = next < notes.size() ? notes[next].sample.value : until;
      const auto change = stretch < stretches.size() ? stretches[stretch].sample.value : until;
      if (std::min(note, change) >= until) break;
      if (change <= note) {
        if (!every || change != now) lv2.position(counted(piece, change, change - now));
        ++stretch;
      } else {
        const auto& m = notes[next++].midi;
        lv2.midi(note - now, {m.bytes.begin(), m.bytes.begin() + m.length});
      }
    }
    lv2.run(until - now);
  }
  return lv2.heard();
}

}  // namespace

TEST_CASE("TIME-14: an LV2 host that counts bars and beats alone, in every block or only on change") {
  Piece four(48000, {4, 4}, 120), six(48000, {6, 8}, 80), changing(48000, {4, 4}, 120), before(48000, {4, 4}, 100);
  chordsIn(four, 0, 4, 3).endsAt(quarters(12.5));
  six.choose("held-chords").set(ParameterId::density, 2);
  chordsIn(six, 0, 3, 4).endsAt(quarters(13));
  changing.score().meter({3, 4}, quarters(8)).tempo(160, quarters(11)).meter({4, 4}, quarters(14));
  chordsIn(changing, 0, 4, 2);
  chordsIn(changing, 8, 3, 2);
  chordsIn(changing, 14, 4, 1).endsAt(quarters(18));
  before.score().jump(Samples{0}, quarters(-2));
  chordsIn(before, -2, 2, 1);
  chordsIn(before, 0, 4, 2).endsAt(quarters(8.5));
  const std::pair<const char*, const Piece*> pieces[] = {
      {"four", &four}, {"six", &six}, {"changing", &changing}, {"from before zero", &before}};
  for (const auto& [name, piece] : pieces)
    for (const bool every : {true, false})
      for (const std::int64_t block : {64, 1000}) {
        INFO(name << (every ? ", every block of " : ", on change, blocks of ") << block);
        const auto expected = byEngine(*piece), came = performCounted(*piece, block, every);
        REQUIRE(noteOns(expected).size() > 8);
        REQUIRE(came.size() == expected.size());
        // A place in the bar is cut off by the host, by up to 1/1920 of a beat: 13 samples here.
        for (std::size_t i = 0; i < came.size(); ++i) {
          INFO(textOf(expected[i]) << ", came " << textOf(came[i]));
          CHECK(came[i].bytes == expected[i].bytes);
          CHECK(std::abs(came[i].sample - expected[i].sample) <= 1);
        }
      }
}
