// What comes out of the engine, as messages at their place in the block, and as the picture for the screen.
#include <algorithm>

#include "plugin/session_body.h"

namespace seguente {

namespace {
constexpr int picturesASecond = 60;
}

void Session::Body::take(const Output& o) noexcept {
  const auto offset = std::clamp<std::int64_t>((o.sample - start).value, 0, std::max<std::int64_t>(length - 1, 0));
  if (first.underWay()) sendClicks(o.sample);
  tellPage(o);
  if (o.kind == OutputKind::passed) {
    const auto bytes = whole[o.inputIndex];
    if (out.played != nullptr) tellPlayed(o, offset, bytes);
    if (bytes.size() > 3)
      out.send(out.context, offset, bytes);
    else
      out.send(out.context, offset, {o.bytes.data(), bytes.size()});
    return;
  }
  if (o.kind == OutputKind::noteOn && o.noteId == 0) {  // the tune's, sent late
    view.tune.add({o.bytes[1]});
    dirty = true;
  } else if (o.kind == OutputKind::noteOn) {
    view.ours.add({o.bytes[1]});
    if (out.why != nullptr) out.why(out.context, offset, o);
    dirty = true;
  } else if (o.kind == OutputKind::noteOff) {
    (o.noteId == 0 ? view.tune : view.ours).remove({o.bytes[1]});
    dirty = true;
  }
  if (out.played != nullptr) tellPlayed(o, offset, o.bytes);
  out.send(out.context, offset, o.bytes);
}

void Session::Body::tellPlayed(const Output& o, std::int64_t offset, std::span<const std::uint8_t> bytes) noexcept {
  if (bytes.size() > 3) return;
  Played played{.offset = static_cast<std::int32_t>(offset), .bytes = o.bytes};
  played.length = static_cast<std::uint8_t>(bytes.size());
  played.ours = o.kind == OutputKind::controller || (o.kind != OutputKind::passed && o.noteId != 0);
  const auto* plays = o.reason != nullptr ? inMeter() : nullptr;
  if (plays != nullptr && o.reason->part < plays->parts.size()) {
    const Part& part = plays->parts[o.reason->part];
    played.role = roleOf(part.kind);
    played.part = o.reason->part;
    played.program = part.program;
    played.pedal = part.pedal;
  } else if (played.ours && o.kind == OutputKind::noteOn) {
    played.role = Role::chords;
  }
  out.played(out.context, played);
}

void Session::Body::take(const Fact& f) noexcept {
  dirty = true;
  tellPage(f);
  switch (f.kind) {
    case FactKind::hand:
      showHand(f);
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
      otherMeter = otherMeter || !(f.meter == view.meter);
      view.meter = f.meter;
      break;
  }
}

/// Who plays a note is a fact that may be revised: its key shows the hand that its newest note has in the end.
void Session::Body::showHand(const Fact& f) noexcept {
  auto& newest = handFacts[f.note.value];
  if (f.revision != 0 && newest != f.id) return;
  newest = f.id;
  const bool chord = f.hand == Hand::chord;
  (chord ? view.tune : view.held).remove(f.note);
  (chord ? view.held : view.tune).add(f.note);
}

void Session::Body::owe(const Output& o) noexcept {
  if (o.kind == OutputKind::passed || owedCount == owed.size()) return;
  owed[owedCount++] = o.bytes;
}

void Session::Body::showTime() noexcept {
  const EngineTime now = engine.time();
  const bool byHands = settings.follow.on;
  if (byHands) tellPageTime({now.tick, now.quartersPerMinute, now.meter, now.barStart, now.playing}, start);
  bars.hear(now.barStart, now.meter);
  view.tick = now.tick;
  view.barStart = now.barStart;
  view.bar = bars.at(now.barStart);
  otherMeter = otherMeter || !(now.meter == view.meter);
  view.meter = now.meter;
  view.quartersPerMinute = byHands && !now.playing ? timeSettings.ownTempo : now.quartersPerMinute;
  view.playing = now.playing;
  const RoundNow round = engine.round();
  view.round = round.kept;
  view.roundBegins = round.beginsAgain;
  const NextChord next = engine.nextChord();
  view.expects = next.known;
  view.expected = next.chord;
  view.expectedAt = next.at;
}

void Session::Body::publish() noexcept {
  showTime();
  // Struck and let go within this block: the engine told of the one after we had heard the other.
  for (KeySet* const hand : {&view.held, &view.tune}) {
    const KeySet shown = *hand;
    shown.forEach([&](NoteNumber key) {
      if (down[key.value] == 0) hand->remove(key);
    });
  }
  box.write(view);
  dirty = false;
  pictureDue = {start.value + static_cast<std::int64_t>(rate) / picturesASecond};
}

}  // namespace seguente
