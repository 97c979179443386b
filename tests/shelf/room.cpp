#include "tests/shelf/room.h"

#include <algorithm>
#include <cmath>
#include <map>

#include "dsp/idiom_family.h"
#include "tests/support/contracts.h"

namespace seguente::test {

namespace {

struct Note {
  int key;
  Samples on, off;
  const Event* event;
};

bool hasTone(const Chord& chord, int key) {
  for (std::size_t i = 0; i < chord.count; ++i)
    if ((chord.root.value + chord.tones[i]) % 12 == key % 12) return true;
  return chord.bass.value == key % 12;
}

}  // namespace

/// A close position whose lowest key lies from F2 to E3: some inversion, as the seed has it.
std::string shapeOf(const Chord& chord, std::uint64_t turn) {
  std::vector<int> tones(chord.tones.begin(), chord.tones.begin() + std::min<int>(chord.count, 4));
  std::rotate(tones.begin(), tones.begin() + static_cast<std::ptrdiff_t>(turn % tones.size()), tones.end());
  int below = 40;
  std::string names;
  for (const int tone : tones) {
    const int wanted = (chord.root.value + tone) % 12;
    below = below + 1 + ((wanted - below - 1) % 12 + 12) % 12;
    names += (names.empty() ? "" : " ") + keyName({static_cast<std::uint8_t>(below)});
  }
  return names;
}

void Room::add(const Room& o) {
  over.add(o.over);
  doubled.add(o.doubled);
  under.add(o.under);
  clash.add(o.clash);
  root.add(o.root);
  third.add(o.third);
  if (contract.empty()) contract = o.contract;
  for (std::size_t i = 0; i < first.size(); ++i)
    if (first[i].empty()) first[i] = o.first[i];
}

std::vector<Tune> referenceTunes() {
  auto tunes = realTunes(Half::learn);
  for (auto& t : realTunes(Half::report)) tunes.push_back(std::move(t));
  std::sort(tunes.begin(), tunes.end(), [](const Tune& a, const Tune& b) { return a.name < b.name; });
  return tunes;
}

Room accompany(const std::string& id, Density density, const Tune& tune, std::uint64_t seed) {
  Room room;
  const Idiom* const member = inMeter(idiom(id), tune.meter);
  if (member == nullptr) {
    room.contract = "no relative";
    return room;
  }
  const Ticks barStart = tune.pickup > 0 ? quarters(tune.pickup) : Ticks{};
  Score score(48000, tune.meter, tune.quartersPerMinute, barStart);
  Settings settings;
  settings.density = density;
  settings.handRule = HandRule::byChannel;  // so that nothing here hangs on telling the hands apart
  settings.melodyChannels = 1;
  settings.chordChannels = 2;
  score.with(settings).with(idiom(id));
  const Ticks gap{quarter.value / 32};
  for (std::size_t i = 0; i < tune.chords.size(); ++i) {
    const auto& c = tune.chords[i];
    if (c.chord.none()) continue;
    score.chord(shapeOf(c.chord, seed + i), quarters(c.at), quarters(c.at + c.length) - gap, 70, 1);
  }
  std::vector<Note> melody;
  for (const auto& n : tune.melody) {
    const Ticks from = quarters(n.at), to = quarters(n.at + n.length) - gap;
    score.tune(keyName({static_cast<std::uint8_t>(n.key)}), from, to, 80, 0);
    melody.push_back({n.key, score.sampleOf(from), score.sampleOf(to), nullptr});
  }
  const auto inputs = score.inputs();
  const Rendering r = render(score, quarters(tune.length + 8));
  room.contract = brokenContract(r, inputs);
  const auto where = [&](Ticks tick) {
    return id + " (" + member->id + "), density " + std::to_string(static_cast<int>(density)) + ", " + tune.name +
           " seed " + std::to_string(seed) + ": " + place(tick, score.stretches().front());
  };
  if (!room.contract.empty()) room.contract = where({}) + ": " + room.contract;
  const auto judge = [&](Share& share, std::size_t fault, bool right, Ticks tick, const std::string& what) {
    share.add(right);
    if (!right && room.first[fault].empty()) room.first[fault] = where(tick) + " " + what;
  };

  std::map<std::uint32_t, std::pair<Chord, Ticks>> chords;
  for (const auto& f : r.facts)
    if (f.fact.kind == FactKind::chord && f.chord) chords[f.fact.id] = {*f.chord, f.fact.tick};

  std::vector<Note> ours;
  const auto events = strikes(r);
  for (const auto& e : events)
    if (member->parts[e.reason.part].kind != PartKind::percussion)
      ours.push_back({e.note().value, e.sample, endOf(r, e.noteId), &e});

  constexpr Samples legato{24};  // half a millisecond is rounding
  const Samples beat = score.sampleOf(barStart + quarter) - score.sampleOf(barStart);
  for (const Note& o : ours) {
    const bool bass = member->parts[o.event->reason.part].kind == PartKind::bass;
    bool over = false, doubled = false;
    std::string what;
    for (const Note& t : melody) {
      const bool together = t.on <= o.on && o.on + legato < t.off;
      if (together && o.key > t.key && o.key < t.key + 12) over = true;
      if (together && o.key == t.key) doubled = true;
      if (together && o.key >= t.key && o.key < t.key + 12)
        what = (bass ? "bass " : "") + keyName({static_cast<std::uint8_t>(o.key)}) + " against the tune's " +
               keyName({static_cast<std::uint8_t>(t.key)});
      const auto overlap = std::min(o.off, t.off) - std::max(o.on, t.on);
      if (overlap + legato < beat) continue;
      const bool semitone = t.key - o.key == 1 || t.key - o.key == 13 || o.key - t.key == 1;
      const auto named = chords.find(o.event->reason.chordId);
      const bool had = named != chords.end() && hasTone(named->second.first, o.key) &&
                       (t.key - o.key == 13 || hasTone(named->second.first, t.key));
      judge(room.clash, 3, !semitone || had, o.event->reason.dueTick,
            keyName({static_cast<std::uint8_t>(o.key)}) + " held against the tune's " +
                keyName({static_cast<std::uint8_t>(t.key)}));
    }
    judge(room.over, 0, !over, o.event->reason.dueTick, what);
    judge(room.doubled, 1, !doubled, o.event->reason.dueTick, what);
  }
  for (const Note& t : melody) {
    int lowest = 128;
    for (const Note& o : ours)
      if (o.on <= t.on && o.off > t.on + legato) lowest = std::min(lowest, o.key);
    bool clear = true;
    std::string what;
    for (const Note& o : ours)
      if (o.on < t.on && o.off > t.on + legato && o.key != lowest && o.key >= t.key && o.key < t.key + 12) {
        clear = false;
        what = keyName({static_cast<std::uint8_t>(o.key)}) + " sounds on when the tune comes to " +
               keyName({static_cast<std::uint8_t>(t.key)});
      }
    judge(room.under, 2, clear, score.tickAt(t.on), what);
  }

  const Ticks bar = std::max(tune.meter.bar(), member->anyMeter ? Ticks{} : member->meter.bar());
  const Chord* before = nullptr;
  for (auto it = chords.begin(); it != chords.end(); ++it) {
    const auto& [chord, from] = it->second;
    const bool repeated = before != nullptr && before->root == chord.root;
    before = &chord;
    if (repeated) continue;
    const Event* bass = nullptr;
    bool third = false, hasThird = false;
    for (const Note& o : ours) {
      if (o.event->reason.chordId != it->first) continue;
      if (bass == nullptr && member->parts[o.event->reason.part].kind == PartKind::bass) bass = o.event;
      const int up = ((o.key - chord.root.value) % 12 + 12) % 12;
      third = third || ((up == 3 || up == 4) && o.event->reason.dueTick < from + bar);
    }
    for (std::size_t i = 0; i < chord.count; ++i) hasThird = hasThird || chord.tones[i] == 3 || chord.tones[i] == 4;
    if (bass != nullptr)
      judge(room.root, 4, bass->note().value % 12 == chord.root.value || bass->note().value % 12 == chord.bass.value,
            bass->reason.dueTick, "bass " + keyName(bass->note()));
    const auto next = std::next(it);
    const bool whole = next != chords.end() && next->second.second >= from + bar;
    if (hasThird && whole && (from - barStart).value % bar.value == 0)
      judge(room.third, 5, third, from, "no third in its first bar");
  }
  return room;
}

}  // namespace seguente::test
