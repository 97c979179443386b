#include "dsp/notate/notate.h"

#include <algorithm>
#include <cmath>

#include "dsp/harmony.h"
#include "dsp/idiom_steps.h"
#include "dsp/notate/degrees_of.h"
#include "dsp/notate/fold.h"
#include "dsp/notate/grid.h"
#include "dsp/notate/pace.h"

namespace seguente::notate {

namespace {

constexpr double heldShare = 0.85;    // of the take: a key that is down so long is the chord's, not the figure's
constexpr double heldAtStart = 0.3;   // seconds after the first key that the chord's last finger may land
constexpr double crushAtMost = 0.09;  // seconds from a crushed note to its goal
constexpr double crushAtLeast = 0.012;
constexpr double clickFits = 0.6;  // share of agreement between bars from which a doubtful click is believed
constexpr double clickCost = 3;    // nats a note, likewise

/// Keys that are down through the whole take, taken out of it.
KeySet takeHeld(std::vector<TakenNote>& notes) {
  KeySet held;
  double first = 1e18, last = 0;
  for (const auto& n : notes) first = std::min(first, n.on), last = std::max(last, n.off);
  const auto isHeld = [&](const TakenNote& n) {
    return n.on - first < heldAtStart && n.off - n.on > heldShare * (last - first);
  };
  // A take of one long chord alone is no figure over a held chord.
  const auto count = std::count_if(notes.begin(), notes.end(), isHeld);
  if (count == static_cast<std::ptrdiff_t>(notes.size())) return held;
  for (const auto& n : notes)
    if (isHeld(n)) held.add({static_cast<std::uint8_t>(n.key)});
  std::erase_if(notes, isHeld);
  return held;
}

/// A quick note that leaves as its neighbour comes is crushed into it, and the place is the quick note's.
void takeCrushed(std::vector<TakenNote>& notes) {
  std::vector<TakenNote> out;
  std::vector<char> gone(notes.size(), 0);
  for (std::size_t i = 0; i < notes.size(); ++i)
    for (std::size_t k = i + 1; k < notes.size() && notes[k].on - notes[i].on < crushAtMost && gone[i] == 0; ++k) {
      const double way = notes[k].on - notes[i].on;
      const int step = std::abs(notes[k].key - notes[i].key);
      const bool leaves = notes[i].off < notes[k].on + 0.04 && notes[i].off - notes[i].on < 0.12;
      const bool stays = notes[k].off - notes[k].on > 1.5 * (notes[i].off - notes[i].on);
      if (way < crushAtLeast || step < 1 || step > 2 || !leaves || !stays) continue;
      notes[k].crushedFrom = notes[i].key;
      notes[k].on = notes[i].on;
      gone[i] = 1;
    }
  for (std::size_t i = 0; i < notes.size(); ++i)
    if (gone[i] == 0) out.push_back(notes[i]);
  notes = std::move(out);
}

double secondsOf(Ticks t, double quarterSeconds) {
  return static_cast<double>(t.value) / static_cast<double>(quarter.value) * quarterSeconds;
}

std::vector<PlacedNote> placedNotes(const std::vector<Struck>& notes, const Gridded& g, Ticks length) {
  std::vector<PlacedNote> out;
  for (std::size_t i = 0; i < notes.size(); ++i) {
    const PlacedNote n{notes[i].key, g.at[i], std::min(g.end[i], g.at[i] + length), notes[i].velocity,
                       notes[i].crushedFrom};
    const bool twice =
        std::any_of(out.begin(), out.end(), [&](const PlacedNote& o) { return o.key == n.key && o.at == n.at; });
    if (!twice) out.push_back(n);
  }
  return out;
}

/// Two bars of which the second answers the first: the same rhythm, another bass. A new chord then begins the first.
void splitAnswer(Notation& n) {
  if (n.bars != 2) return;
  const Ticks bar = n.meter.bar();
  std::vector<Row> first, second;
  for (Row r : n.statement) {
    if (r.at < bar) {
      first.push_back(r);
    } else {
      r.at = r.at - bar;
      second.push_back(r);
    }
  }
  const bool root = std::any_of(first.begin(), first.end(), [&](const Row& r) {
    return r.at == Ticks{0} && n.parts[r.part].bass && (r.play == "1" || r.play.starts_with("1+"));
  });
  if (!root || second.empty()) return;
  std::size_t rhythm = 0, same = 0;
  for (const Row& a : first)
    for (const Row& b : second) {
      if (a.at != b.at || a.part != b.part) continue;
      ++rhythm;
      same += a.play == b.play;
    }
  const std::size_t rows = std::max(first.size(), second.size());
  if (rhythm * 4 < 3 * rows || same * 2 < rows) return;  // a line that goes on for two bars is no answer
  n.statement = std::move(first);
  n.answer = std::move(second);
  n.bars = 1;
}

std::string beatsText(double beats) {
  const auto whole = static_cast<int>(std::floor(beats + 0.25));
  return whole == 1 ? "one beat" : std::to_string(whole) + " beats";
}

/// Bars by the click, or by the figure's own coming round.
bool findTime(Take& take, const Wishes& wishes, Notation& n) {
  const auto meter = wishes.meter ? wishes.meter : take.meter;
  n.meter = meter.value_or(Meter{});
  const auto fitsClick = [&] {
    const double bar = secondsOf(n.meter.bar(), take.quarterSeconds);
    const Folded f = fold(take.notes, bar, secondsOf(n.meter.beat(), take.quarterSeconds));
    if (f.notes.empty()) return false;
    const Gridded g = onGrid(f.notes, n.meter, take.quarterSeconds, n.meter.bar() * f.bars);
    return f.agreement >= clickFits && f.rounds > 1 && g.grid.cost < clickCost * static_cast<double>(f.notes.size());
  };
  const bool click = take.quarterSeconds > 0 && wishes.quartersPerMinute <= 0;
  if (click && (!take.doubtful || fitsClick())) {
    n.quartersPerMinute = 60 / take.quarterSeconds;
    return true;
  }
  auto pace = findPace(take.notes, wishes, meter);
  if (!pace && wishes.quartersPerMinute > 0) {  // said, and played once: believed
    take.quarterSeconds = 60 / wishes.quartersPerMinute;
    const double first = take.notes.front().on;
    for (auto& note : take.notes) note.on -= first, note.off -= first;
    n.quartersPerMinute = wishes.quartersPerMinute;
    return true;
  }
  if (!pace && click) {  // no round was found, and the file says 120: believed at last
    n.quartersPerMinute = 60 / take.quarterSeconds;
    return true;
  }
  if (!pace) return false;
  n.meter = pace->meter;
  take.quarterSeconds = pace->quarterSeconds;
  take.notes = std::move(pace->notes);
  n.quartersPerMinute = 60 / take.quarterSeconds;
  n.tempoFound = true;
  return true;
}

}  // namespace

Notation notate(Take take, const Wishes& wishes) {
  Notation n;
  const auto fail = [&](Unread kind, std::string why) {
    n.unread = kind;
    n.fault = std::move(why);
    return n;
  };
  std::sort(take.notes.begin(), take.notes.end(), [](const TakenNote& a, const TakenNote& b) { return a.on < b.on; });
  if (take.notes.empty()) return fail(Unread::empty, "has no notes");
  const KeySet held = takeHeld(take.notes);
  if (take.notes.empty()) return fail(Unread::empty, "has no notes beside the chord that is held");
  if (wishes.chord) {
    n.chord = *wishes.chord;
  } else {
    if (held.count() < 2)
      return fail(Unread::noChord, "no chord is held through the take and none is named: say --chord C");
    n.chord = nameChord(held, Key{}).best();
    if (!n.chord.type.known())
      return fail(Unread::noChord, "the keys that are held are no chord that has a name: say --chord C");
  }
  Over over{n.chord, {}, wishes.asHeld, {}, {}};
  held.forEach([&](NoteNumber k) { over.held.push_back(k.value); });
  if (over.held.size() < 2) {
    over.held.clear();
    for (std::size_t i = 0; i < n.chord.count; ++i) over.held.push_back(48 + n.chord.root.value + n.chord.tones[i]);
  }
  takeCrushed(take.notes);
  if (!findTime(take, wishes, n))
    return fail(Unread::noBeat, "the beat cannot be found: play the figure at least twice, or say --tempo and --meter");

  const double beat = secondsOf(n.meter.beat(), take.quarterSeconds),
               bar = secondsOf(n.meter.bar(), take.quarterSeconds);
  double last = 0;
  for (const auto& note : take.notes) last = std::max(last, note.off);
  const double begun = std::floor((take.notes.front().on + beat / 8) / bar) * bar;
  if (last - begun < bar - beat * 1.25)
    return fail(Unread::tooShort, "is not a whole bar: " + beatsText((last - begun) / beat) + " of a " +
                                      textOf(n.meter) + " bar; play the figure for two to eight");
  const Folded f = fold(take.notes, bar, beat);
  n.barsPlayed = f.barsPlayed;
  n.rounds = f.rounds;
  n.bars = f.bars;
  const Ticks length = n.meter.bar() * f.bars;
  const Gridded g = onGrid(f.notes, n.meter, take.quarterSeconds, length);
  n.grid = over.grid = g.grid;
  over.meter = n.meter;
  std::vector<std::vector<PlacedNote>> runs{placedNotes(f.notes, g, length)};
  std::vector<Ticks> lengths{length};
  if (f.liftBars > 0) {
    lengths.push_back(n.meter.bar() * f.liftBars);
    runs.push_back(
        placedNotes(f.lift, onThisGrid(f.lift, g.grid, n.meter, take.quarterSeconds, lengths[1]), lengths[1]));
  }
  PartsRead read = readParts(runs, lengths, over);
  if (!read.fault.empty()) return fail(Unread::other, read.fault);
  n.parts = std::move(read.parts);
  n.statement = std::move(read.rows[0]);
  if (read.rows.size() > 1) n.lift = std::move(read.rows[1]);
  n.liftBars = f.liftBars;
  n.asHeld = wishes.asHeld;
  n.pedal = take.pedal;
  n.program = take.program;
  splitAnswer(n);
  if (f.barsPlayed > 2 && f.rounds == 1)
    n.remarks.push_back("nothing comes round in " + std::to_string(f.barsPlayed) + " bars: they are one long figure");
  if (f.agreement < 0.8) n.remarks.push_back("the rounds differ much: listen to the result");
  return n;
}

}  // namespace seguente::notate
