// What a block brings, as the engine's stamped inputs: messages, settings, idioms, time, signals.
#include <algorithm>

#include "plugin/session_body.h"

namespace seguente {

namespace {
constexpr std::uint8_t programChange = 0xC0;
constexpr std::uint8_t keyPressure = 0xA0;
}  // namespace

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

Settings Session::Body::wished() noexcept {
  const auto wishes = settingsFrom(values, inMeter(), idiom.idiom);
  if (wishes.follow == settings.follow) return wishes;
  bars.forget();  // time comes from somebody else, or the hands are listened to anew
  if (!wishes.follow.on) return wishes;
  view.meter = wishes.follow.meter;  // in this one the engine begins to follow
  return settingsFrom(values, inMeter(), idiom.idiom);
}

void Session::Body::readSettings(Samples at) noexcept {
  seenChanges = values.changes();
  settings = wished();
  transpose = static_cast<int>(values.get(ParameterId::transpose));
  timeSettings = timeFrom(values, timeSettings.ownMeter);
  timeSettings.ownTempo *= ownTime.pace / 100.0;
  timeSettings.waits = ownTime.withFirstChord;
  push(Input::of(at, settings));
  tellSwing(at);
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
  suitIdiom(at);
  push(Input::of(at, idiom));
  tellSwing(at);
}

/// What the idiom decides of the settings: percussion goes to its own channel, whichever part of it that is, and hands
/// are followed in its meter.
void Session::Body::suitIdiom(Samples at) noexcept {
  otherMeter = false;
  const auto suited = wished();
  if (suited.outputChannel == settings.outputChannel && suited.follow == settings.follow) return;
  settings.outputChannel = suited.outputChannel;
  settings.follow = suited.follow;
  push(Input::of(at, settings));
}

void Session::Body::follow(Signal signal, Samples at) noexcept {
  if (signal == Signal::end) first.askEnd();
  if (signal == Signal::silenceAll) standOwn(at);
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
    case Signal::round:
      return push(Input::of(at, Gesture::round));
    case Signal::turnaround:
      return push(Input::of(at, Gesture::turnaround));
    case Signal::tag:
      return push(Input::of(at, Gesture::tag));
  }
}

/// The next preset of the order that is open, to its end and no further; else the next idiom of the list, round its
/// ends.
void Session::Body::step(int way, Samples at) noexcept {
  if (order.value != nullptr) return goTo(orderBox.place() + way, at);
  if (table.value == nullptr || table.value->filled == 0) return;
  take(table.value->beside(static_cast<std::size_t>(values.get(ParameterId::idiom)) % slotCount, way), at);
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
  const int by = !read ? 0 : m.noteOn() ? transposeAt(at) : transpose;
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
  liftKey(m.channel(), sounding);
  static constexpr std::array<std::uint8_t, 3> room{};  // what is sent is the message; this says how long it is
  MidiMessage off = m;
  off.bytes = {static_cast<std::uint8_t>(0x80 | m.channel()), sounding, 64};
  push(Input::of(at, off), room);
}

/// A key goes up: it is nobody's any more, unless another channel holds it too.
void Session::Body::liftKey(std::uint8_t channel, std::uint8_t key) noexcept {
  down[key] = static_cast<std::uint16_t>(down[key] & ~(1u << channel));
  dirty = true;
  if (down[key] != 0) return;
  view.held.remove({key});
  view.tune.remove({key});
}

void Session::Body::tellTime(const TimeAnchor& anchor, std::optional<std::int64_t> said, Samples at) noexcept {
  push(Input::of(at, anchor));
  tellPage(anchor, at);
  const bool other = !(view.meter == anchor.meter);
  view.meter = anchor.meter;
  if (other) suitIdiom(at);
  // A place just before a bar line is on it: hosts' floats round by less than 3 ticks (10 millionths of a quarter).
  const Ticks bar = anchor.meter.bar();
  const auto since = floorDivide((anchor.tick - anchor.barStart).value + 3, bar.value);
  bars.hear(anchor.barStart + bar * since, anchor.meter, timeSettings.source == TimeSource::host ? said : std::nullopt);
  dirty = true;
}

}  // namespace seguente
