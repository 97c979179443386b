#include "plugin/rehearsal.h"

#include <algorithm>

#include "dsp/engine.h"
#include "dsp/idiom_family.h"

namespace seguente {

using page::Told;

namespace {

constexpr double rate = 48000;
constexpr double tempo = 120;
constexpr NoteNumber farAbove{127};  // a tune that leaves the accompaniment all its room

Input note(Samples at, NoteNumber key, bool on) {
  return Input::of(at, MidiMessage{{static_cast<std::uint8_t>(on ? 0x90 : 0x80), key.value, 80}, 3});
}

struct Listener {
  const Idiom& plays;
  Ticks from;
  std::vector<Told> told;

  void take(const Output& o) {
    if (o.noteId == 0 || (o.kind != OutputKind::noteOn && o.kind != OutputKind::noteOff)) return;
    if (o.kind == OutputKind::noteOff) return told.push_back(Told::ourEnd(o.noteId, o.tick - from));
    const bool known = o.reason->part < plays.parts.size();
    auto t = Told::ourNote(o, known ? plays.parts[o.reason->part].kind : PartKind::chords);
    t.tick = t.tick - from;
    t.reason.dueTick = t.reason.dueTick - from;
    if (t.reason.dueTick >= Ticks{}) told.push_back(t);
  }
  void take(const Fact& f) {
    if (f.kind == FactKind::chord && f.readings != nullptr && f.tick >= from)
      told.push_back(Told::chordHeard(f.id, f.tick - from, f.readings->best(), f.key));
  }
};

}  // namespace

Rehearsal rehearse(const RehearsalTask& task) {
  Rehearsal made;
  if (task.idiom == nullptr || task.chords.empty() || !task.meter.valid()) return made;
  const Idiom* plays = inMeter(*task.idiom, task.meter);
  if (plays == nullptr) return made;
  const Ticks bar = task.meter.bar();
  const Timeline map{Timeline::samplesPerTickAt(tempo, rate), {}, {}};

  Settings settings = task.settings;
  settings.handRule = HandRule::byKey;
  settings.split = farAbove;
  settings.chordChannels = settings.melodyChannels = 0xFFFF;
  settings.waitForChord = false;
  settings.follow = {};
  settings.key = task.key;
  std::vector<Input> inputs{Input::of({}, settings), Input::of({}, IdiomRef{task.idiom, 1}),
                            Input::of({}, TimeAnchor{{}, tempo, task.meter, {}, true}), note({}, farAbove, true)};
  for (std::size_t c = 0; c < task.chords.size(); ++c) {
    const Samples at = map.sampleOf(bar * static_cast<std::int64_t>(c));
    if (c > 0)
      task.chords[c - 1].forEach([&](NoteNumber key) {
        if (!task.chords[c].has(key)) inputs.push_back(note(at, key, false));
      });
    task.chords[c].forEach([&](NoteNumber key) {
      if (c == 0 || !task.chords[c - 1].has(key)) inputs.push_back(note(at, key, true));
    });
  }
  const Ticks from = bar * static_cast<std::int64_t>(task.chords.size() - 1);
  made.length = bar * task.bars;
  Listener listener{*plays, from, {}};
  Engine engine;
  engine.prepare(rate);
  engine.process(inputs, map.sampleOf(from + made.length),
                 {&listener, [](void* me, const Output& o) { static_cast<Listener*>(me)->take(o); },
                  [](void* me, const Fact& f) { static_cast<Listener*>(me)->take(f); }});
  made.told = std::move(listener.told);
  made.told.insert(made.told.begin(), Told::time({}, task.meter, {}, tempo));
  const auto swing = task.settings.swingPermille > 0
                         ? std::clamp(task.settings.swingPermille, plays->swingLow, plays->swingHigh)
                         : plays->swingPermille;
  made.told.insert(made.told.begin() + 1, Told::swingFrom({}, swing, plays->swingPair));
  return made;
}

std::vector<page::Foreseen> after(const Rehearsal& rehearsal, const NoteReason& last, Ticks until) {
  std::vector<page::Foreseen> all;
  const auto same = std::find_if(rehearsal.told.begin(), rehearsal.told.end(), [&](const Told& t) {
    return t.kind == page::ToldKind::ourNote && t.reason.figure == last.figure && t.reason.row == last.row;
  });
  if (same == rehearsal.told.end()) return all;
  const Ticks move = last.dueTick - same->reason.dueTick;
  for (const Told& t : rehearsal.told) {
    if (t.kind != page::ToldKind::ourNote || t.reason.dueTick <= same->reason.dueTick) continue;
    page::Foreseen note{t.key, t.part, t.reason, {}};
    note.reason.dueTick = t.reason.dueTick + move;
    if (note.reason.dueTick >= until) break;
    note.to = rehearsal.length + move;
    for (const Told& end : rehearsal.told)
      if (end.kind == page::ToldKind::ourEnd && end.id == t.id) note.to = end.tick + move;
    all.push_back(note);
  }
  return all;
}

}  // namespace seguente
