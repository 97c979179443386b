// SOUND: the second plugin, which is heard. Scenarios: SCENARIOS.md. LOOP, STATE and GUARD of the plain effect are
// compiled into this program as well, and hold here too.
#include <juce_audio_formats/juce_audio_formats.h>
#include <malloc.h>

#include <cmath>
#include <fstream>

#include "plugin/sound/instrument.h"
#include "plugin/sound/take_writer.h"
#include "tests/catch.h"
#include "tests/host/audio_thread_hook.h"
#include "tests/host/direct.h"
#include "tests/host/plain_lv2.h"

using namespace seguente;
using namespace seguente::host;
using seguente::test::quarters;

namespace {

constexpr const char* font = "/usr/share/sounds/sf2/TimGM6mb.sf2";

bool mapped(const std::string& library) {
  std::ifstream maps("/proc/self/maps");
  for (std::string line; std::getline(maps, line);)
    if (line.find(library) != std::string::npos) return true;
  return false;
}

/// Two bars of a held chord with a tune over it, then a stop and silence.
Piece heldChord() {
  Piece piece(48000, {4, 4}, 120);
  piece.choose("broken-bass");
  piece.score().chord("C3 E3 G3", quarters(0.05), quarters(7.5)).tune("E5", quarters(1), quarters(3));
  piece.score().stop(quarters(8));
  piece.endsAt(quarters(16));
  return piece;
}

double decibels(double rms) { return 20 * std::log10(std::max(rms, 1e-12)); }

/// What is heard of a piece, second by second, in decibels below full scale.
struct Sounding {
  std::vector<double> seconds;
  double peak = 0;
  std::vector<Heard> notes;
};

/// Blocks of 480, as a host that rolls through the piece.
Sounding listen(juce::AudioProcessor& plugin, const Piece& piece) {
  Sounding s;
  // Host cuts, sends and keeps the notes; the sound of each block is in the buffer that it is given.
  struct Tap final : juce::AudioProcessor {
    explicit Tap(juce::AudioProcessor& p) : inner(p) {}
    const juce::String getName() const override { return "tap"; }
    void prepareToPlay(double r, int n) override { inner.prepareToPlay(r, n); }
    void releaseResources() override { inner.releaseResources(); }
    void setPlayHead(juce::AudioPlayHead* head) override { inner.setPlayHead(head); }
    void processBlock(juce::AudioBuffer<float>&, juce::MidiBuffer& midi) override { block(480, midi); }
    void block(int n, juce::MidiBuffer& midi) {
      buffer.setSize(2, n, false, false, true);
      inner.processBlock(buffer, midi);
      for (int c = 0; c < 2; ++c) {
        const float* x = buffer.getReadPointer(c);
        for (int i = 0; i < n; ++i) {
          sum += static_cast<double>(x[i]) * static_cast<double>(x[i]);
          peak = std::max(peak, std::abs(static_cast<double>(x[i])));
        }
      }
      frames += n;
      if (frames % 48000 != 0) return;
      seconds.push_back(decibels(std::sqrt(sum / 48000)));
      sum = 0;
    }
    double getTailLengthSeconds() const override { return 0; }
    bool acceptsMidi() const override { return true; }
    bool producesMidi() const override { return true; }
    bool hasEditor() const override { return false; }
    juce::AudioProcessorEditor* createEditor() override { return nullptr; }
    int getNumPrograms() override { return 1; }
    int getCurrentProgram() override { return 0; }
    void setCurrentProgram(int) override {}
    const juce::String getProgramName(int) override { return {}; }
    void changeProgramName(int, const juce::String&) override {}
    void getStateInformation(juce::MemoryBlock&) override {}
    void setStateInformation(const void*, int) override {}
    juce::AudioProcessor& inner;
    juce::AudioBuffer<float> buffer;
    double sum = 0, peak = 0;
    std::int64_t frames = 0;
    std::vector<double> seconds;
  } tap(plugin);
  Performing how;
  how.blocks = {{480}, {}};
  how.cut = false;
  s.notes = Host(
                tap, [](ParameterId, double) {}, piece, how)
                .playUntil(piece.end())
                .heard();
  s.seconds = tap.seconds;
  s.peak = tap.peak;
  return s;
}

}  // namespace

TEST_CASE("SOUND-1: a host that only looks loads neither FluidSynth nor a soundfont; it sees an instrument") {
  REQUIRE_FALSE(mapped("libfluidsynth"));
  {
    const Processor processor(std::make_unique<Instrument>());
    CHECK_FALSE(processor.isMidiEffect());
    CHECK(processor.getTotalNumOutputChannels() == 2);
  }
  const auto vst3 = descriptionOf(Format::vst3);
  CHECK(vst3.name == "Seguente with sound");
  CHECK(vst3.isInstrument);
  CHECK_FALSE(mapped("libfluidsynth"));
  for (const auto format : formats) {
    const auto about = descriptionOf(format);
    INFO(nameOf(format));
    CHECK(about.isInstrument);
    CHECK(about.numInputChannels == 0);
    CHECK(about.numOutputChannels == 2);
    Bundle bundle(format);
    CHECK(bundle.plugin().acceptsMidi());
    CHECK(bundle.plugin().producesMidi());
    CHECK(bundle.plugin().getLatencySamples() == 0);
  }
}

TEST_CASE("SOUND-2: a held chord and a tune are heard, at a level that is safe, and stop where the host stops") {
  for (const auto format : formats) {
    Bundle bundle(format);
    INFO(nameOf(format));
    const auto heard = listen(bundle.plugin(), heldChord());
    REQUIRE(heard.seconds.size() == 8);
    for (int second = 0; second < 3; ++second) {
      INFO("second " << second << ": " << heard.seconds[static_cast<std::size_t>(second)] << " dB");
      CHECK(heard.seconds[static_cast<std::size_t>(second)] > -45);
      CHECK(heard.seconds[static_cast<std::size_t>(second)] < -15);
    }
    CHECK(heard.peak < 0.5);
    CHECK(heard.seconds[7] < -90);  // three seconds after the stop
    CHECK(noteOns(heard.notes).size() > 8);
    CHECK(stillSounding(heard.notes) == "");
  }
}

TEST_CASE("SOUND-3: what goes out as notes is what the plain effect sends, note by note") {
  const auto piece = heldChord();
  Performing how;
  how.blocks = {{480}, {}};
  how.cut = false;
  const auto plain = performDirectly(piece, how);
  REQUIRE(noteOns(plain).size() > 8);
  Processor sounding(std::make_unique<Instrument>(font));
  CHECK(firstDifference(plain, Host(sounding, setterOf(sounding), piece, how).playUntil(piece.end()).heard()) == "");
  for (const auto format : formats) {
    INFO(nameOf(format));
    CHECK(firstDifference(asCarried(format, plain), perform(format, piece, how)) == "");
  }
}

TEST_CASE("SOUND-4: a session of the plain effect opens in the one with sound, and the other way round") {
  Processor plain, sounding(std::make_unique<Instrument>());
  const auto set = setterOf(plain);
  set(ParameterId::idiom, slotOf("waltz"));
  set(ParameterId::density, 2);
  set(ParameterId::transpose, -3);
  juce::MemoryBlock state, back;
  plain.getStateInformation(state);
  sounding.setStateInformation(state.getData(), static_cast<int>(state.getSize()));
  sounding.getStateInformation(back);
  CHECK(back == state);
  setterOf(sounding)(ParameterId::swing, 1.5);
  sounding.getStateInformation(state);
  plain.setStateInformation(state.getData(), static_cast<int>(state.getSize()));
  plain.getStateInformation(back);
  CHECK(back == state);
}

TEST_CASE("SOUND-5: the synthesiser runs behind the guarded part of each block, once, and nowhere else") {
  const auto piece = heldChord();
  for (const auto format : formats) {
    Bundle bundle(format);
    Host host(bundle, piece);
    const WatchProcessBlock watch;
    for (int i = 0; i < 200; ++i) host.block(256);
    INFO(nameOf(format));
    CHECK(watch.blocks() >= 200);
    CHECK(watch.exempted() == watch.blocks());
  }
}

TEST_CASE("SOUND-6: a position in the middle of an LV2 block does not tear the sound") {
  const auto hear = [](bool positions) {
    PlainLv2 lv2;
    lv2.run(512);
    lv2.midi(0, {0x90, 76, 90});
    for (int i = 0; i < 40; ++i) {
      if (positions) {
        SaidPosition said;
        said.offset = 100 + i;
        said.frame = 0;
        said.speed = 0.0F;
        said.beatsPerMinute = 100.0F + static_cast<float>(i);
        lv2.position(said);
      }
      lv2.run(512);
    }
    return lv2.sound();
  };
  const auto whole = hear(false), cut = hear(true);
  REQUIRE(whole.size() == 41 * 1024);
  double greatest = 0, least = 0;
  for (std::size_t i = 0; i < whole.size(); ++i) {
    greatest = std::max(greatest, std::abs(static_cast<double>(whole[i])));
    least = std::max(least, std::abs(static_cast<double>(whole[i] - cut[i])));
  }
  CHECK(greatest > 0.01);
  CHECK(least < 1e-4);  // the volume glides a little otherwise in shorter pieces
}

#ifdef SEGUENTE_SANITIZED
extern "C" std::size_t __sanitizer_get_current_allocated_bytes();  // the compiler's own package lacks its header
#endif

TEST_CASE("SOUND-7: all instances of a process share the soundfont's samples") {
  const auto used = [] {
#ifdef SEGUENTE_SANITIZED  // the sanitizer keeps the memory itself
    return static_cast<double>(__sanitizer_get_current_allocated_bytes()) / (1 << 20);
#else
    return static_cast<double>(mallinfo2().uordblks + mallinfo2().hblkhd) / (1 << 20);
#endif
  };
  Instrument first(font), second(font);
  const double before = used();
  REQUIRE(first.prepare(48000) == SoundState::ready);
  const double one = used();
  REQUIRE(second.prepare(48000) == SoundState::ready);
  const double two = used();
  INFO("first " << one - before << " MiB, second " << two - one << " MiB");
  CHECK((one - before) - (two - one) > 5);  // the file has 5.7 MiB, nearly all of it samples
}

TEST_CASE("SOUND-8: with no soundfont it still plays on as a MIDI effect, and says what is missing") {
  const auto piece = heldChord();
  Processor silent(std::make_unique<Instrument>("/nowhere/none.sf2"));
  Performing how;
  how.blocks = {{480}, {}};
  const auto heard = listen(silent, piece);
  CHECK(heard.peak == 0);
  CHECK(noteOns(heard.notes).size() > 8);
  CHECK(silent.instrument()->state() == SoundState::badSoundfont);
  REQUIRE(silent.messageCount() == 1);
  CHECK(silent.messages().back() == whyNoSound(SoundState::badSoundfont));
}

TEST_CASE("SOUND-9: what is played, on the screen's keys too, is recorded: performance, arrangement and sound") {
  const auto folder = std::filesystem::temp_directory_path() / ("seguente_sound_" + std::to_string(::getpid()));
  std::filesystem::remove_all(folder);
  {
    Processor processor(std::make_unique<Instrument>(font));
    processor.prepareToPlay(48000, 480);
    TakeWriter writer(processor.take());
    REQUIRE(writer.start({folder, "take", SoundFormat::wav}) == "");
    for (const int key : {48, 52, 55}) processor.press(NoteNumber{static_cast<std::uint8_t>(key)}, true);
    juce::AudioBuffer<float> audio(2, 480);
    juce::MidiBuffer midi;
    double loudest = 0;
    for (int i = 0; i < 200; ++i) {
      midi.clear();
      processor.processBlock(audio, midi);
      loudest = std::max(loudest, static_cast<double>(audio.getMagnitude(0, 480)));
    }
    const auto status = writer.stop();
    REQUIRE(status.fault == "");
    REQUIRE(status.files.size() == 3);
    CHECK(status.seconds == Approx(2));
    CHECK(loudest > 0.005);
    for (std::size_t file : {1U, 2U}) {  // and the framework's own reader takes them
      juce::FileInputStream in(juce::File(status.files[file].string()));
      juce::MidiFile read;
      REQUIRE(read.readFrom(in));
      REQUIRE(read.getNumTracks() == 1);
      int notes = 0;
      for (const auto* e : *read.getTrack(0)) notes += e->message.isNoteOn();
      CHECK(notes >= 3);
      read.convertTimestampTicksToSeconds();
      CHECK(read.getLastTimestamp() <= 2.01);
    }
    juce::WavAudioFormat wav;
    const std::unique_ptr<juce::AudioFormatReader> reader(
        wav.createReaderFor(new juce::FileInputStream(juce::File(status.files[0].string())), true));
    REQUIRE(reader != nullptr);
    CHECK(reader->lengthInSamples == 96000);
  }
  std::filesystem::remove_all(folder);
}
