#include "plugin/commandline/told_page.h"

#include <algorithm>
#include <array>

namespace seguente {

namespace {

using page::Told;
using page::ToldKind;

constexpr Ticks farthest{std::int64_t{1} << 50};

/// How long each input's note sounds; 0 for what is no note-on, the file's rest for a key that is left down.
std::vector<Ticks> endsOf(const Performance& p) {
  std::vector<Ticks> ends(p.inputs.size());
  std::array<std::int64_t, 16 * limits::keys> since{};
  since.fill(-1);
  const auto tickOf = [&](std::size_t i) {
    const EventPlace place = p.places[i];
    return p.time.engineTick(p.file.tracks[static_cast<std::size_t>(place.track)].events[place.event].tick);
  };
  for (std::size_t i = 0; i < p.inputs.size(); ++i) {
    const MidiMessage& m = p.inputs[i].midi;
    if (p.places[i].track < 0 || (m.bytes[0] & 0xE0) != 0x80) continue;
    std::int64_t& from = since[(m.bytes[0] & 0x0Fu) * limits::keys + (m.bytes[1] & 0x7Fu)];
    if (from >= 0) ends[static_cast<std::size_t>(from)] = tickOf(i);
    from = m.noteOff() ? -1 : static_cast<std::int64_t>(i);
  }
  const Ticks end = p.time.engineTick(p.lastTick);
  for (const std::int64_t from : since)
    if (from >= 0) ends[static_cast<std::size_t>(from)] = end;
  return ends;
}

/// The idiom that plays at a file tick; null: as held.
const Idiom* idiomAt(const Performance& p, std::int64_t fileTick) {
  const Idiom* idiom = nullptr;
  for (const Playing& playing : p.playing)
    if (playing.fileTick <= fileTick) idiom = playing.idiom;
  return idiom;
}

std::int32_t swingOf(const Performance& p, const Idiom& idiom) {
  for (const Input& input : p.inputs)
    if (input.kind == InputKind::settings && input.settings.swingPermille > 0)
      return std::clamp(input.settings.swingPermille, idiom.swingLow, idiom.swingHigh);
  return idiom.swingPermille;
}

void tellTime(const Performance& p, std::vector<Told>& all) {
  for (const TimePoint& point : p.time.points())
    all.push_back(
        Told::time(point.anchor.tick, point.anchor.meter, point.anchor.barStart, point.anchor.quartersPerMinute));
  for (const Playing& playing : p.playing)
    if (playing.idiom != nullptr)
      all.push_back(
          Told::swingFrom(p.time.engineTick(playing.fileTick), swingOf(p, *playing.idiom), playing.idiom->swingPair));
}

void tellOurs(const Performance& p, const Rendering& r, std::vector<Told>& all) {
  for (const OurEvent& e : r.ours) {
    if (e.noteId == 0) continue;  // the tune's own: withdrawn, closed or sent late
    // A note that was cut short still carries the end that its step had meant: then its sample knows better.
    const bool placed = e.tick <= farthest && e.tick >= Ticks{};
    const auto off = placed ? (p.time.sampleOf(e.tick) - e.sample).value : 2;
    const Ticks tick = off >= -1 && off <= 1 ? e.tick : p.time.engineTick(e.fileTick);
    if (e.kind == OutputKind::noteOff) all.push_back(Told::ourEnd(e.noteId, tick));
    if (e.kind != OutputKind::noteOn) continue;
    Output output;
    output.bytes = e.bytes;
    output.noteId = e.noteId;
    output.tick = tick;
    output.reason = &e.reason;
    const Idiom* idiom = idiomAt(p, e.fileTick);
    const bool known = idiom != nullptr && e.reason.part < idiom->parts.size();
    all.push_back(Told::ourNote(output, known ? idiom->parts[e.reason.part].kind : PartKind::chords));
  }
}

}  // namespace

Key keyOf(const Rendering& r) {
  for (auto row = r.chords.rbegin(); row != r.chords.rend(); ++row)
    if (row->key.known) return row->key;
  return r.key;
}

std::vector<Told> toldOf(const Performance& p, const Rendering& r) {
  std::vector<Told> all;
  tellTime(p, all);
  tellOurs(p, r, all);
  const auto ends = endsOf(p);
  for (const HandRow& row : r.hands) {
    if (row.hand != Hand::melody) continue;
    all.push_back(Told::tuneNote(row.inputIndex, row.note, p.time.engineTick(row.fileTick)));
    all.push_back(Told::tuneEnd(row.inputIndex, ends[row.inputIndex]));
  }
  for (const HeardRow& row : r.chords) {
    all.push_back(Told::chordHeard(row.id, row.from, row.chord, row.key));
    if (row.letGo) all.push_back(Told::of(ToldKind::noChord, row.to));
  }
  // At one place: ends, then time and chords, then what begins.
  const auto rank = [](const Told& t) {
    const bool ending = t.kind == ToldKind::ourEnd || t.kind == ToldKind::tuneEnd || t.kind == ToldKind::noChord;
    const bool begins = t.kind == ToldKind::ourNote || t.kind == ToldKind::tuneNote;
    return t.kind == ToldKind::time ? -1 : ending ? 0 : begins ? 2 : 1;
  };
  std::stable_sort(all.begin(), all.end(), [&](const Told& a, const Told& b) {
    return a.tick != b.tick ? a.tick < b.tick : rank(a) < rank(b);
  });
  return all;
}

}  // namespace seguente
