#include "plugin/session.h"

#include <algorithm>
#include <atomic>

#include "plugin/note_map.h"

namespace seguente {

namespace {
// More in one block are handed on in several calls, which changes nothing: blocks do not matter to the engine.
constexpr std::size_t mostInputs = 1024;
// Every key of every channel may be open when a host prepares anew.
constexpr std::size_t mostOwed = limits::channels * limits::keys + limits::soundingNotes;
constexpr int picturesASecond = 60;

constexpr std::uint8_t programChange = 0xC0;
constexpr std::uint8_t keyPressure = 0xA0;
}  // namespace

struct Session::Body {
  Body(ParameterValues& parameterValues, SignalMap& signalMap, Handoff<SlotTable>& shelf, ViewBox& viewBox,
       std::atomic<std::uint32_t>& ownChoices)
      : values(parameterValues), signals(signalMap), lent(shelf), box(viewBox), choices(ownChoices) {}

  ParameterValues& values;
  SignalMap& signals;
  Handoff<SlotTable>& lent;
  ViewBox& box;
  std::atomic<std::uint32_t>& choices;

  Engine engine;
  HostTime time;
  NoteMap notes;
  double rate = 48000;

  // This block.
  MidiOut out{};
  Samples start{};
  std::int64_t length = 0;
  std::array<Input, mostInputs> inputs{};
  std::array<std::span<const std::uint8_t>, mostInputs> whole{};  // the bytes of each input that is a message
  std::size_t count = 0;

  // What the engine has been told.
  Lent<SlotTable> table{};
  IdiomRef idiom{};
  Settings settings{};
  TimeSettings timeSettings{};
  int transpose = 0;
  std::uint32_t seenChanges = 0;
  std::uint32_t acknowledged = 0;
  bool bypassed = false;
  std::atomic<std::uint32_t> given{0};  // signals from the screen, a bit each

  std::array<std::array<std::uint8_t, 3>, mostOwed> owed{};  // note-offs and pedals of the time before this prepare
  std::size_t owedCount = 0;

  View view{};
  Timeline shown{};  // of the newest anchor
  bool dirty = true;
  Samples pictureDue{};

  void push(Input input, std::span<const std::uint8_t> bytes = {}) noexcept;
  void run(Samples until) noexcept;
  void flushSome() noexcept;
  void readSettings(Samples at) noexcept;
  void readShelf(Samples at) noexcept;
  void chooseIdiom(Samples at) noexcept;
  void follow(Signal signal, Samples at) noexcept;
  void step(int way, Samples at) noexcept;
  void take(std::size_t slot, Samples at) noexcept;
  bool heardAsProgram(const MidiMessage& m, Samples at) noexcept;
  void transposed(MidiMessage& m, Samples at) noexcept;
  void tellTime(const TimeAnchor& anchor, Samples at) noexcept;
  void take(const Output& o) noexcept;
  void take(const Fact& f) noexcept;
  void owe(const Output& o) noexcept;
  void publish() noexcept;
  Sink sink() noexcept {
    return {this, [](void* me, const Output& o) { static_cast<Body*>(me)->take(o); },
            [](void* me, const Fact& f) { static_cast<Body*>(me)->take(f); }};
  }
};

Session::Session(ParameterValues& values, SignalMap& signals, Handoff<SlotTable>& shelf, ViewBox& view)
    : values_(values), signals_(signals), shelf_(shelf), view_(view) {}
Session::~Session() = default;

void Session::prepare(double rate) {
  if (!body_) body_ = std::make_unique<Body>(values_, signals_, shelf_, view_, choices_);
  auto& b = *body_;
  if (prepared_) b.engine.silence({&b, [](void* me, const Output& o) { static_cast<Body*>(me)->owe(o); }, nullptr});
  b.engine.prepare(rate);
  b.time.prepare(rate);
  b.rate = rate;
  b.start = {};
  b.count = 0;
  b.idiom = {};
  b.seenChanges = 0;
  b.bypassed = false;
  b.view = {};
  b.pictureDue = {};
  b.dirty = true;
  prepared_ = true;
}

void Session::begin(const std::optional<HostPosition>& position, std::int64_t length, bool bypassed,
                    const MidiOut& out) noexcept {
  auto& b = *body_;
  b.out = out;
  b.length = std::max<std::int64_t>(length, 0);
  b.count = 0;
  for (std::size_t i = 0; i < b.owedCount; ++i) out.send(out.context, 0, b.owed[i]);
  b.owedCount = 0;
  if (bypassed != b.bypassed) {
    b.bypassed = b.view.bypassed = bypassed;
    b.push(Input::bypassAt(b.start, bypassed));
  }
  if (b.values.changes() != b.seenChanges) b.readSettings(b.start);
  b.readShelf(b.start);
  if (const auto anchor = b.time.block(position, b.start, b.length, b.timeSettings)) b.tellTime(*anchor, b.start);
  if (b.given.load(std::memory_order_relaxed) != 0) {
    const auto bits = b.given.exchange(0, std::memory_order_acquire);
    for (std::size_t i = 0; i < signalCount; ++i)
      if (((bits >> i) & 1u) != 0) b.follow(static_cast<Signal>(i), b.start);
  }
}

void Session::message(std::int64_t offset, std::span<const std::uint8_t> bytes) noexcept {
  if (bytes.empty()) return;
  auto& b = *body_;
  const Samples at{b.start.value + std::clamp<std::int64_t>(offset, 0, std::max<std::int64_t>(b.length - 1, 0))};
  MidiMessage m;
  for (std::size_t i = 0; i < std::min<std::size_t>(3, bytes.size()); ++i) m.bytes[i] = bytes[i];
  m.length = static_cast<std::uint32_t>(bytes.size());
  const auto heard = b.signals.hear(m);
  if (heard.signal) b.follow(*heard.signal, at);
  if (heard.taken || b.heardAsProgram(m, at)) return;
  b.transposed(m, at);
  if (m.noteOff()) {
    b.view.held.remove({static_cast<std::uint8_t>(m.bytes[1] & 0x7F)});
    b.view.tune.remove({static_cast<std::uint8_t>(m.bytes[1] & 0x7F)});
    b.dirty = true;
  }
  b.push(Input::of(at, m), bytes);
}

void Session::end() noexcept {
  auto& b = *body_;
  const Samples until{b.start.value + b.length};
  b.run(until);
  b.start = until;
  const auto released = b.engine.releasedGeneration();
  if (released != b.acknowledged) {
    b.acknowledged = released;
    b.lent.acknowledge(released);
  }
  if (b.dirty || (b.view.playing && b.start >= b.pictureDue)) b.publish();
}

void Session::give(Signal signal) noexcept {
  if (body_) body_->given.fetch_or(1u << static_cast<unsigned>(signal), std::memory_order_release);
}

// ---- a block's inputs ----

void Session::Body::push(Input input, std::span<const std::uint8_t> bytes) noexcept {
  if (count == mostInputs) flushSome();
  if (count > 0) input.sample = std::max(input.sample, inputs[count - 1].sample);  // a host that sorts badly
  inputs[count] = input;
  whole[count++] = bytes;
}

/// Runs the engine up to the last moment that is not yet complete; if there is but one, through it.
void Session::Body::flushSome() noexcept {
  const Samples last = inputs[count - 1].sample;
  std::size_t done = count;
  while (done > 0 && inputs[done - 1].sample == last) --done;
  const std::size_t all = count;
  count = done > 0 ? done : all;
  run(done > 0 ? last : Samples{last.value + 1});
  if (done == 0) return;
  std::copy(inputs.begin() + static_cast<std::ptrdiff_t>(done), inputs.begin() + static_cast<std::ptrdiff_t>(all),
            inputs.begin());
  std::copy(whole.begin() + static_cast<std::ptrdiff_t>(done), whole.begin() + static_cast<std::ptrdiff_t>(all),
            whole.begin());
  count = all - done;
}

void Session::Body::run(Samples until) noexcept {
  engine.process({inputs.data(), count}, until, sink());
  count = 0;
}

void Session::Body::readSettings(Samples at) noexcept {
  seenChanges = values.changes();
  settings = settingsFrom(values, idiom.idiom);
  transpose = static_cast<int>(values.get(ParameterId::transpose));
  timeSettings = timeFrom(values, timeSettings.ownMeter);
  push(Input::of(at, settings));
  chooseIdiom(at);
}

void Session::Body::readShelf(Samples at) noexcept {
  Lent<SlotTable> fresh;
  if (!lent.take(fresh)) return;
  table = fresh;
  chooseIdiom(at);
}

/// The idiom of the slot that is asked for; an empty slot leaves the one that plays.
void Session::Body::chooseIdiom(Samples at) noexcept {
  const auto slot = static_cast<std::size_t>(values.get(ParameterId::idiom)) % slotCount;
  dirty = dirty || view.slot != static_cast<std::int16_t>(slot);
  view.slot = static_cast<std::int16_t>(slot);
  if (table.value == nullptr) return;
  const Idiom* const chosen = table.value->idioms[slot] != nullptr ? table.value->idioms[slot] : idiom.idiom;
  if (chosen == nullptr || (chosen == idiom.idiom && table.generation == idiom.generation)) return;
  if (table.value->idioms[slot] == nullptr) return;
  idiom = {chosen, table.generation};
  timeSettings.ownMeter = chosen->meter;
  const auto channels = settingsFrom(values, chosen).outputChannel;
  if (channels != settings.outputChannel) {  // its percussion may be another part
    settings.outputChannel = channels;
    push(Input::of(at, settings));
  }
  push(Input::of(at, idiom));
}

void Session::Body::follow(Signal signal, Samples at) noexcept {
  switch (signal) {
    case Signal::hold:
      return push(Input::of(at, Gesture::hold));
    case Signal::goOn:
      return push(Input::of(at, Gesture::goOn));
    case Signal::end:
      return push(Input::of(at, Gesture::end));
    case Signal::next:
      return step(1, at);
    case Signal::previous:
      return step(-1, at);
    case Signal::silenceAll:
      return push(Input::silenceAt(at));
  }
}

/// The next slot that is not empty, round the shelf.
void Session::Body::step(int way, Samples at) noexcept {
  if (table.value == nullptr) return;
  auto slot = static_cast<std::size_t>(values.get(ParameterId::idiom)) % slotCount;
  for (std::size_t i = 0; i < slotCount; ++i) {
    slot = (slot + slotCount + static_cast<std::size_t>(way + static_cast<int>(slotCount))) % slotCount;
    if (table.value->idioms[slot] != nullptr) return take(slot, at);
  }
}

/// The player chooses a slot: the host is told later, by a thread that may.
void Session::Body::take(std::size_t slot, Samples at) noexcept {
  values.set(ParameterId::idiom, static_cast<double>(slot));
  choices.fetch_add(1, std::memory_order_release);
  chooseIdiom(at);
}

/// A program change on a channel that is read for hands chooses the idiom, and is ours. An empty slot changes nothing.
bool Session::Body::heardAsProgram(const MidiMessage& m, Samples at) noexcept {
  if (m.kind() != programChange || m.length != 2) return false;
  if (((settings.chordChannels | settings.melodyChannels) >> m.channel() & 1) == 0) return false;
  const std::size_t slot = m.bytes[1] & 0x7Fu;
  if (table.value != nullptr && table.value->idioms[slot] != nullptr) take(slot, at);
  return true;
}

/// Both hands are moved; channels that nobody reads (percussion) are not.
void Session::Body::transposed(MidiMessage& m, Samples at) noexcept {
  if (m.length != 3 || m.kind() < 0x80 || m.kind() > keyPressure) return;
  const bool read = ((settings.chordChannels | settings.melodyChannels) >> m.channel() & 1) != 0;
  const int by = read ? transpose : 0;
  const auto key = static_cast<std::uint8_t>(m.bytes[1] & 0x7F);
  if (m.noteOff()) {
    m.bytes[1] = notes.release(m.channel(), key, by);
    return;
  }
  const auto sounding = notes.touch(m.channel(), key, by);
  if (!m.noteOn()) {
    m.bytes[1] = sounding;
    return;
  }
  m.bytes[1] = notes.strike(m.channel(), key, by);
  if (sounding == m.bytes[1]) return;
  // Struck twice and transposed in between (a loop that swallows note-offs): nobody else would end the first.
  static constexpr std::array<std::uint8_t, 3> room{};  // what is sent is the message; this says how long it is
  MidiMessage off = m;
  off.bytes = {static_cast<std::uint8_t>(0x80 | m.channel()), sounding, 64};
  push(Input::of(at, off), room);
}

void Session::Body::tellTime(const TimeAnchor& anchor, Samples at) noexcept {
  push(Input::of(at, anchor));
  shown = {Timeline::samplesPerTickAt(anchor.quartersPerMinute, rate), anchor.tick, at};
  view.meter = anchor.meter;
  view.barStart = anchor.barStart;
  view.quartersPerMinute = anchor.quartersPerMinute;
  view.playing = anchor.playing;
  dirty = true;
}

// ---- what comes out ----

void Session::Body::take(const Output& o) noexcept {
  const auto offset = std::clamp<std::int64_t>((o.sample - start).value, 0, std::max<std::int64_t>(length - 1, 0));
  if (o.kind == OutputKind::passed) {
    const auto bytes = whole[o.inputIndex];
    if (bytes.size() > 3)
      out.send(out.context, offset, bytes);
    else
      out.send(out.context, offset, {o.bytes.data(), bytes.size()});
    return;
  }
  if (o.kind == OutputKind::noteOn) {
    view.ours.add({o.bytes[1]});
    if (out.why != nullptr) out.why(out.context, offset, o);
    dirty = true;
  } else if (o.kind == OutputKind::noteOff) {
    view.ours.remove({o.bytes[1]});
    view.tune.remove({o.bytes[1]});
    dirty = true;
  }
  out.send(out.context, offset, o.bytes);
}

void Session::Body::take(const Fact& f) noexcept {
  dirty = true;
  switch (f.kind) {
    case FactKind::hand:
      (f.hand == Hand::chord ? view.held : view.tune).add(f.note);
      break;
    case FactKind::chord:
      view.hasChord = f.readings != nullptr;
      if (view.hasChord) view.chord = f.readings->best();
      view.key = f.key;
      break;
    case FactKind::key:
      view.key = f.key;
      break;
    case FactKind::beat:
      break;
  }
}

void Session::Body::owe(const Output& o) noexcept {
  if (o.kind == OutputKind::passed || owedCount == owed.size()) return;
  owed[owedCount++] = o.bytes;
}

void Session::Body::publish() noexcept {
  view.tick = shown.tickAt(start);
  box.write(view);
  dirty = false;
  pictureDue = {start.value + static_cast<std::int64_t>(rate) / picturesASecond};
}

}  // namespace seguente
