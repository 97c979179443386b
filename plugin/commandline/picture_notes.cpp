#include "plugin/commandline/picture_notes.h"

#include <algorithm>
#include <array>
#include <cmath>

#include "dsp/harmony.h"

namespace seguente {

namespace {

constexpr std::array<NoteValue, 11> values{{{0.25, 2},
                                            {1.0 / 3, 1},
                                            {0.5, 1},
                                            {2.0 / 3, 1},
                                            {0.75, 1, false, true, true},
                                            {1, 0},
                                            {1.5, 0, false, true, true},
                                            {2, 0, true},
                                            {3, 0, true, true, true},
                                            {4, 0, true, false},
                                            {6, 0, true, false, true}}};

/// How long each input's note sounds; 0 for what is no note-on, the file's rest for a key that is left down.
std::vector<Ticks> soundingOf(const Performance& p) {
  std::vector<Ticks> lengths(p.inputs.size());
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
    if (from >= 0) lengths[static_cast<std::size_t>(from)] = tickOf(i) - tickOf(static_cast<std::size_t>(from));
    from = m.noteOff() ? -1 : static_cast<std::int64_t>(i);
  }
  const Ticks end = p.time.engineTick(p.lastTick);
  for (const std::int64_t from : since)
    if (from >= 0) lengths[static_cast<std::size_t>(from)] = end - tickOf(static_cast<std::size_t>(from));
  return lengths;
}

std::vector<Drawn> oursOf(const Rendering& r) {
  std::vector<Drawn> notes;
  std::vector<std::size_t> noteOfId;
  for (const OurEvent& e : r.ours) {
    if (e.noteId == 0) continue;  // the tune's own
    if (e.kind == OutputKind::noteOn) {
      if (e.noteId >= noteOfId.size()) noteOfId.resize(e.noteId + std::size_t{64}, SIZE_MAX);
      noteOfId[e.noteId] = notes.size();
      notes.push_back({e.reason.dueTick, {e.bytes[1]}, {}});
    } else if (e.kind == OutputKind::noteOff && e.noteId < noteOfId.size() && noteOfId[e.noteId] < notes.size()) {
      Drawn& note = notes[noteOfId[e.noteId]];
      note.sounds = e.tick - note.at;
    }
  }
  return notes;
}

}  // namespace

NoteValue valueOf(double quarters) {
  return *std::min_element(values.begin(), values.end(), [&](const NoteValue& a, const NoteValue& b) {
    return std::abs(a.quarters - quarters) < std::abs(b.quarters - quarters);
  });
}

Ticks printed(Ticks t) {
  const auto nearest = [&](std::int64_t grid) { return (t.value + grid / 2) / grid * grid; };
  const std::int64_t straight = nearest(quarter.value / 4);
  const std::int64_t triplet = nearest(quarter.value / 3);
  return {std::abs(triplet - t.value) * 2 < std::abs(straight - t.value) ? triplet : straight};
}

Voices voicesOf(const Performance& p, const Rendering& r) {
  Voices v;
  const auto sounding = soundingOf(p);
  for (const HandRow& row : r.hands) {
    const Ticks at = printed(p.time.engineTick(row.fileTick));
    (row.hand == Hand::melody ? v.tune : v.held).push_back({at, row.note, sounding[row.inputIndex]});
  }
  v.ours = oursOf(r);
  for (auto* voice : {&v.tune, &v.held, &v.ours})
    std::stable_sort(voice->begin(), voice->end(),
                     [](const Drawn& a, const Drawn& b) { return a.at != b.at ? a.at < b.at : a.note < b.note; });
  return v;
}

StaffPlace placeOf(NoteNumber note, const Key& key, const Chord* chord) {
  if (chord != nullptr && chord->type.known())
    for (std::size_t i = 0; i < chord->count; ++i)
      if (const SpelledPitch tone = spellTone(*chord, i); tone.pitchClass().value == note.value % 12)
        return placeAs(note, tone, key);
  return placeOf(note, key);
}

void BarSigns::mark(StaffPlace& place) {
  const auto same = std::find_if(seen_.begin(), seen_.end(), [&](const StaffPlace& s) { return s.step == place.step; });
  const bool here = same != seen_.end();
  place.accidental = place.alteration != (here ? same->alteration : signatureAlteration(key_, place.step));
  if (here)
    *same = place;
  else
    seen_.push_back(place);
}

}  // namespace seguente
