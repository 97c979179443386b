// What the page is told of a block: notes with their reasons, chords and time, through the ring of the view.
#include <algorithm>

#include "plugin/session_body.h"

namespace seguente {

using page::Told;
using page::ToldKind;

namespace {
constexpr Ticks leap{quarter.value / 16};  // a position that strays by less goes on
}  // namespace

void Session::Body::tellTune(NoteNumber key, Ticks tick) noexcept {
  if (!pageTold.playing) return;  // with no time there is no place on a page
  tellTuneEnd(key, tick);
  tuneIds[key.value] = ++lastTuneId;
  box.told().push(Told::tuneNote(lastTuneId, key, tick));
}

void Session::Body::tellTuneEnd(NoteNumber key, Ticks tick) noexcept {
  if (tuneIds[key.value] == 0) return;
  box.told().push(Told::tuneEnd(tuneIds[key.value], tick));
  tuneIds[key.value] = 0;
}

void Session::Body::tellPage(const Output& o) noexcept {
  const NoteNumber key{static_cast<std::uint8_t>(o.bytes[1] & 0x7F)};
  if (o.kind == OutputKind::passed || o.noteId == 0) {  // the tune's own; a note-on with no id is sent late
    const auto kind = o.bytes[0] & 0xF0;
    if (kind == 0x90 && o.bytes[2] != 0 && o.kind == OutputKind::noteOn) tellTune(key, pageTime.tickAt(o.sample));
    if (kind == 0x80 || (kind == 0x90 && o.bytes[2] == 0)) tellTuneEnd(key, pageTime.tickAt(o.sample));
    return;
  }
  if (o.kind == OutputKind::noteOff) {
    // A note that was cut short still carries the end that its step had meant: then its sample knows better.
    const auto off = (pageTime.sampleOf(o.tick) - o.sample).value;
    box.told().push(Told::ourEnd(o.noteId, off >= -1 && off <= 1 ? o.tick : pageTime.tickAt(o.sample)));
  } else if (o.kind == OutputKind::noteOn) {
    const auto* plays = inMeter();
    const bool known = plays != nullptr && o.reason != nullptr && o.reason->part < plays->parts.size();
    box.told().push(Told::ourNote(o, known ? plays->parts[o.reason->part].kind : PartKind::chords));
  }
}

void Session::Body::tellPage(const Fact& f) noexcept {
  switch (f.kind) {
    case FactKind::hand:
      if (f.status == FactStatus::withdrawn && tuneIds[f.note.value] != 0) {
        box.told().push(Told::of(ToldKind::tuneTaken, f.tick, tuneIds[f.note.value]));
        tuneIds[f.note.value] = 0;
      } else if (f.revision == 0 && f.hand == Hand::melody) {
        tellTune(f.note, f.tick);
      }
      break;
    case FactKind::chord:
      if (f.readings != nullptr)
        box.told().push(Told::chordHeard(f.id, f.tick, f.readings->best(), f.key));
      else if (f.status == FactStatus::withdrawn)
        box.told().push(Told::of(ToldKind::withdrawn, f.tick, f.id));
      else
        box.told().push(Told::of(ToldKind::noChord, f.tick));
      break;
    case FactKind::key:
      box.told().push(Told::keyFound(f.key));
      break;
    case FactKind::beat:
      break;
  }
}

/// While hands give the time, a host's place means nothing.
void Session::Body::tellPage(const TimeAnchor& anchor, Samples at) noexcept {
  if (!settings.follow.on) tellPageTime(anchor, at);
}

/// Only what is not as the page foresees it.
void Session::Body::tellPageTime(const TimeAnchor& now, Samples at) noexcept {
  const Ticks foreseen = pageTold.playing ? pageTime.tickAt(at) : pageTime.tickOrigin;
  const auto off = (now.tick - foreseen).value;
  const bool jumped = off > leap.value || off < -leap.value;
  const bool same = pageTold.playing && !jumped && now.meter == pageTold.meter &&
                    now.quartersPerMinute == pageTold.quartersPerMinute &&
                    (now.barStart - pageTold.barStart).value % std::max<std::int64_t>(1, now.meter.bar().value) == 0;
  if (now.playing && !same)  // else the page stands where it is, or goes on
    box.told().push(Told::time(now.tick, now.meter, now.barStart, now.quartersPerMinute, jumped));
  pageTime = {Timeline::samplesPerTickAt(now.quartersPerMinute, rate), now.tick, at};
  pageTold = now;
}

void Session::Body::tellSwing(Samples at) noexcept {
  const auto* plays = inMeter();
  if (plays == nullptr) return;
  const auto swing = settings.swingPermille > 0 ? std::clamp(settings.swingPermille, plays->swingLow, plays->swingHigh)
                                                : plays->swingPermille;
  if (swing == toldSwing && plays->swingPair == toldSwingPair) return;
  toldSwing = swing;
  toldSwingPair = plays->swingPair;
  box.told().push(Told::swingFrom(pageTime.tickAt(at), swing, plays->swingPair));
}

}  // namespace seguente
