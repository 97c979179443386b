#include "plugin/page/told.h"

#include <type_traits>

namespace seguente::page {

static_assert(std::is_trivially_copyable_v<Told>);  // a ring carries it

Told Told::time(Ticks tick, Meter meter, Ticks barStart, double quartersPerMinute, bool jumped) {
  Told t = of(ToldKind::time, tick);
  t.meter = meter;
  t.barStart = barStart;
  t.quartersPerMinute = quartersPerMinute;
  t.jumped = jumped;
  return t;
}
Told Told::swingFrom(Ticks tick, std::int32_t permille, Ticks pair) {
  Told t = of(ToldKind::swing, tick);
  t.swing = permille;
  t.swingPair = pair;
  return t;
}
Told Told::ourNote(const Output& noteOn, PartKind part) {
  Told t = of(ToldKind::ourNote, noteOn.tick, noteOn.noteId);
  t.key = {noteOn.bytes[1]};
  t.part = part;
  if (noteOn.reason != nullptr) t.reason = *noteOn.reason;
  return t;
}
Told Told::ourEnd(std::uint32_t noteId, Ticks tick) { return of(ToldKind::ourEnd, tick, noteId); }
Told Told::tuneNote(std::uint32_t id, NoteNumber key, Ticks tick) {
  Told t = of(ToldKind::tuneNote, tick, id);
  t.key = key;
  return t;
}
Told Told::tuneEnd(std::uint32_t id, Ticks tick) { return of(ToldKind::tuneEnd, tick, id); }
Told Told::chordHeard(std::uint32_t id, Ticks tick, const Chord& chord, const Key& key) {
  Told t = of(ToldKind::chord, tick, id);
  t.chord = chord;
  t.chordKey = key;
  return t;
}
Told Told::of(ToldKind kind, Ticks tick, std::uint32_t id) {
  Told t;
  t.kind = kind;
  t.tick = tick;
  t.id = id;
  return t;
}
Told Told::keyFound(const Key& key) {
  Told t;
  t.kind = ToldKind::key;
  t.chordKey = key;
  return t;
}

}  // namespace seguente::page
