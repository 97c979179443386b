#include "plugin/played_in.h"

#include <algorithm>
#include <cmath>
#include <utility>

namespace seguente {

namespace {
constexpr std::size_t mostNotes = 4096;  // eight bars of both hands in sixteenths are 1280
constexpr int chordForce = 64;           // of keys that were down before: their force is nobody's matter
constexpr double belongsToStart = 0.1;   // seconds: time is told once a block, so a first stroke may come before it
constexpr double mostLeft = 1.25;        // beats that a last bar may lack: dsp/notate asks for as much of a first one
constexpr double usualQuarter = 0.5;     // seconds

double quarters(Ticks ticks) { return static_cast<double>(ticks.value) / static_cast<double>(quarter.value); }
}  // namespace

/// Keys that were down before stand before the first frame.
PlayedIn::PlayedIn(double rate, const KeySet& held) : rate_(rate), runs_(1) {
  held.forEach([&](NoteNumber key) { strike(key.value, chordForce, -1); });
}

double PlayedIn::quarterAt(std::int64_t frame) const {
  return quarter_ + static_cast<double>(frame - frame_) * quartersAFrame_;
}

void PlayedIn::hear(const TakenEvent& event) {
  if (event.from == TakenFrom::time) hearTime(event.time, event.frame);
  auto& run = runs_.back();
  run.end = std::max(run.end, event.frame);
  run.endQuarter = quarterAt(run.end);
  if (event.from != TakenFrom::performance || event.played.length < 3) return;
  const auto& bytes = event.played.bytes;
  const int kind = bytes[0] & 0xF0, key = bytes[1] & 0x7F, value = bytes[2] & 0x7F;
  if (kind == 0x90 && value > 0) strike(key, value, event.frame);
  if (kind == 0x80 || (kind == 0x90 && value == 0)) release(key, event.frame);
  if (kind == 0xB0 && key == 64 && value >= 64) pedal_ = true;
}

/// A new run where time begins or stops; within one a jump (a host's loop) keeps the place in the bar and goes on.
void PlayedIn::hearTime(const EngineTime& time, std::int64_t frame) {
  const double place = quarters(time.tick - time.barStart);
  const bool same = runs_.back().clock == time.playing;
  const double now = quarterAt(frame);
  quartersAFrame_ = time.playing ? time.quartersPerMinute / 60 / rate_ : 0;
  frame_ = frame;
  if (same && !time.playing) return;
  if (same) {
    const double bar = quarters(runs_.back().meter.bar());
    quarter_ = now + (time.meter == runs_.back().meter ? std::remainder(place - now, bar) : 0);
    return;
  }
  quarter_ = place;
  Run fresh;
  fresh.clock = time.playing;
  fresh.meter = time.meter;
  fresh.quartersPerMinute = time.quartersPerMinute;
  fresh.end = frame;
  // The chord that is held, and a stroke with which time began, come along.
  for (const auto& stroke : runs_.back().strokes) {
    const bool first = time.playing && static_cast<double>(frame - stroke.on) < belongsToStart * rate_;
    if (stroke.off >= 0 && !first) continue;
    fresh.strokes.push_back(stroke);
    fresh.strokes.back().onQuarter = quarterAt(stroke.on);
    fresh.strokes.back().offQuarter = quarterAt(std::max(stroke.off, stroke.on));
    if (first && stroke.on >= 0) ++fresh.struck;
  }
  runs_.push_back(std::move(fresh));
}

void PlayedIn::strike(int key, int velocity, std::int64_t frame) {
  release(key, frame);
  if (notes_ == mostNotes) return;
  ++notes_;
  auto& run = runs_.back();
  run.strokes.push_back({key, velocity, frame, -1, quarterAt(frame), 0});
  if (frame >= 0) ++run.struck;
}

void PlayedIn::release(int key, std::int64_t frame) {
  for (auto& stroke : runs_.back().strokes) {
    if (stroke.key != key || stroke.off >= 0) continue;
    stroke.off = frame;
    stroke.offQuarter = quarterAt(frame);
  }
}

const PlayedIn::Run& PlayedIn::best() const {
  return *std::max_element(runs_.begin(), runs_.end(), [](const Run& a, const Run& b) {
    return std::pair(a.struck, a.clock) < std::pair(b.struck, b.clock);
  });
}

bool PlayedIn::hasNotes() const { return best().struck > 0; }

int PlayedIn::bars() const {
  const auto& run = runs_.back();
  if (!run.clock || run.struck == 0) return 0;
  const double bar = quarters(run.meter.bar());
  double first = quarterAt(run.end);
  for (const auto& stroke : run.strokes)
    if (stroke.on >= 0 && stroke.onQuarter >= 0) first = std::min(first, stroke.onQuarter);
  // A stroke a little before the bar line is on it.
  return static_cast<int>(std::floor(quarterAt(run.end) / bar) - std::floor(first / bar + 1.0 / 16)) + 1;
}

/// Whoever says "that was it" inside a bar has broken it off, unless hardly more than a beat of it was left; what came
/// before is the figure. 0: all of it is.
double PlayedIn::wholeBarsUntil(const Run& run) {
  const double bar = quarters(run.meter.bar()), beat = quarters(run.meter.beat());
  const double last = std::floor(run.endQuarter / bar) * bar;
  if (run.endQuarter > last + bar - beat * mostLeft) return 0;
  const bool before = std::any_of(run.strokes.begin(), run.strokes.end(), [&](const Stroke& s) {
    return s.on >= 0 && s.onQuarter < last - bar + beat * mostLeft;
  });
  return before ? last - beat / 8 : 0;
}

notate::Take PlayedIn::take(bool believed) const {
  const auto& run = best();
  notate::Take take;
  take.pedal = pedal_;
  const double quarterSeconds = run.clock ? 60 / run.quartersPerMinute : usualQuarter;
  if (run.clock) {
    take.quarterSeconds = quarterSeconds;
    take.meter = run.meter;
    take.doubtful = !believed;
  }
  const double whole = run.clock ? wholeBarsUntil(run) : 0;
  for (const auto& stroke : run.strokes) {
    const bool down = stroke.off < 0;
    if (whole > 0 && stroke.onQuarter >= whole) continue;
    notate::TakenNote note{stroke.key, stroke.velocity, 0, 0, -1};
    if (run.clock) {
      note.on = stroke.onQuarter * quarterSeconds;
      note.off = (down ? run.endQuarter : stroke.offQuarter) * quarterSeconds;
    } else {
      note.on = static_cast<double>(stroke.on) / rate_;
      note.off = static_cast<double>(down ? run.end : stroke.off) / rate_;
    }
    if (note.off > note.on) take.notes.push_back(note);
  }
  std::sort(take.notes.begin(), take.notes.end(),
            [](const notate::TakenNote& a, const notate::TakenNote& b) { return a.on < b.on; });
  return take;
}

}  // namespace seguente
