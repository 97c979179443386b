// MAP: what is played and what comes out of it, transposed, on other channels; what gives a signal. SCENARIOS.md.
#include "tests/catch.h"
#include "tests/host/direct.h"
#include "tests/host/wrapped.h"

using namespace seguente;
using namespace seguente::host;
using seguente::test::quarters;

namespace {

/// The song in another key: every name given is moved by so many semitones.
Piece song(int semitones) {
  Piece piece(48000, {4, 4}, 120);
  const auto add = [&](const char* names, double from, double to) {
    for (const auto key : test::keys(names)) {
      const auto moved = static_cast<std::uint8_t>(key.value + semitones);
      piece.score().message({0x90, moved, 75}, quarters(from)).message({0x80, moved, 64}, quarters(to));
    }
  };
  add("C3 E3 G3", 0.05, 3.8);
  add("E4 G4", 0.5, 2.2);
  add("B2 F3 G3", 4.05, 7.6);
  add("D5", 4.3, 7.9);
  piece.endsAt(quarters(8.5));
  return piece;
}

std::vector<Heard> ofKind(const std::vector<Heard>& heard, int kind) {
  std::vector<Heard> some;
  for (const auto& h : heard)
    if (!h.bytes.empty() && (h.bytes[0] & 0xF0) == kind) some.push_back(h);
  return some;
}

/// In both formats what the engine makes of `expected` is what is heard of `piece`.
void soundsLike(const Piece& piece, const Piece& expectedPiece) {
  const auto expected = byEngine(expectedPiece);
  REQUIRE(noteOns(expected).size() > 6);
  for (const auto format : formats) {
    INFO(nameOf(format));
    CHECK(firstDifference(asCarried(format, expected), perform(format, piece)) == "");
  }
}

/// A state in which these give the signals, as a session has them.
juce::MemoryBlock stateWith(std::initializer_list<std::pair<Signal, Giver>> givers) {
  Processor processor;
  for (const auto& [signal, giver] : givers) processor.signals().set(signal, giver);
  juce::MemoryBlock block;
  processor.getStateInformation(block);
  return block;
}

}  // namespace

TEST_CASE("MAP-1: the student plays in C, and the singer hears B flat: chords, tune and split are moved together") {
  for (const int semitones : {-2, 3, 12}) {
    auto piece = song(0);
    piece.set(ParameterId::transpose, semitones);
    auto expected = song(semitones);
    expected.set(ParameterId::splitKey, 60 + semitones);
    INFO(semitones << " semitones");
    soundsLike(piece, expected);
  }
}

TEST_CASE("MAP-2: the transposition changes while keys are down: each is let go as what it was struck as") {
  auto piece = song(0);
  piece.set(ParameterId::transpose, 5, piece.score().sampleOf(quarters(1.9)));
  for (const auto format : formats) {
    const auto heard = perform(format, piece);
    INFO(nameOf(format) << " " << stillSounding(heard));
    CHECK(stillSounding(heard) == "");
    // E4 and G4 were struck before, and D5 after: 64 and 67, and 74 + 5.
    for (const int key : {64, 67, 79}) {
      int ons = 0, offs = 0;
      for (const auto& h : heard) {
        if (h.bytes[1] != key) continue;
        ons += (h.bytes[0] & 0xF0) == 0x90;
        offs += (h.bytes[0] & 0xF0) == 0x80;
      }
      INFO("key " << key);
      CHECK(ons == 1);
      CHECK(offs == 1);
    }
  }
}

TEST_CASE("MAP-9: a key struck again without having been let go, transposed in between: the first is ended too") {
  Piece piece(48000, {4, 4}, 120);
  piece.score().message({0x90, 72, 80}, Samples{1000}).message({0x90, 72, 80}, Samples{20000});
  piece.score().message({0x80, 72, 64}, Samples{30000});
  piece.set(ParameterId::transpose, 3, Samples{15000});
  piece.endsAt(Samples{40000});
  for (const auto format : formats) {
    INFO(nameOf(format));
    const std::vector<Heard> expected{
        {1000, {0x90, 72, 80}}, {20000, {0x80, 72, 64}}, {20000, {0x90, 75, 80}}, {30000, {0x80, 75, 64}}};
    CHECK(firstDifference(expected, perform(format, piece)) == "");
  }
}

TEST_CASE("MAP-10: whatever shapes the playing is moved while it plays: to the top, to the bottom, and back") {
  Piece piece(48000, {4, 4}, 240);
  double at = 1.3;
  for (const auto& row : parameterTable()) {
    using enum ParameterId;
    // These have scenarios of their own: MAP-4, MAP-2, TIME-9 and 10, BYPASS; and a host counts in by itself.
    if (row.which == idiom || row.which == transpose || row.which == time || row.which == ownTempo ||
        row.which == bypass || row.which == countIn)
      continue;
    for (const double plain : {row.high, row.low, row.standard}) {
      piece.set(row.which, plain, piece.score().sampleOf(quarters(at)));
      at += 1.1;
    }
  }
  const int bars = static_cast<int>(at / 4) + 1;
  const char* const shapes[] = {"C3 E3 G3", "C3 F3 A3", "B2 F3 G3"};
  for (int bar = 0; bar < bars; ++bar) {
    const double start = bar * 4;
    piece.score().chord(shapes[bar % 3], quarters(start + 0.05), quarters(start + 3.8), 60 + 10 * (bar % 5));
    piece.score()
        .tune("E5", quarters(start + 1), quarters(start + 1.9))
        .tune("G5", quarters(start + 2), quarters(start + 3));
  }
  piece.endsAt(quarters(4 * bars + 2));
  soundsAsTheEngine(piece, 60, {test::Blocks{{64}, {}}, test::Blocks{{1, 7, 511, 2048}, 9}});
}

TEST_CASE("MAP-3: a channel a part, or one for all, and the change between them in a note") {
  auto piece = song(0);
  piece.set(ParameterId::outputChannels, 1).set(ParameterId::outputChannels, 0, Samples{60000});
  soundsLike(piece, piece);
  std::vector<int> used(16);
  for (const auto& h : noteOns(perform(Format::vst3, piece))) ++used[h.bytes[0] & 0x0F];
  CHECK(used[1] > 0);  // the bass, on channel 2, before
  for (const auto format : formats) CHECK(stillSounding(perform(format, piece)) == "");
}

TEST_CASE("MAP-4: a program change chooses the idiom of that slot, and does not pass; an empty slot changes nothing") {
  auto piece = song(0);
  const auto at = quarters(2.5), later = quarters(5.1);
  auto expected = song(0);
  expected.choose("bossa-nova", expected.score().sampleOf(at));
  piece.score().message({0xC0, static_cast<std::uint8_t>(slotOf("bossa-nova"))}, at);
  piece.score().message({0xC0, 120}, later);
  soundsLike(piece, expected);
  for (const auto format : formats) CHECK(ofKind(perform(format, piece), 0xC0).empty());
}

TEST_CASE("MAP-5: a key or a pedal that gives a signal gives it, and is not heard") {
  const auto saved = stateWith({{Signal::hold, {GiverKind::key, 0, 21}},
                                {Signal::goOn, {GiverKind::key, 0, 22}},
                                {Signal::next, {GiverKind::controller, 0, 66}},
                                {Signal::previous, {GiverKind::controller, 2, 67}}});
  auto piece = song(0), expectedPiece = song(0);
  const auto press = [&](std::uint8_t key, double at) {
    piece.score().message({0x90, key, 90}, quarters(at)).message({0x80, key, 0}, quarters(at + 0.1));
  };
  const auto tread = [&](std::uint8_t status, std::uint8_t number, double at) {
    piece.score().message({status, number, 127}, quarters(at)).message({status, number, 0}, quarters(at + 0.125));
  };
  press(21, 1.6);
  press(22, 3.1);
  expectedPiece.score().signal(Gesture::hold, quarters(1.6)).signal(Gesture::goOn, quarters(3.1));
  // From broken bass to what stands behind it on the shelf, and back (patterns/slots.txt).
  tread(0xB0, 66, 2.5);
  tread(0xB2, 67, 5.25);
  expectedPiece.choose("rocking-bass", expectedPiece.score().sampleOf(quarters(2.5)));
  expectedPiece.choose("broken-bass", expectedPiece.score().sampleOf(quarters(5.25)));
  const auto expected = byEngine(expectedPiece);
  REQUIRE(firstDifference(expected, byEngine(song(0))) != "");
  Processor reference;
  load(reference, saved);
  CHECK(firstDifference(expected, Host(reference, setterOf(reference), piece).playUntil(piece.end()).heard()) == "");
  for (const auto format : formats) {
    INFO(nameOf(format));
    Bundle bundle(format);
    load(bundle.plugin(), wrapped(bundle, saved));
    CHECK(firstDifference(asCarried(format, expected), Host(bundle, piece).playUntil(piece.end()).heard()) == "");
  }
}

TEST_CASE("MAP-6: a pedal gives silence; CC 120 and 123 do so without being asked") {
  const auto saved = stateWith({{Signal::silenceAll, {GiverKind::controller, 0, 67}}});
  for (const int controller : {67, 120, 123}) {
    auto piece = song(0);
    piece.score().message({0xB0, static_cast<std::uint8_t>(controller), 127}, quarters(2.3));
    const auto at = piece.score().sampleOf(quarters(2.3)).value;
    Processor processor;
    load(processor, saved);
    const auto heard = Host(processor, setterOf(processor), piece).playUntil(piece.end()).heard();
    std::vector<Heard> soFar;
    int mapped = 0, after = 0;
    for (const auto& h : heard) {
      if (h.sample <= at) soFar.push_back(h);
      mapped += h.bytes[0] == 0xB0 && h.bytes[1] == 67;
      after += h.sample > at && h.bytes[1] < 60 && (h.bytes[0] & 0xF0) == 0x90;
    }
    INFO("controller " << controller << ": " << stillSounding(soFar));
    CHECK(stillSounding(soFar) == "");
    CHECK(mapped == 0);
    CHECK(after > 2);  // the next chord plays
    for (const auto format : formats) {
      Bundle bundle(format);
      load(bundle.plugin(), wrapped(bundle, saved));
      const auto through = Host(bundle, piece).playUntil(piece.end()).heard();
      std::vector<Heard> before;
      for (const auto& h : through)
        if (h.sample <= at) before.push_back(h);
      INFO(nameOf(format));
      CHECK(stillSounding(before) == "");
      CHECK(stillSounding(through) == "");
    }
  }
}

TEST_CASE("MAP-7: the chord hand on its own channel, or no melody at all") {
  Piece byChannel(48000, {4, 4}, 120);
  byChannel.set(ParameterId::handSplit, 2).set(ParameterId::chordChannel, 5);
  byChannel.score().chord("C4 E4 G4", quarters(0.05), quarters(3.8), 70, 4).tune("C3", quarters(1), quarters(2));
  byChannel.score().chord("B3 F4 G4", quarters(4.05), quarters(7.8), 70, 4);
  byChannel.endsAt(quarters(8.5));
  soundsLike(byChannel, byChannel);
  auto noMelody = song(0);
  noMelody.set(ParameterId::handSplit, 3);
  soundsLike(noMelody, noMelody);
}

TEST_CASE("MAP-8: pedal, bend, pressure and a system exclusive message pass by, in their order") {
  const std::vector<std::vector<std::uint8_t>> messages{
      {0xB0, 64, 100}, {0xE0, 5, 70}, {0xD0, 40}, {0xA0, 64, 33}, {0xB0, 1, 127}, {0xF0, 0x7D, 1, 2, 3, 4, 0xF7}};
  for (const auto format : formats) {
    Bundle bundle(format);
    auto piece = song(0);
    Host host(bundle, piece);
    for (const auto& bytes : messages) {
      const auto before = host.heard().size();
      host.send(bytes);  // each at a block's start: VST3 has no other place for controllers
      host.block(32);
      INFO(nameOf(format) << " " << textOf({host.now().value, bytes}));
      REQUIRE(host.heard().size() == before + 1);
      CHECK(host.heard().back().bytes == bytes);
      CHECK(host.heard().back().sample == host.now().value - 32);
    }
  }
}
