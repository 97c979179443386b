// What the instrument promises: it says why it is silent, sounds what is played where it is played, keeps pedals and
// programs of tune and parts apart, never clips, and falls silent. With the soundfont that ./run deps installs.
#include <dlfcn.h>

#include <algorithm>
#include <cmath>

#include "plugin/sound/instrument.h"
#include "tests/catch.h"
#include "tests/guard/audio_thread.h"
#include "tests/sound/measures.h"

using namespace seguente;
using namespace seguente::test;

namespace {

constexpr const char* font = "/usr/share/sounds/sf2/TimGM6mb.sf2";
constexpr double rate = 48000;

Played strike(int key, int velocity, Role role = Role::tune, int program = 0, int channel = 0) {
  Played p;
  p.bytes = {static_cast<std::uint8_t>(0x90 | channel), static_cast<std::uint8_t>(key),
             static_cast<std::uint8_t>(velocity)};
  p.role = role;
  p.part = static_cast<std::uint8_t>(role == Role::bass ? 0 : 1);
  p.program = static_cast<std::uint8_t>(program);
  p.ours = role != Role::tune;
  return p;
}
Played release(int key, bool ours = false, int channel = 0) {
  Played p;
  p.bytes = {static_cast<std::uint8_t>(0x80 | channel), static_cast<std::uint8_t>(key), 64};
  p.ours = ours;
  return p;
}
Played controller(int number, int value, bool ours = false) {
  Played p;
  p.bytes = {0xB0, static_cast<std::uint8_t>(number), static_cast<std::uint8_t>(value)};
  p.ours = ours;
  return p;
}

/// An instrument that is listened to, in blocks.
class Listening {
 public:
  explicit Listening(int block = 256) : block_(block) { REQUIRE(instrument.prepare(rate) == SoundState::ready); }
  void play(Played p, int offset = 0) {
    p.offset = offset;
    instrument.add(p);
  }
  /// The sound before the volume.
  Stereo hear(double seconds) {
    Stereo all;
    for (int left = static_cast<int>(seconds * rate); left > 0; left -= block_) {
      const auto count = static_cast<std::size_t>(std::min(left, block_));
      std::vector<float> l(count, 9), r(count, 9);
      instrument.render(l.data(), r.data(), static_cast<int>(count));
      all.left.insert(all.left.end(), l.begin(), l.end());
      all.right.insert(all.right.end(), r.begin(), r.end());
    }
    return all;
  }
  double rms(double seconds) {
    const auto s = hear(seconds);
    return rmsOf(s, 0, s.size());
  }
  Instrument instrument{font};

 private:
  int block_;
};

}  // namespace

TEST_CASE("Without FluidSynth, without a soundfont, at a rate it does not take: the state says so") {
  Synthesiser synthesiser;
  CHECK(synthesiser.open({.soundfont = font, .library = "libnot-there.so.3"}) == SoundState::noSynthesiser);
  CHECK(synthesiser.open({.soundfont = font, .rate = 192000}) == SoundState::badRate);
  CHECK(synthesiser.open({.soundfont = "/nowhere/none.sf2"}) == SoundState::badSoundfont);
  CHECK(synthesiser.open({.soundfont = "/proc/self/exe"}) == SoundState::badSoundfont);
  CHECK(synthesiser.open({.soundfont = font}) == SoundState::ready);
  const char* const none[] = {"/nowhere/a.sf2", "/nowhere/b.sf3"};
  CHECK(findSoundfont("", none) == "");
  CHECK(findSoundfont("mine.sf2", none) == "mine.sf2");
  CHECK(findSoundfont("", std::array{none[0], font}) == font);
}

TEST_CASE("An instrument that cannot sound is silent, takes all that is played, and can be asked why") {
  Instrument instrument("/nowhere/none.sf2");
  CHECK(instrument.state() == SoundState::notLoaded);
  CHECK(instrument.prepare(rate) == SoundState::badSoundfont);
  CHECK(instrument.soundfont() == "");
  std::vector<float> l(512, 1), r(512, 1);
  for (int i = 0; i < 5000; ++i) instrument.add(strike(60, 100));
  instrument.render(l.data(), r.data(), 512);
  instrument.applyVolume(l.data(), r.data(), 512);
  CHECK(peakOf(l) == 0);
  CHECK(peakOf(r) == 0);
}

TEST_CASE("A key of the tune sounds from its own place in the block on, and is silent after it was let go") {
  Listening play(4096);
  play.hear(0.2);
  play.play(strike(72, 90), 2000);
  const auto struck = play.hear(4096 / rate);
  CHECK(peakOf(std::span<const float>(struck.left).first(2000 - 64)) < 1e-4);  // FluidSynth works in steps of 64
  CHECK(peakOf(std::span<const float>(struck.left).subspan(2000)) > 0.005);
  CHECK(play.rms(0.3) > 0.01);
  play.play(release(72));
  play.hear(3);
  CHECK(play.rms(0.5) == 0);  // and nothing is computed any more
}

TEST_CASE("The pedals of tune and accompaniment do not meet, though both go out on one channel") {
  const auto hears = [](bool tunePedal, bool ourPedal, Role role, bool asks) {
    Listening play;
    if (tunePedal) play.play(controller(64, 127));
    if (ourPedal) play.play(controller(64, 127, true));
    auto note = strike(60, 90, role);
    note.pedal = asks;
    play.play(note);
    play.hear(0.3);
    play.play(release(60, role != Role::tune));
    play.hear(0.7);
    return play.rms(0.2) > 0.003;
  };
  CHECK(hears(true, false, Role::tune, false));
  CHECK_FALSE(hears(false, true, Role::tune, false));
  CHECK(hears(false, true, Role::chords, true));
  CHECK_FALSE(hears(false, true, Role::bass, false));  // a walking bass never smears
  CHECK_FALSE(hears(true, false, Role::chords, true));
}

TEST_CASE("A pedal that was pressed before the part's first note holds it, and lifts with the next chord") {
  Listening play;
  play.play(controller(64, 127, true));
  auto note = strike(48, 90, Role::chords);
  note.pedal = true;
  play.play(note);
  play.hear(0.2);
  play.play(release(48, true));
  play.hear(0.4);
  CHECK(play.rms(0.2) > 0.003);
  play.play(controller(64, 0, true));
  play.hear(1);
  CHECK(play.rms(0.2) < 0.001);
}

TEST_CASE("A key that tune and accompaniment strike in turn is let go by whoever struck it last") {
  Listening play;
  play.play(strike(60, 90, Role::chords));
  play.play(release(60, true));
  play.play(strike(60, 90));
  play.hear(0.3);
  CHECK(play.rms(0.2) > 0.01);
  play.play(release(60));
  play.hear(3);
  CHECK(play.rms(0.3) == 0);
}

TEST_CASE("A part sounds with its own program, whatever the tune's channel has") {
  const auto heard = [](int program, int tuneProgram) {
    Listening play;
    Played change;
    change.bytes = {0xC0, static_cast<std::uint8_t>(tuneProgram), 0};
    change.length = 2;
    play.play(change);
    play.play(strike(40, 90, Role::bass, program));
    return play.hear(0.5).left;
  };
  const auto piano = heard(0, 0);
  CHECK(piano == heard(0, 73));
  CHECK(piano != heard(32, 0));  // acoustic bass
}

TEST_CASE("Percussion of ours is that of the tenth channel, prepared again too") {
  const auto hear = [](Played p, bool again) {
    Listening play;
    if (again) play.instrument.prepare(rate);
    play.play(p);
    return play.hear(0.3).left;
  };
  const auto drum = hear(strike(38, 90, Role::tune, 0, 9), false);
  CHECK(peakOf(drum) > 0.01);
  CHECK(drum == hear(strike(38, 90, Role::percussion), false));
  CHECK(drum == hear(strike(38, 90, Role::percussion), true));
  CHECK(drum != hear(strike(38, 90, Role::chords), false));
}

TEST_CASE("Everything at once stays below the ceiling, between samples below full scale, and falls silent when told") {
  Listening play;
  Stereo all;
  for (int bar = 0; bar < 4; ++bar) {
    for (const int key : {28, 40, 43, 47, 52, 55, 59, 64, 67, 71, 76, 79, 83, 88})
      play.play(strike(key, 127, Role::tune, 0, bar));
    for (const int key : {36, 38, 42, 49}) play.play(strike(key, 127, Role::percussion, 0, 9));
    for (const int key : {28, 31, 35}) play.play(strike(key, 127, Role::bass, 33));
    const auto more = play.hear(0.5);
    all.left.insert(all.left.end(), more.left.begin(), more.left.end());
    all.right.insert(all.right.end(), more.right.begin(), more.right.end());
  }
  CHECK(play.instrument.takeLevel().turnedDown < 0.9F);  // so that the test tests something
  CHECK(peakOf(all) > 0.8);
  CHECK(peakOf(all) <= 0.8913);
  CHECK(truePeakOf(all.left) < 1);
  CHECK(truePeakOf(all.right) < 1);
  play.instrument.silence();
  play.hear(2);
  CHECK(play.rms(0.5) < 1e-4);
}

TEST_CASE("The volume goes from silence to full without a step, and leaves what is recorded alone") {
  Listening play;
  std::vector<float> l(512, 0.5F), r(512, 0.5F);
  const auto at = [&](double percent) {
    play.instrument.setVolume(percent);
    for (int i = 0; i < 2; ++i) {
      std::fill(l.begin(), l.end(), 0.5F);
      std::fill(r.begin(), r.end(), 0.5F);
      play.instrument.applyVolume(l.data(), r.data(), 512);
      for (std::size_t k = 1; k < l.size(); ++k) CHECK(std::abs(l[k] - l[k - 1]) < 0.0015F);
    }
    return peakOf(l);
  };
  CHECK(play.instrument.volume() == 60);
  CHECK(decibels(at(60) / 0.5) == Approx(-8.9).margin(0.1));
  CHECK(at(100) == Approx(0.5));
  CHECK(at(0) == 0);
  CHECK(at(500) == Approx(0.5));
}

TEST_CASE("What the balance asks for is heard: 6 dB less bass is 6 dB less") {
  const auto bass = [](double balance) {
    Listening play;
    play.instrument.setBalance(Role::bass, balance);
    play.play(strike(40, 90, Role::bass, 32));
    return decibels(play.rms(0.5));
  };
  CHECK(bass(0) - bass(-6) == Approx(6).margin(0.5));  // CC 7 goes in steps
}

TEST_CASE("Prepared again it is silent, and sounds at the new rate as before; samples are not read twice") {
  Listening play;
  play.play(controller(64, 127));
  play.play(strike(60, 100));
  play.hear(0.3);
  REQUIRE(play.instrument.prepare(rate) == SoundState::ready);
  CHECK(play.rms(0.2) == 0);
  play.play(strike(60, 100));
  CHECK(play.rms(0.3) > 0.01);
  play.play(release(60));
  play.hear(1);
  CHECK(play.rms(0.2) < 0.003);  // the pedal of before is up
  REQUIRE(play.instrument.prepare(44100) == SoundState::ready);
  play.play(strike(60, 100));
  CHECK(play.rms(0.3) > 0.01);
}

#ifndef SEGUENTE_SANITIZED  // the sanitizers take the same calls as the guard
TEST_CASE("What asks the system for something while it sounds is FluidSynth or its OpenMP, never we") {
  // The exemption by name, and counted: OpenMP makes a team of one thread and throws it away for a step of 64 samples.
  constexpr int asksAStep = 8;
  Listening play;
  int asked = 0;
  std::vector<float> l(256), r(256);
  guard::violations();
  for (int i = 0; i < 2000; ++i) {
    {
      const guard::AudioThread here;
      for (int n = 0; n < 4; ++n) {
        const int key = 30 + (i * 7 + n * 5) % 60;
        play.play(strike(key, 100, static_cast<Role>(n % 5), (i / 50) % 4 * 8, n));
        play.play(release(30 + (i * 7 + n * 5 + 21) % 60, n != 0, n));
      }
      play.play(controller(64, i % 2 * 127));
      play.instrument.render(l.data(), r.data(), 256);
      play.instrument.applyVolume(l.data(), r.data(), 256);
    }
    for (int n = 0; guard::culprit(n) != nullptr; ++n) {
      Dl_info info{};
      const bool known = dladdr(guard::culprit(n), &info) != 0 && info.dli_fname != nullptr;
      const std::string object = known ? info.dli_fname : "?";
      if (object.find("libgomp") == std::string::npos && object.find("libfluidsynth") == std::string::npos)
        FAIL("asked for by " << object);
    }
    asked += guard::violations();
  }
  CHECK(asked <= 2000 * 4 * asksAStep);
}
#endif
