#include "plugin/sound/take_writer.h"

#include <algorithm>
#include <array>
#include <chrono>
#include <condition_variable>
#include <mutex>
#include <optional>
#include <system_error>
#include <thread>
#include <tuple>
#include <utility>

#include "plugin/sound/midi_take.h"
#include "plugin/sound/sound_file.h"
#include "plugin/sound/take_channels.h"

namespace seguente {

namespace {

namespace fs = std::filesystem;

constexpr auto pause = std::chrono::milliseconds(50);
constexpr auto betweenFlushes = std::chrono::milliseconds(400);
constexpr std::size_t floatsAtOnce = 16384;

constexpr const char* performanceEnding = " performance.mid";
constexpr const char* arrangementEnding = " arrangement.mid";

}  // namespace

struct TakeWriter::Body {
  explicit Body(Take& from) : take(from) {}

  Take& take;
  TakeWishes wishes;
  std::string stem;  // of this take's files
  std::optional<SoundFile> sound;
  std::optional<MidiTake> performance, arrangement;
  int soundFiles = 0;

  std::thread thread;
  mutable std::mutex mutex;  // around what follows
  std::condition_variable wake;
  bool stopping = false;
  TakeStatus status;

  // The thread's own.
  std::vector<float> samples = std::vector<float>(floatsAtOnce);
  std::vector<float> silence;
  std::uint64_t popped = 0;     // frames of sound
  std::int64_t written = 0;     // with silence for those that were lost
  std::uint64_t gapFrames = 0;  // of silence
  std::optional<TakenGap> gap;
  std::int64_t lastFrame = 0;
  TakeChannels channels;

  std::string open(const TakeWishes& wanted);
  std::string openSound();
  bool free(const std::string& name) const;
  void run();
  std::string drain();
  std::string drainSound();
  std::string write(std::span<const float> frames);
  std::string writeSilence(std::int64_t frames);
  void drainEvents();
  std::string flush();
  std::string finish();
  void tell(const std::string& fault);
};

bool TakeWriter::Body::free(const std::string& name) const {
  for (const char* ending :
       {endingOf(SoundFormat::wav), endingOf(SoundFormat::flac), performanceEnding, arrangementEnding})
    if (std::error_code error; fs::exists(fs::symlink_status(wishes.folder / (name + ending), error))) return false;
  return true;
}

std::string TakeWriter::Body::openSound() {
  ++soundFiles;
  const auto path = wishes.folder / (stem + (soundFiles > 1 ? " part " + std::to_string(soundFiles) : std::string()) +
                                     endingOf(wishes.sound));
  sound.emplace();
  auto fault = sound->open(path, wishes.sound, take.rate());
  const std::scoped_lock lock(mutex);
  if (fault.empty()) status.files.push_back(path);
  return fault;
}

std::string TakeWriter::Body::open(const TakeWishes& wanted) {
  wishes = wanted;
  status = {};
  std::error_code error;
  fs::create_directories(wishes.folder, error);
  if (error) return wishes.folder.string() + ": " + error.message();
  stem = wishes.name;
  for (int n = 2; !free(stem) && n < 10000; ++n) stem = wishes.name + " " + std::to_string(n);
  soundFiles = 0;
  popped = gapFrames = 0;
  written = lastFrame = 0;
  gap.reset();
  channels.forget();
  sound.reset();
  performance.reset();
  arrangement.reset();
  if (wishes.sound != SoundFormat::none)
    if (auto fault = openSound(); !fault.empty()) return fault;
  if (!wishes.midi) return {};
  for (auto& [file, ending, track] : {std::tuple{&performance, performanceEnding, "Performance"},
                                      std::tuple{&arrangement, arrangementEnding, "Arrangement"}}) {
    const auto path = wishes.folder / (stem + ending);
    file->emplace();
    if (auto fault = (*file)->open(path, take.rate(), track); !fault.empty()) return fault;
    status.files.push_back(path);
  }
  return {};
}

std::string TakeWriter::Body::write(std::span<const float> frames) {
  while (!frames.empty()) {
    if (wishes.sound == SoundFormat::wav && sound->frames() >= wishes.mostFramesInWav) {
      if (auto fault = sound->close(); !fault.empty()) return fault;
      if (auto fault = openSound(); !fault.empty()) return fault;
    }
    auto room = frames.size() / 2;
    if (wishes.sound == SoundFormat::wav)
      room = std::min(room, static_cast<std::size_t>(wishes.mostFramesInWav - sound->frames()));
    if (auto fault = sound->write(frames.first(room * 2)); !fault.empty()) return fault;
    written += static_cast<std::int64_t>(room);
    frames = frames.subspan(room * 2);
  }
  return {};
}

std::string TakeWriter::Body::writeSilence(std::int64_t frames) {
  silence.resize(floatsAtOnce);
  gapFrames += static_cast<std::uint64_t>(frames);
  while (frames > 0) {
    const auto now = std::min<std::int64_t>(frames, floatsAtOnce / 2);
    if (auto fault = write(std::span<const float>(silence).first(static_cast<std::size_t>(now) * 2)); !fault.empty())
      return fault;
    frames -= now;
  }
  return {};
}

/// A gap is told before the sound behind it: whoever has that sound sees the gap.
std::string TakeWriter::Body::drainSound() {
  for (;;) {
    const auto count = take.takeSound(samples);
    std::span<const float> left = std::span<const float>(samples).first(count);
    for (;;) {
      if (!gap)
        if (TakenGap next; take.takeGap(next)) gap = next;
      if (!gap || gap->before > popped + left.size() / 2) break;
      const auto before = static_cast<std::size_t>(gap->before - popped) * 2;
      if (auto fault = write(left.first(before)); !fault.empty()) return fault;
      if (auto fault = writeSilence(gap->frames); !fault.empty()) return fault;
      left = left.subspan(before);
      popped = gap->before;
      gap.reset();
    }
    if (auto fault = write(left); !fault.empty()) return fault;
    popped += left.size() / 2;
    if (count < samples.size()) return {};
  }
}

void TakeWriter::Body::drainEvents() {
  TakenEvent event;
  while (take.takeEvent(event)) {
    if (!performance) continue;
    lastFrame = event.frame;
    switch (event.from) {
      case TakenFrom::time:
        performance->time(event.frame, event.time);
        arrangement->time(event.frame, event.time);
        break;
      case TakenFrom::performance:
        performance->message(event.frame, event.played.bytes);
        break;
      case TakenFrom::arrangement:
        channels.place(event.played,
                       [&](const std::array<std::uint8_t, 3>& bytes) { arrangement->message(event.frame, bytes); });
        break;
    }
  }
}

std::string TakeWriter::Body::drain() {
  drainEvents();
  if (sound) return drainSound();
  while (take.takeSound(samples) > 0) {
  }
  return {};
}

std::string TakeWriter::Body::flush() {
  std::string fault;
  if (sound) fault = sound->flush();
  for (auto* midi : {&performance, &arrangement})
    if (*midi && fault.empty()) fault = (*midi)->flush();
  return fault;
}

void TakeWriter::Body::tell(const std::string& fault) {
  const std::scoped_lock lock(mutex);
  status.seconds = static_cast<double>(sound ? written : lastFrame) / take.rate();
  status.lostFrames = take.lostFrames();
  status.lostMessages = take.lostMessages();
  if (!fault.empty()) status.fault = fault;
}

void TakeWriter::Body::run() {
  std::string fault;
  for (auto flushed = std::chrono::steady_clock::now(); fault.empty();) {
    {
      std::unique_lock lock(mutex);
      wake.wait_for(lock, pause, [this] { return stopping; });
      if (stopping) return;
    }
    const bool over = !take.on();
    fault = drain();
    if (over && fault.empty()) fault = "the sound device runs at another rate now";
    if (const auto now = std::chrono::steady_clock::now(); fault.empty() && now - flushed >= betweenFlushes) {
      fault = flush();
      flushed = now;
    }
    tell(fault);
  }
  take.stop();
  const std::scoped_lock lock(mutex);
  status.running = false;
}

/// What is still on its way; sound that found no room at the very end is silence too.
std::string TakeWriter::Body::finish() {
  auto fault = drain();
  if (sound && fault.empty() && take.lostFrames() > gapFrames)
    fault = writeSilence(static_cast<std::int64_t>(take.lostFrames() - gapFrames));
  tell(fault);
  for (auto* midi : {&performance, &arrangement}) {
    if (!*midi) continue;
    if (auto more = (*midi)->close(lastFrame); fault.empty()) fault = std::move(more);
  }
  if (sound)
    if (auto more = sound->close(); fault.empty()) fault = std::move(more);
  return fault;
}

TakeWriter::TakeWriter(Take& take) : body_(std::make_unique<Body>(take)) {}
TakeWriter::~TakeWriter() { stop(); }

std::string TakeWriter::start(const TakeWishes& wishes) {
  stop();
  Body& b = *body_;
  if (auto fault = b.open(wishes); !fault.empty()) {
    b.sound.reset();
    b.performance.reset();
    b.arrangement.reset();
    std::error_code ignored;
    for (const auto& file : b.status.files) fs::remove(file, ignored);  // those that were begun just now
    b.status = {};
    return fault;
  }
  b.stopping = false;
  b.status.running = true;
  b.take.start();
  b.thread = std::thread([&b] { b.run(); });
  return {};
}

TakeStatus TakeWriter::stop() {
  Body& b = *body_;
  if (!b.thread.joinable()) return status();
  b.take.stop();
  {
    const std::scoped_lock lock(b.mutex);
    b.stopping = true;
  }
  b.wake.notify_all();
  b.thread.join();
  // A block that was under way ends within milliseconds; one that never does (a device that was pulled) is not waited
  // for.
  for (int i = 0; i < 200 && !b.take.rests(); ++i) std::this_thread::sleep_for(std::chrono::milliseconds(1));
  const auto fault = b.finish();
  const bool nothing =
      b.written == 0 && (!b.performance || (!b.performance->hasMessages() && !b.arrangement->hasMessages()));
  const std::scoped_lock lock(b.mutex);
  if (b.status.fault.empty()) b.status.fault = fault;
  b.status.running = false;
  if (nothing) {
    std::error_code ignored;
    for (const auto& file : b.status.files) fs::remove(file, ignored);
    b.status.files.clear();
  }
  return b.status;
}

TakeStatus TakeWriter::status() const {
  const std::scoped_lock lock(body_->mutex);
  return body_->status;
}

}  // namespace seguente
