#include "plugin/sound/take.h"

#include <algorithm>

#include "plugin/ring.h"

namespace seguente {

namespace {
constexpr double secondsOfSound = 4;         // a disk that sleeps wakes within that
constexpr std::size_t messagesKept = 16384;  // a glissando is 100 a second
constexpr std::size_t gapsKept = 256;
constexpr std::size_t framesAtOnce = 512;
constexpr std::int64_t foreseenWithin = quarter.value / 4096;  // 0.1 ms: the roundings of blocks

bool sameTime(const EngineTime& a, const EngineTime& b) noexcept {
  return a.playing == b.playing && a.meter == b.meter && a.quartersPerMinute == b.quartersPerMinute;
}
}  // namespace

struct Take::Body {
  Ring<float> sound;
  Ring<TakenGap> gaps;
  Ring<TakenEvent> events;

  // The audio thread's own.
  std::uint32_t takes = 0;   // the one it has begun
  std::int64_t frame = 0;    // of the block's start
  std::int64_t frames = 0;   // of the block
  std::uint64_t pushed = 0;  // frames of sound
  std::int64_t missing = 0;  // frames that found no room, not yet told
  EngineTime time{};         // told last
  std::int64_t toldFrame = 0;
  Ticks foreseen{};  // where its tempo leads at the block's end
  double rate = 48000;
  std::array<float, framesAtOnce * 2> turns{};

  std::int64_t frameOf(std::int64_t offset) const noexcept {
    return frame + std::clamp<std::int64_t>(offset, 0, std::max<std::int64_t>(frames - 1, 0));
  }

  std::atomic<std::uint32_t> asked{0};  // take that was asked for, counted from 1
  std::atomic<bool> within{false};      // the audio thread is in a block of a take
};

Take::Take() = default;
Take::~Take() = default;

void Take::prepare(double rate) {
  if (rate != rate_.load(std::memory_order_relaxed)) stop();
  rate_.store(rate, std::memory_order_relaxed);
}

void Take::start(bool withSound) {
  if (!body_) body_ = std::make_unique<Body>();
  auto& b = *body_;
  b.rate = rate();
  b.sound.prepare(withSound ? static_cast<std::size_t>(b.rate * secondsOfSound) * 2 : 0);
  b.gaps.prepare(gapsKept);
  b.events.prepare(messagesKept);
  lostFrames_.store(0, std::memory_order_relaxed);
  lostMessages_.store(0, std::memory_order_relaxed);
  b.asked.fetch_add(1, std::memory_order_relaxed);
  on_.store(true, std::memory_order_seq_cst);
}

void Take::stop() noexcept { on_.store(false, std::memory_order_seq_cst); }

bool Take::rests() const noexcept {
  return !on_.load(std::memory_order_seq_cst) && (!body_ || !body_->within.load(std::memory_order_seq_cst));
}

/// The audio thread says that it is within a block before it looks whether a take is on, and a stop looks the other
/// way round: so one of the two sees the other (sequentially consistent).
void Take::begin(const EngineTime& time, std::int64_t frames) noexcept {
  if (!on()) return;
  auto& b = *body_;
  b.within.store(true, std::memory_order_seq_cst);
  recording_ = on_.load(std::memory_order_seq_cst);
  if (!recording_) return b.within.store(false, std::memory_order_release);
  b.frames = frames;
  const auto asked = b.asked.load(std::memory_order_relaxed);
  const bool first = asked != b.takes;
  if (first) {
    b.takes = asked;
    b.frame = 0;
    b.pushed = 0;
    b.missing = 0;
  }
  // Told where it is not as foreseen, and now and then, so that whoever writes can stay with it.
  const auto off = (time.tick - b.foreseen).value;
  const bool strays = time.playing && (off > foreseenWithin || off < -foreseenWithin);
  if (first || strays || !sameTime(time, b.time) || b.frame - b.toldFrame > static_cast<std::int64_t>(b.rate / 2)) {
    push({.frame = b.frame, .from = TakenFrom::time, .time = time});
    b.time = time;
    b.toldFrame = b.frame;
  }
  const double ticks = static_cast<double>(frames) / Timeline::samplesPerTickAt(time.quartersPerMinute, b.rate);
  b.foreseen = {time.tick.value + (time.playing ? static_cast<std::int64_t>(ticks) : 0)};
}

void Take::push(const TakenEvent& event) noexcept {
  if (!body_->events.push(event)) lostMessages_.fetch_add(1, std::memory_order_relaxed);
}

void Take::performed(std::int64_t offset, std::span<const std::uint8_t> bytes) noexcept {
  if (!recording_ || bytes.empty()) return;
  if (bytes[0] >= 0xF0 || bytes.size() > 3) {  // a clock or active sensing has no place in a file
    if (bytes.size() > 3) lostMessages_.fetch_add(1, std::memory_order_relaxed);
    return;
  }
  Played played{.offset = static_cast<std::int32_t>(offset), .length = static_cast<std::uint8_t>(bytes.size())};
  std::copy(bytes.begin(), bytes.end(), played.bytes.begin());
  push({.frame = body_->frameOf(offset), .from = TakenFrom::performance, .played = played});
}

void Take::arranged(const Played& played) noexcept {
  if (!recording_ || played.bytes[0] >= 0xF0) return;
  push({.frame = body_->frameOf(played.offset), .from = TakenFrom::arrangement, .played = played});
}

void Take::sounded(const float* left, const float* right, std::int64_t frames) noexcept {
  if (!recording_) return;
  auto& b = *body_;
  for (std::int64_t from = 0; from < frames;) {
    const auto count = static_cast<std::size_t>(std::min<std::int64_t>(framesAtOnce, frames - from));
    for (std::size_t i = 0; i < count; ++i) {
      b.turns[2 * i] = left[static_cast<std::size_t>(from) + i];
      b.turns[2 * i + 1] = right[static_cast<std::size_t>(from) + i];
    }
    // What was lost before must be told first, or the silence would stand in the wrong place.
    const bool room = b.sound.fits(count * 2);
    if (room && b.missing > 0 && b.gaps.push({b.pushed, b.missing})) b.missing = 0;
    if (room && b.missing == 0) {
      b.sound.push(std::span<const float>(b.turns).first(count * 2));
      b.pushed += count;
    } else {
      b.missing += static_cast<std::int64_t>(count);
      lostFrames_.fetch_add(count, std::memory_order_relaxed);
    }
    from += static_cast<std::int64_t>(count);
  }
}

void Take::end() noexcept {
  if (!recording_) return;
  auto& b = *body_;
  recording_ = false;
  b.frame += b.frames;
  b.within.store(false, std::memory_order_seq_cst);
}

std::size_t Take::takeSound(std::span<float> frames) noexcept { return body_->sound.pop(frames); }
bool Take::takeGap(TakenGap& into) noexcept { return body_->gaps.pop(into); }
bool Take::takeEvent(TakenEvent& into) noexcept { return body_->events.pop(into); }

}  // namespace seguente
