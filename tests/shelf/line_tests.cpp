// The counter-line of full density. The rule of parallels as harmony handbooks have it (W. Piston, Harmony, ch. 3, from
// memory): no two fifths, no two octaves in a row between the same two voices that both move; here the line with the
// bass and with the tune. By step, in long notes, under the tune: common practice, no source.
#include <cstdio>
#include <cstdlib>
#include <map>

#include "dsp/idiom_family.h"
#include "tests/catch.h"
#include "tests/shelf/room.h"
#include "tests/support/contracts.h"

using namespace seguente;
using namespace seguente::test;

namespace {

bool hasLine(const Idiom& ours) {
  return std::any_of(ours.parts.begin(), ours.parts.end(),
                     [](const Part& p) { return p.kind == PartKind::counterLine; });
}

struct Line {
  Share parallels;  // moves of the line: no fifths or octaves in a row with bass or tune
  Share under;      // its notes: under the tune
  Share tones;      // of the chord
  Share steps;      // from chord to chord, where the tune leaves room: a second at most
  int notes = 0;
  std::string first;
  void add(const Line& o) {
    parallels.add(o.parallels);
    under.add(o.under);
    tones.add(o.tones);
    steps.add(o.steps);
    notes += o.notes;
    if (first.empty()) first = o.first;
  }
};

/// What sounds lowest of a voice at a place, and just before; 0: nothing has been struck yet, or it rests.
struct Voice {
  std::map<std::int64_t, std::pair<int, std::int64_t>> notes;  // from tick: key, until tick
  void add(std::int64_t from, int key, std::int64_t to) {
    const auto [at, fresh] = notes.try_emplace(from, key, to);
    if (!fresh && key < at->second.first) at->second = {key, to};
  }
  int before(std::int64_t tick, bool ringing) const {
    const auto after = notes.lower_bound(tick);
    if (after == notes.begin()) return 0;
    const auto& [key, to] = std::prev(after)->second;
    return ringing || to >= tick - quarter.value / 16 ? key : 0;
  }
};

bool parallel(int lineFrom, int lineTo, int from, int to) {
  if (from == 0 || to == 0 || from == to || lineFrom == lineTo) return false;
  const int a = std::abs(lineFrom - from) % 12, b = std::abs(lineTo - to) % 12;
  return a == b && (a == 0 || a == 7);
}

Line follow(const std::string& id, Density density, const Tune& tune, std::uint64_t seed) {
  Line line;
  const Idiom* const member = inMeter(idiom(id), tune.meter);
  if (member == nullptr || !hasLine(*member)) return line;
  Settings settings;
  settings.density = density;
  settings.handRule = HandRule::byChannel;
  settings.melodyChannels = 1;
  settings.chordChannels = 2;
  const Ticks gap{quarter.value / 32};
  Score score(48000, tune.meter, tune.quartersPerMinute, tune.pickup > 0 ? quarters(tune.pickup) : Ticks{});
  score.with(settings).with(idiom(id));
  for (std::size_t i = 0; i < tune.chords.size(); ++i) {
    const auto& c = tune.chords[i];
    if (!c.chord.none())
      score.chord(shapeOf(c.chord, seed + i), quarters(c.at), quarters(c.at + c.length) - gap, 70, 1);
  }
  Voice melody, bass;
  for (const auto& n : tune.melody) {
    score.tune(keyName({static_cast<std::uint8_t>(n.key)}), quarters(n.at), quarters(n.at + n.length) - gap, 80, 0);
    melody.add(quarters(n.at).value, n.key, quarters(n.at + n.length).value);
  }
  const Rendering r = render(score, quarters(tune.length + 4));
  std::map<std::uint32_t, Chord> chords;
  for (const auto& f : r.facts)
    if (f.fact.kind == FactKind::chord && f.chord) chords[f.fact.id] = *f.chord;
  const auto events = strikes(r);
  const auto takenBack = [&](const Event& e) { return endOf(r, e.noteId) - e.sample < score.milliseconds(60); };
  for (const auto& e : events)
    if (member->parts[e.reason.part].kind == PartKind::bass && !takenBack(e)) bass.add(e.tick.value, e.note().value, 0);
  const Event* last = nullptr;
  for (const auto& e : events) {
    if (member->parts[e.reason.part].kind != PartKind::counterLine || takenBack(e)) continue;
    ++line.notes;
    const std::int64_t at = e.tick.value;
    const int key = e.note().value, tuneNow = melody.before(at + 1, false);
    line.under.add(tuneNow == 0 || key < tuneNow);
    const auto chord = chords.find(e.reason.chordId);
    line.tones.add(chord != chords.end() && tonesOf(chord->second).has(PitchClass::of(key)));
    if (last != nullptr && last->note().value != key) {
      const int from = last->note().value;
      // What the line's last stroke was struck with; the bass after a slip was put right.
      const std::int64_t then = last->tick.value + 1, settled = last->tick.value + quarter.value / 3;
      const bool fault = parallel(from, key, bass.before(at, true), bass.before(at + 1, true)) ||
                         parallel(from, key, bass.before(settled, true), bass.before(at + 1, true)) ||
                         parallel(from, key, melody.before(at, false), tuneNow) ||
                         parallel(from, key, melody.before(then, false), tuneNow);
      if (member->parts[e.reason.part].noParallels) line.parallels.add(!fault);
      if (fault && line.first.empty())
        line.first = id + ", " + tune.name + ": " + place(e.tick, score.stretches().front()) + " " +
                     keyName(last->note()) + " to " + keyName(e.note());
      if (last->reason.chordId != e.reason.chordId && tuneNow > from + 4) line.steps.add(std::abs(key - from) <= 2);
    } else if (last != nullptr && last->reason.chordId != e.reason.chordId) {
      line.steps.add(true);  // a tone that both chords have
    }
    last = &e;
  }
  return line;
}

}  // namespace

TEST_CASE("A counter-line makes no fifths or octaves in a row with bass or tune, whatever is played", "[shelf][line]") {
  Line all;
  auto tunes = referenceTunes();
  Random random(20);
  for (int i = 0; i < 24; ++i) tunes.push_back(inventedTune(random));
  std::size_t lines = 0;
  for (const auto& id : idiomIds()) {
    if (!hasLine(idiom(id))) continue;
    ++lines;
    for (std::size_t t = 0; t < tunes.size(); ++t) all.add(follow(id, Density::full, tunes[t], lines + t));
  }
  std::printf("counter-line: %d notes, parallels %.3f of %d, under %.3f, tones %.3f, steps %.2f of %d\n", all.notes,
              all.parallels.percent(), all.parallels.all, all.under.percent(), all.tones.percent(), all.steps.percent(),
              all.steps.all);
  INFO(all.first);
  CHECK(lines >= 8);
  CHECK(all.parallels.whole());
  CHECK(all.under.whole());
  CHECK(all.tones.whole());
  CHECK(all.steps.percent() >= 80);  // the rest: where a step would be a parallel, or its key is taken
  CHECK(all.parallels.all > 400);
}

TEST_CASE("There is no counter-line in lean and medium", "[shelf][line]") {
  const auto tunes = referenceTunes();
  for (const auto& id : idiomIds())
    if (hasLine(idiom(id)))
      for (const auto density : {Density::lean, Density::medium})
        for (std::size_t t = 0; t < tunes.size(); t += 5) CHECK(follow(id, density, tunes[t], t).notes == 0);
}

TEST_CASE("A counter-line is silent where its kind is switched off", "[shelf][line]") {
  const Idiom& ours = idiom("minuet");
  Settings settings;
  settings.density = Density::full;
  settings.kindsOff = 1u << static_cast<unsigned>(PartKind::counterLine);
  Score score(48000, ours.meter, 110);
  score.with(settings).with(ours).chord("C3 E3 G3", {}, quarters(12)).tune("G5", {}, quarters(12));
  for (const auto& e : strikes(render(score, quarters(12))))
    CHECK(ours.parts[e.reason.part].kind != PartKind::counterLine);
}
