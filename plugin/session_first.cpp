// Own time that waits: it begins with the first chord, after a count if one is wished, and stands when all is over.
#include <algorithm>

#include "plugin/session_body.h"

namespace seguente {

namespace {
// General MIDI's percussion map: high and low wood block, on channel 10.
constexpr std::uint8_t highClick = 76, lowClick = 77, clickForce = 80, percussion = 9;
}  // namespace

/// Whether this key opens a chord while time stands. Hands that are told apart by listening have told nothing yet: then
/// it is a key below the split, and a chord that is held higher is noticed when it is whole (restOrGo).
bool Session::Body::opensChord(const MidiMessage& m) const noexcept {
  if (!ownTime.withFirstChord || !m.noteOn() || !time.ownStands()) return false;
  if ((settings.chordChannels >> m.channel() & 1) == 0) return false;
  const bool below = m.bytes[1] < settings.split.value;
  switch (settings.handRule) {
    case HandRule::byChannel:
      return (settings.melodyChannels >> m.channel() & 1) == 0;
    case HandRule::noMelody:
      return true;
    case HandRule::byKey:
    case HandRule::automatic:
      break;
  }
  return below;
}

void Session::Body::strikeFirst(Samples at) noexcept {
  const auto meter = time.ownMeter();
  const auto beats = static_cast<int>(meter.bar().value / std::max<std::int64_t>(1, meter.beat().value));
  first.strike(at, beats, static_cast<double>(meter.beat().value) * time.samplesPerTick(), ownTime.countIn);
}

void Session::Body::beginOwn(Samples until) noexcept {
  const auto at = first.beginsBefore(until);
  if (!at) return;
  if (const auto anchor = time.beginOwn(*at)) tellTime(*anchor, std::nullopt, *at);
}

void Session::Body::standOwn(Samples at) noexcept {
  first.forget();
  restDue = false;
  heldAtRest = view.held;
  if (const auto anchor = time.standOwn(at)) tellTime(*anchor, std::nullopt, at);
}

void Session::Body::sendClicks(Samples until) noexcept {
  while (const auto click = first.clickBefore(until)) {
    const auto key = click->first ? highClick : lowClick;
    const std::array<std::uint8_t, 3> bytes{static_cast<std::uint8_t>((click->on ? 0x90 : 0x80) | percussion), key,
                                            clickForce};
    const auto offset = std::clamp<std::int64_t>((click->at - start).value, 0, std::max<std::int64_t>(length - 1, 0));
    if (out.played != nullptr)
      out.played(out.context, {.offset = static_cast<std::int32_t>(offset), .bytes = bytes, .role = Role::click});
    out.send(out.context, offset, bytes);
  }
}

/// At a block's end: a chord that was held above the split begins; a bar with nothing left to play ends.
void Session::Body::restOrGo(Samples until) noexcept {
  if (time.ownStands()) {
    heldAtRest = {{heldAtRest.words[0] & view.held.words[0], heldAtRest.words[1] & view.held.words[1]}};
    if (view.hasChord && view.held != heldAtRest) strikeFirst(until);
    return;
  }
  const bool keys = std::any_of(down.begin(), down.end(), [](std::uint16_t channels) { return channels != 0; });
  const auto meter = time.ownMeter();
  const Samples bar{static_cast<std::int64_t>(static_cast<double>(meter.bar().value) * time.samplesPerTick())};
  if (first.restedFor(bar, until, !view.ours.empty(), view.hasChord || keys)) restDue = true;
}

}  // namespace seguente
