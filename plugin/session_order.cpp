// The running order while it is played: the next preset comes with the next bar, all of it at once.
#include <algorithm>
#include <cmath>

#include "plugin/session_body.h"

namespace seguente {

namespace {
// What a hand strikes so little before the bar line belongs to the bar: 99 % of the notes of left-hand chords land
// within 60 ms of one another (REFERENCES section 6); a little more, as nobody waits for it.
constexpr double earlySeconds = 0.08;
// A preset is in force a hair before the bar line, so that the bar's own steps are of it.
constexpr std::int64_t hair = 2;
constexpr double minute = 60;
}  // namespace

/// What the screen or a session has asked for, and where the bar line lies that a preset waits for.
void Session::Body::readOrder() noexcept {
  OrderBox::Wish wish;
  const bool wished = orderBox.takeWish(wish);
  Lent<OrderTable> fresh;
  if (orderBox.takeTable(fresh)) order = fresh;
  if (wished) {
    orderDue.reset();
    if (wish.apply) goTo(wish.place, start);
  }
  if (!orderDue) return;
  const auto now = engine.time();
  const Ticks bar = now.meter.bar();
  if (orderBar.value - now.tick.value > bar.value) orderBar = now.barStart + bar;  // the time has jumped
  orderDue = barLineAt(now);
}

/// The sample of the bar line that is waited for; a long way off while the figure rests on its chord.
Samples Session::Body::barLineAt(const EngineTime& now) const noexcept {
  if (!now.playing || settings.changeIdiomAtOnce) return start;
  if (engine.holding()) return Samples{start.value + length + static_cast<std::int64_t>(rate)};
  const double samplesPerTick = minute * rate / (now.quartersPerMinute * static_cast<double>(quarter.value));
  const double away = static_cast<double>((orderBar - now.tick).value) * samplesPerTick;
  return Samples{std::max(start.value, start.value + static_cast<std::int64_t>(std::floor(away)) - hair)};
}

/// A preset is asked for: with the next bar; at once while time stands or no chord sounds.
void Session::Body::goTo(int place, Samples at) noexcept {
  if (order.value == nullptr || place < 0 || place >= static_cast<int>(order.value->steps.size())) return;
  orderBox.setPlace(place);
  orderAsked = place;
  dirty = true;
  const auto now = engine.time();
  orderBar = now.barStart + now.meter.bar();
  orderDue = view.hasChord ? barLineAt(now) : at;
  if (*orderDue <= at) takePreset(at);
}

void Session::Body::takePresetBefore(Samples until) noexcept {
  if (orderDue && *orderDue < until) takePreset(std::max(*orderDue, start));
}

void Session::Body::takePreset(Samples at) noexcept {
  orderDue.reset();
  if (order.value == nullptr || orderAsked >= static_cast<int>(order.value->steps.size())) return;
  const auto& step = order.value->steps[static_cast<std::size_t>(orderAsked)];
  for (std::size_t i = 0; i < parameterCount; ++i)
    if (order.value->named[i]) values.set(static_cast<ParameterId>(i), static_cast<double>(step.values[i]));
  if (step.slot >= 0) values.set(ParameterId::idiom, step.slot);
  choices.fetch_add(1, std::memory_order_release);
  const int before = transpose;
  readSettings(at);
  if (transpose == before) return;
  strikeAnew(at);
  if (engine.round().kept) push(Input::of(at, Gesture::round));  // it goes in the old key: the tune would not fit it
}

/// The transposition that a key struck here is moved by.
int Session::Body::transposeAt(Samples at) const noexcept {
  if (!orderDue || order.value == nullptr || orderAsked >= static_cast<int>(order.value->steps.size()))
    return transpose;
  constexpr auto row = static_cast<std::size_t>(ParameterId::transpose);
  if (!order.value->named[row]) return transpose;
  const bool early = static_cast<double>((*orderDue - at).value) <= earlySeconds * rate;
  return early ? static_cast<int>(order.value->steps[static_cast<std::size_t>(orderAsked)].values[row]) : transpose;
}

/// A chord that is held while the transposition changes sounds on in the new key: as if the hand had struck it here.
void Session::Body::strikeAnew(Samples at) noexcept {
  static constexpr std::array<std::uint8_t, 3> room{};
  std::array<std::pair<std::uint8_t, std::uint8_t>, limits::keys> again{};  // channel, key
  std::size_t struckAgain = 0;
  for (std::size_t c = 0; c < limits::channels; ++c)
    for (std::size_t k = 0; k < limits::keys; ++k) {
      const auto channel = static_cast<std::uint8_t>(c), key = static_cast<std::uint8_t>(k);
      const auto sounding = notes.held(channel, key);
      if (!sounding || *sounding == notes.moved(key, transpose) || !view.held.has({*sounding})) continue;
      if (struckAgain < again.size()) again[struckAgain++] = {channel, key};
      const MidiMessage off{{static_cast<std::uint8_t>(0x80 | channel), notes.release(channel, key, transpose), 64}, 3};
      liftKey(channel, off.bytes[1]);
      push(Input::of(at, off), room);
    }
  for (std::size_t i = 0; i < struckAgain; ++i) {
    const auto [channel, key] = again[i];
    const auto sounding = notes.strike(channel, key, transpose);
    down[sounding] = static_cast<std::uint16_t>(down[sounding] | 1u << channel);
    push(Input::of(at, MidiMessage{{static_cast<std::uint8_t>(0x90 | channel), sounding, forces[key]}, 3}), room);
  }
}

}  // namespace seguente
