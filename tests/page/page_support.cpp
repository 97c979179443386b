#include "tests/page/page_support.h"

#include <algorithm>
#include <map>

#include "plugin/page/beats.h"
#include "tests/support/music.h"

namespace seguente::test {

namespace {

using page::Told;
using page::ToldKind;

struct Stamped {
  Samples sample{};
  int rank = 0;
  Told told;
};

std::string text(Ticks t) { return quartersText(t); }

bool playingAt(const Score& score, Samples sample) { return stretchAt(score, sample).playing; }

}  // namespace

std::vector<Told> toldOf(const Rendering& r, const Score& score, const Idiom& idiom) {
  std::vector<Stamped> all;
  const auto inputs = score.inputs();
  const auto& stretches = score.stretches();
  for (std::size_t i = 0; i < stretches.size(); ++i) {
    const Stretch& s = stretches[i];
    if (!s.playing) continue;
    bool jumped = false;
    if (i > 0) {
      const Stretch& b = stretches[i - 1];
      const double samplesAQuarter = score.rate() * 60 / b.quartersPerMinute;
      const double ran = b.playing ? static_cast<double>((s.sample - b.sample).value) / samplesAQuarter : 0;
      const double went = static_cast<double>((s.tick - b.tick).value) / static_cast<double>(quarter.value);
      jumped = std::abs(ran - went) > 0.01;
    }
    all.push_back({s.sample, -1, Told::time(s.tick, s.meter, s.barStart, s.quartersPerMinute, jumped)});
  }
  all.push_back({{}, 0, Told::swingFrom({}, idiom.swingPermille, idiom.swingPair)});
  std::map<int, std::uint32_t> open;  // the key that is down on a channel: which note
  for (const Event& e : r.events) {
    if (!playingAt(score, e.sample)) continue;
    if (e.kind == OutputKind::noteOn) {
      Output o;
      o.bytes = e.bytes;
      o.noteId = e.noteId;
      o.tick = e.tick;
      o.reason = &e.reason;
      const bool known = e.reason.part < idiom.parts.size();
      all.push_back({e.sample, 2, Told::ourNote(o, known ? idiom.parts[e.reason.part].kind : PartKind::chords)});
    } else if (e.kind == OutputKind::noteOff) {
      const auto off = (score.sampleOf(e.tick) - e.sample).value;
      const bool exact = off >= -2 && off <= 2;
      all.push_back({e.sample, 0, Told::ourEnd(e.noteId, exact ? e.tick : score.tickAt(e.sample))});
    } else if (e.kind == OutputKind::passed) {
      const Input& in = inputs[e.inputIndex];
      if (in.kind != InputKind::midi) continue;
      const Ticks tick = score.tickAt(e.sample);
      auto& down = open[in.midi.channel() * 128 + in.midi.bytes[1]];
      if (in.midi.noteOff() || (in.midi.noteOn() && down != 0)) all.push_back({e.sample, 0, Told::tuneEnd(down, tick)});
      down = 0;
      if (!in.midi.noteOn()) continue;
      down = e.inputIndex + 1;
      all.push_back({e.sample, 2, Told::tuneNote(down, {in.midi.bytes[1]}, tick)});
    }
  }
  for (const HeardFact& f : r.facts) {
    if (!playingAt(score, f.fact.sample)) continue;
    if (f.fact.kind == FactKind::key) all.push_back({f.fact.sample, 1, Told::keyFound(f.fact.key)});
    if (f.fact.kind != FactKind::chord) continue;
    if (f.fact.status == FactStatus::withdrawn)
      all.push_back({f.fact.sample, 1, Told::of(ToldKind::withdrawn, f.fact.tick, f.fact.id)});
    else if (f.chord)
      all.push_back({f.fact.sample, 1, Told::chordHeard(f.fact.id, f.fact.tick, *f.chord, f.fact.key)});
    else
      all.push_back({f.fact.sample, 1, Told::of(ToldKind::noChord, f.fact.tick)});
  }
  std::stable_sort(all.begin(), all.end(), [](const Stamped& a, const Stamped& b) {
    return a.sample != b.sample ? a.sample < b.sample : a.rank < b.rank;
  });
  std::vector<Told> told;
  for (const Stamped& s : all) told.push_back(s.told);
  return told;
}

std::vector<page::Bar> barsOf(page::Writer& writer) {
  std::vector<page::Bar> bars;
  for (auto o = writer.first(); o < writer.end(); ++o) bars.push_back(*writer.bar(o));
  return bars;
}

namespace {

std::string faultOfVoice(const page::Bar& bar, const page::Voice& voice) {
  Ticks at{};
  std::map<int, Ticks> tuplets;
  const auto& events = voice.events;
  for (std::size_t i = 0; i < events.size(); ++i) {
    const page::Event& e = events[i];
    const std::string where = " at quarter " + text(e.at);
    if (e.at != at) return "a gap or an overlap" + where;
    at = e.at + e.length;
    if (e.length <= Ticks{}) return "no length" + where;
    if (!e.wholeBar) {
      const Ticks value = e.value.length();
      const Ticks sounds{e.tuplet >= 0 ? value.value * 2 / 3 : value.value};
      if (sounds != e.length) return "a value that is not its length" + where;
    }
    if (e.tuplet >= 0) tuplets[e.tuplet] = tuplets[e.tuplet] + e.length;
    if (e.beam >= 0 && (e.rest() || e.value.flags() == 0)) return "a beam over what has no flag" + where;
    for (std::size_t n = 0; n < e.notes.size(); ++n) {
      const page::Note& note = e.notes[n];
      constexpr int natural[] = {0, 2, 4, 5, 7, 9, 11};
      const auto octave = floorDivide(note.step, 7);
      const auto key = 60 + 12 * octave + natural[note.step - 7 * octave] + note.alteration;
      if (note.source != page::Source::percussion && key != note.key.value) return "a name that is not its key" + where;
      if (n > 0 && note.key == e.notes[n - 1].key) return "one key twice in a chord" + where;
      const bool last = i + 1 == events.size();
      if (note.tiedOut && !last) {
        const auto& to = events[i + 1].notes;
        const bool there =
            std::any_of(to.begin(), to.end(), [&](const page::Note& o) { return o.key == note.key && o.tiedIn; });
        if (!there) return "a tie to nothing" + where;
      }
      if (note.tiedIn && i > 0) {
        const auto& from = events[i - 1].notes;
        const bool there =
            std::any_of(from.begin(), from.end(), [&](const page::Note& o) { return o.key == note.key && o.tiedOut; });
        if (!there) return "a tie from nothing" + where;
      }
    }
  }
  if (at != bar.length) return "lengths add up to " + text(at) + ", the bar has " + text(bar.length);
  for (const auto& [number, length] : tuplets)
    if (length != quarter) return "a triplet of " + text(length) + " quarters";
  return "";
}

}  // namespace

std::string faultOf(const page::Bar& bar) {
  for (const page::Staff& staff : bar.staves)
    for (const page::Voice& voice : staff.voices)
      if (const auto fault = faultOfVoice(bar, voice); !fault.empty())
        return "bar " + std::to_string(bar.number) + ": " + fault;
  return "";
}

std::string faultBetween(const page::Bar& bar, const page::Bar& next) {
  if (bar.broken || next.ordinal != bar.ordinal + 1) return "";
  for (std::size_t s = 0; s < page::staffKinds; ++s) {
    std::vector<int> out, in;
    for (const page::Voice& voice : bar.staves[s].voices)
      for (const page::Note& note : voice.events.back().notes)
        if (note.tiedOut) out.push_back(note.key.value);
    for (const page::Voice& voice : next.staves[s].voices)
      for (const page::Note& note : voice.events.front().notes)
        if (note.tiedIn) in.push_back(note.key.value);
    std::sort(out.begin(), out.end());
    std::sort(in.begin(), in.end());
    if (out != in)
      return "bar " + std::to_string(bar.number) + ": " + std::to_string(out.size()) + " ties leave, " +
             std::to_string(in.size()) + " arrive";
  }
  return "";
}

std::vector<ReadNote> readBack(const std::vector<page::Bar>& bars) {
  std::vector<ReadNote> notes;
  std::map<std::pair<std::size_t, int>, std::size_t> open;  // staff and key: a note that is tied on
  for (const page::Bar& bar : bars)
    for (std::size_t s = 0; s < page::staffKinds; ++s)
      for (const page::Voice& voice : bar.staves[s].voices)
        for (const page::Event& e : voice.events) {
          for (const page::Note& g : e.graces)
            notes.push_back({g.noteId, g.source, g.key, g.step, g.alteration, bar.start + e.at, {}, g.reason, true});
          for (const page::Note& n : e.notes) {
            const auto key = std::pair(s, static_cast<int>(n.key.value));
            if (n.tiedIn && open.count(key) > 0) {
              notes[open[key]].length = notes[open[key]].length + e.length;
            } else {
              open[key] = notes.size();
              notes.push_back(
                  {n.noteId, n.source, n.key, n.step, n.alteration, bar.start + e.at, e.length, n.reason, false});
            }
          }
        }
  std::stable_sort(notes.begin(), notes.end(), [](const ReadNote& a, const ReadNote& b) { return a.at < b.at; });
  return notes;
}

}  // namespace seguente::test
