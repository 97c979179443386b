#include "plugin/commandline/render.h"

#include <algorithm>
#include <cstdlib>

#include "dsp/engine.h"
#include "plugin/commandline/followed.h"

namespace seguente {

namespace {

/// The file's event behind an input that has one.
const MidiEvent& eventOf(const Performance& p, std::size_t input) {
  const EventPlace place = p.places[input];
  return p.file.tracks[static_cast<std::size_t>(place.track)].events[place.event];
}

/// Takes what the engine says. One place for both callbacks; on the message thread it may allocate.
class Listener {
 public:
  Listener(const Performance& p, Rendering& r) : p_(p), r_(r) {
    r_.passed.assign(p.inputs.size(), 0);
    r_.ours.reserve(p.inputs.size() * 4);
  }
  Sink sink() {
    return {this, [](void* self, const Output& o) { static_cast<Listener*>(self)->midi(o); },
            [](void* self, const Fact& f) { static_cast<Listener*>(self)->fact(f); }};
  }
  void callBeginsAt(std::size_t firstInput) { first_ = firstInput; }
  bool quiet() const { return sounding_ == 0; }
  void finish(Ticks end);
  void trimChords();

 private:
  void midi(const Output& o);
  void fact(const Fact& f);
  void chord(const Fact& f);
  void hand(const Fact& f);
  std::int64_t placeOf(const Output& o) const;
  bool left(const Output& o, std::int64_t place);
  Ticks tickOfInput(std::size_t i) const { return p_.time.engineTick(eventOf(p_, i).tick); }

  const Performance& p_;
  Rendering& r_;
  std::size_t first_ = 0;
  std::int64_t sounding_ = 0;
  std::vector<std::uint32_t> left_;  // notes that would have begun after all was over: few, the newest last
};

constexpr Ticks farthest{std::int64_t{1} << 50};  // a note that nobody has ended yet lies beyond it

/// The exact tick when the engine's tick and sample agree (within the rounding of both); else the sample's own.
std::int64_t Listener::placeOf(const Output& o) const {
  if (p_.follows || o.tick > farthest || o.tick < Ticks{0}) return p_.time.fileTickAt(o.sample);
  const auto off = p_.time.sampleOf(o.tick) - o.sample;
  return std::abs(off.value) <= 1 ? p_.time.fileTick(o.tick) : p_.time.fileTickAt(o.sample);
}

/// Tune over and hand let go: a note (or pedal) of ours that would begin then is not played. What sounds may end, and
/// a closing that was asked for is played.
bool Listener::left(const Output& o, std::int64_t place) {
  if (o.noteId == 0 && o.kind != OutputKind::controller) return false;  // the tune's own
  if (o.kind == OutputKind::noteOff) return std::find(left_.begin(), left_.end(), o.noteId) != left_.end();
  if (place < p_.over) return false;
  if (o.kind == OutputKind::controller) return o.bytes[2] >= 64;
  if (o.reason != nullptr && o.reason->reason == Reason::cadence) return false;
  left_.push_back(o.noteId);
  return true;
}

void Listener::midi(const Output& o) {
  if (o.kind == OutputKind::passed) {
    r_.passed[first_ + o.inputIndex] = 1;
    return;
  }
  const std::int64_t place = placeOf(o);
  if (left(o, place)) return;
  const bool tunes = o.noteId == 0;  // a note of the tune that was closed for it, or sent late
  if (o.kind == OutputKind::noteOn && !tunes) ++sounding_;
  if (o.kind == OutputKind::noteOff && !tunes) --sounding_;
  OurEvent e;
  e.sample = o.sample;
  e.tick = o.tick;
  e.fileTick = place;
  e.kind = o.kind;
  e.bytes = o.bytes;
  e.noteId = o.noteId;
  if (o.reason != nullptr) e.reason = *o.reason;
  r_.ours.push_back(e);
}

void Listener::fact(const Fact& f) {
  if (f.kind == FactKind::chord) chord(f);
  if (f.kind == FactKind::hand) hand(f);
  if (f.kind == FactKind::beat && f.status == FactStatus::final)
    r_.beats.push_back({f.tick, f.falls, f.meter, f.beatOfBar});
  if (f.kind == FactKind::key && f.key.known) r_.key = f.key;
}

void Listener::chord(const Fact& f) {
  auto& rows = r_.chords;
  if (f.status == FactStatus::withdrawn) {
    std::erase_if(rows, [&](const HeardRow& row) { return row.id == f.id; });
    return;
  }
  if (f.readings == nullptr || f.readings->count == 0) {
    if (!rows.empty() && rows.back().open) {
      rows.back().to = f.tick;
      rows.back().toSample = f.sample;
      rows.back().open = false;
      rows.back().letGo = true;
    }
    return;
  }
  if (rows.empty() || rows.back().id != f.id) {
    if (!rows.empty() && rows.back().open) {
      rows.back().to = f.tick;
      rows.back().toSample = f.sample;
      rows.back().open = false;
    }
    rows.emplace_back().id = f.id;
    rows.back().fromSample = f.sample;
  }
  HeardRow& row = rows.back();
  row.from = f.tick;
  row.chord = f.readings->best();
  row.key = f.key;
  row.readingCount = f.readings->count;
  for (std::size_t i = 0; i < row.readingCount; ++i) row.readings[i] = f.readings->ranked[i].chord;
}

void Listener::hand(const Fact& f) {
  auto row = std::find_if(r_.hands.rbegin(), r_.hands.rend(), [&](const HandRow& h) { return h.id == f.id; });
  if (f.revision == 0 || row == r_.hands.rend()) {
    r_.hands.emplace_back();
    row = r_.hands.rbegin();
    row->inputIndex = static_cast<std::uint32_t>(first_ + f.inputIndex);
    row->fileTick = eventOf(p_, row->inputIndex).tick;
  }
  row->id = f.id;
  row->note = f.note;
  row->velocity = f.velocity;
  row->hand = f.hand;
  if (f.revision == 0) {
    row->verdict = f.verdict;
    row->reason = f.handReason;
    return;
  }
  row->revised = true;
  row->revisedTo = f.verdict;
  row->revisedFor = f.handReason;
}

void Listener::finish(Ticks end) {
  if (!r_.chords.empty() && r_.chords.back().open) {
    r_.chords.back().to = end;
    r_.chords.back().toSample = p_.time.sampleOf(end);
    r_.chords.back().letGo = true;
  }
}

void Listener::trimChords() {
  // The bridge over a gap in the hand is the engine's patience, not the chord's length: that ends with its last key.
  std::vector<Ticks> keysUp;
  for (std::size_t i = 0; i < p_.inputs.size(); ++i)
    if (p_.places[i].track >= 0 && p_.inputs[i].midi.noteOff() && r_.passed[i] == 0) keysUp.push_back(tickOfInput(i));
  for (HeardRow& row : r_.chords) {
    const auto after = std::upper_bound(keysUp.begin(), keysUp.end(), row.to);
    if (row.letGo && after != keysUp.begin() && *(after - 1) > row.from) row.to = *(after - 1);
  }
  std::erase_if(r_.chords, [](const HeardRow& row) { return row.to <= row.from; });
}

/// Calls of `block` samples until `until`; the inputs from `next` on.
void runUntil(Engine& engine, const Performance& p, Listener& listener, std::size_t& next, Samples until,
              std::size_t block) {
  while (engine.now() < until) {
    Samples end = until;
    if (block > 0) end = std::min(until, engine.now() + Samples{static_cast<std::int64_t>(block)});
    const std::size_t first = next;
    if (end == until) {
      next = p.inputs.size();
    } else {
      while (next < p.inputs.size() && p.inputs[next].sample < end) ++next;
    }
    listener.callBeginsAt(first);
    engine.process(std::span(p.inputs).subspan(first, next - first), end, listener.sink());
  }
}

}  // namespace

Rendering render(Performance& p, std::int64_t rate, std::size_t block) {
  Rendering r;
  for (const Input& input : p.inputs)  // a key that was given is not found, so no fact tells it
    if (input.kind == InputKind::settings && input.settings.key.known) r.key = input.settings.key;
  Listener listener(p, r);
  Engine engine;
  engine.prepare(static_cast<double>(rate));
  const Samples last = p.inputs.empty() ? Samples{} : p.inputs.back().sample;
  std::size_t next = 0;
  runUntil(engine, p, listener, next, last + Samples{1}, block);
  // After the last event what sounds may reach its own end: beat by beat, two bars at most, then silence.
  Ticks at = p.time.engineTick(p.lastTick);
  const Meter meter = p.time.meterAt(at);
  for (int beat = 0; beat < 2 * meter.numerator && !listener.quiet(); ++beat) {
    at = at + meter.beat();
    runUntil(engine, p, listener, next, p.time.sampleOf(at), block);
  }
  listener.callBeginsAt(p.inputs.size());
  engine.silence(listener.sink());
  listener.finish(p.time.engineTick(p.lastTick));
  if (p.follows) takeFollowedTime(p, r, p.asked, rate);
  listener.trimChords();
  r.end = engine.now();
  return r;
}

}  // namespace seguente
