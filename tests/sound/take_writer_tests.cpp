// What a recording promises: the files hold what was played, and all but the last second of it even if the program is
// killed. Files are read back by libsndfile and by the project's own MIDI reader.
#include <sndfile.h>
#include <sys/wait.h>
#include <unistd.h>

#include <csignal>
#include <cstdlib>
#include <filesystem>
#include <fstream>
#include <thread>

#include "plugin/commandline/midi_file.h"
#include "plugin/sound/take_writer.h"
#include "tests/catch.h"
#include "tests/plugin/own_files.h"

using namespace seguente;
using namespace seguente::test;

namespace {

constexpr int rate = 48000;
constexpr int blockFrames = 480;

struct Sound {
  std::int64_t frames = 0;
  int channels = 0, rate = 0;
  std::vector<float> samples;
};

Sound readSound(const std::filesystem::path& path) {
  SF_INFO info{};
  SNDFILE* file = sf_open(path.c_str(), SFM_READ, &info);
  INFO(path << ": " << sf_strerror(nullptr));
  REQUIRE(file != nullptr);
  Sound s{info.frames, info.channels, info.samplerate, {}};
  s.samples.resize(static_cast<std::size_t>(info.frames) * 2);
  CHECK(sf_readf_float(file, s.samples.data(), info.frames) == info.frames);
  sf_close(file);
  return s;
}

/// Sound that says at each sample which one it is.
float valueAt(std::int64_t frame) { return static_cast<float>(frame % 20000) / 40000.0F; }

/// A block of the audio thread: a note each tenth of a second, played and arranged.
void playBlock(Take& take, std::int64_t block) {
  take.begin({}, blockFrames);
  if (block % 10 == 0) {
    const auto key = static_cast<std::uint8_t>(36 + block / 10 % 48);
    take.performed(0, std::array<std::uint8_t, 3>{0x90, key, 80});
    take.performed(240, std::array<std::uint8_t, 3>{0x80, key, 64});
    take.arranged({.offset = 0, .bytes = {0x90, key, 80}});
    take.arranged({.offset = 1, .bytes = {0x90, 40, 70}, .role = Role::bass, .part = 0, .program = 32, .ours = true});
    take.arranged({.offset = 240, .bytes = {0x80, key, 64}});
    take.arranged({.offset = 241, .bytes = {0x80, 40, 64}, .ours = true});
  }
  std::array<float, blockFrames> left{}, right{};
  for (int i = 0; i < blockFrames; ++i) {
    left[static_cast<std::size_t>(i)] = valueAt(block * blockFrames + i);
    right[static_cast<std::size_t>(i)] = -left[static_cast<std::size_t>(i)];
  }
  take.sounded(left.data(), right.data(), blockFrames);
  take.end();
}

int noteOns(const std::filesystem::path& path, int channel = -1) {
  const auto read = readMidi(path.string());
  INFO(read.fault);
  REQUIRE(read.good());
  int count = 0;
  for (const auto& e : read.value.tracks.at(0).events) {
    const auto bytes = read.value.bytesOf(e);
    count += (bytes[0] & 0xF0) == 0x90 && bytes[2] != 0 && (channel < 0 || (bytes[0] & 0x0F) == channel);
  }
  return count;
}

}  // namespace

TEST_CASE("A take of three seconds is in its files to the last sample and note") {
  for (const auto format : {SoundFormat::wav, SoundFormat::flac}) {
    const OwnFiles folder("take");
    Take take;
    TakeWriter writer(take);
    TakeWishes wishes{folder.path / "takes", "evening", format};
    REQUIRE(writer.start(wishes) == "");
    for (std::int64_t block = 0; block < 300; ++block) playBlock(take, block);  // fits the ring as a whole
    const auto status = writer.stop();
    CHECK(status.fault == "");
    CHECK(status.lostFrames == 0);
    CHECK(status.seconds == Approx(3));
    REQUIRE(status.files.size() == 3);
    const auto sound = readSound(status.files[0]);
    CHECK(sound.frames == 300 * blockFrames);
    CHECK(sound.rate == rate);
    for (std::size_t i = 0; i < sound.samples.size() / 2; i += 101) {
      CHECK(sound.samples[2 * i] == Approx(valueAt(static_cast<std::int64_t>(i))).margin(1e-6));
      CHECK(sound.samples[2 * i + 1] == Approx(-valueAt(static_cast<std::int64_t>(i))).margin(1e-6));
    }
    CHECK(noteOns(status.files[1]) == 30);
    CHECK(noteOns(status.files[2]) == 60);
    CHECK(noteOns(status.files[2], 12) == 30);  // the bass on a channel of its own
  }
}

TEST_CASE("Sound for which the disk was too slow leaves a silence of its length, and is told") {
  const OwnFiles folder("take");
  Take take;
  TakeWriter writer(take);
  REQUIRE(writer.start({folder.path, "a", SoundFormat::wav}) == "");
  for (std::int64_t block = 0; block < 2000; ++block) playBlock(take, block);  // 20 s at once: the ring holds four
  const auto status = writer.stop();
  CHECK(status.lostFrames > 0);
  const auto sound = readSound(status.files[0]);
  CHECK(sound.frames == 2000 * blockFrames);
  std::int64_t silent = 0;
  for (std::int64_t i = 0; i < sound.frames; ++i) {
    const float v = sound.samples[static_cast<std::size_t>(2 * i)];
    if (v == 0 && valueAt(i) != 0)
      ++silent;
    else if (std::abs(v - valueAt(i)) > 1e-6F)
      FAIL("frame " << i << " is not where it was played");
  }
  CHECK(silent <= static_cast<std::int64_t>(status.lostFrames));
  CHECK(silent > static_cast<std::int64_t>(status.lostFrames) * 9 / 10);
}

TEST_CASE("No file is written over, and a take with nothing in it leaves none") {
  const OwnFiles folder("take");
  std::ofstream(folder.path / "a.flac") << "mine";
  Take take;
  {
    TakeWriter writer(take);
    REQUIRE(writer.start({folder.path, "a", SoundFormat::wav}) == "");
    CHECK(std::filesystem::exists(folder.path / "a 2.wav"));
    const auto status = writer.stop();
    CHECK(status.files.empty());
  }
  CHECK(std::distance(std::filesystem::directory_iterator(folder.path), {}) == 1);
  TakeWriter writer(take);
  CHECK(writer.start({"/proc/nowhere", "a"}) != "");
  CHECK_FALSE(writer.status().running);
}

TEST_CASE("A WAV that is full is followed by another, without a gap") {
  const OwnFiles folder("take");
  Take take;
  TakeWriter writer(take);
  TakeWishes wishes{folder.path, "a", SoundFormat::wav, false};
  wishes.mostFramesInWav = 50000;
  REQUIRE(writer.start(wishes) == "");
  for (std::int64_t block = 0; block < 250; ++block) playBlock(take, block);
  const auto status = writer.stop();
  REQUIRE(status.files.size() == 3);
  CHECK(status.files[1].filename() == "a part 2.wav");
  std::int64_t frame = 0;
  for (const auto& path : status.files) {
    const auto sound = readSound(path);
    CHECK(sound.samples[0] == Approx(valueAt(frame)).margin(1e-6));
    frame += sound.frames;
  }
  CHECK(frame == 250 * blockFrames);
}

TEST_CASE("A recording goes on when the device is opened anew at its rate, and ends when the rate is another") {
  const OwnFiles folder("take");
  Take take;
  take.prepare(rate);
  TakeWriter writer(take);
  REQUIRE(writer.start({folder.path, "a", SoundFormat::wav}) == "");
  playBlock(take, 0);
  take.prepare(rate);
  CHECK(take.on());
  playBlock(take, 1);
  take.prepare(44100);
  CHECK_FALSE(take.on());
  const auto status = writer.stop();
  CHECK(readSound(status.files[0]).frames == 2 * blockFrames);
}

/// The child of the test below: plays in real time until it is killed, and says after each block how many it has
/// played.
TEST_CASE("records until it is killed", "[.child]") {
  Take take;
  take.prepare(rate);
  TakeWriter writer(take);
  const std::string format = std::getenv("SEGUENTE_TAKE_FORMAT");
  REQUIRE(writer.start({std::getenv("SEGUENTE_TAKE_FOLDER"), "killed",
                        format == "flac" ? SoundFormat::flac : SoundFormat::wav}) == "");
  const auto begin = std::chrono::steady_clock::now();
  for (std::int64_t block = 0; block < 6000; ++block) {
    playBlock(take, block);
    if (::write(STDOUT_FILENO, ".", 1) != 1) return;
    std::this_thread::sleep_until(begin + (block + 1) * std::chrono::milliseconds(10));
  }
}

/// Real time, because that is what is promised: whoever kills does not ask.
TEST_CASE("Killed in the middle of a recording: all but the last second is in the files, and they open") {
  for (const std::string format : {"wav", "flac"}) {
    const OwnFiles folder("take");
    int ends[2];
    REQUIRE(::pipe(ends) == 0);
    ::setenv("SEGUENTE_TAKE_FOLDER", folder.path.c_str(), 1);
    ::setenv("SEGUENTE_TAKE_FORMAT", format.c_str(), 1);
    const pid_t child = ::fork();
    REQUIRE(child >= 0);
    if (child == 0) {
      ::dup2(ends[1], STDOUT_FILENO);
      ::close(ends[0]);
      ::execl("/proc/self/exe", "tests", "records until it is killed", nullptr);
      ::_exit(127);
    }
    ::close(ends[1]);
    std::int64_t blocks = 0;
    for (char c = 0; blocks < 370 && ::read(ends[0], &c, 1) == 1;) ++blocks;
    ::kill(child, SIGKILL);
    int how = 0;
    ::waitpid(child, &how, 0);
    for (char c = 0; ::read(ends[0], &c, 1) == 1;) ++blocks;
    ::close(ends[0]);
    INFO(format << ", " << blocks << " blocks");
    REQUIRE(blocks >= 370);
    REQUIRE(WIFSIGNALED(how));
    const auto sound = readSound(folder.path / ("killed." + format));
    CHECK(sound.frames >= (blocks - 100) * blockFrames);
    CHECK(sound.frames <= blocks * blockFrames);
    for (std::int64_t i = 0; i < sound.frames; i += 997)
      CHECK(sound.samples[static_cast<std::size_t>(2 * i)] == Approx(valueAt(i)).margin(1e-6));
    CHECK(noteOns(folder.path / "killed performance.mid") >= (blocks - 100) / 10);
    CHECK(noteOns(folder.path / "killed arrangement.mid") >= (blocks - 100) / 5);
  }
}
