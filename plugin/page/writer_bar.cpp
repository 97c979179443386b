// How one bar is written from what was heard: the tune's spans, ours, chord symbols and form marks.
#include <algorithm>

#include "dsp/harmony.h"
#include "plugin/page/beats.h"
#include "plugin/page/writer.h"

namespace seguente::page {

namespace {

constexpr Ticks sixteenth{quarter.value / 4};
constexpr Ticks eighth{quarter.value / 2};

Ticks nearest(Ticks t, Ticks unit) { return {floorDivide(t.value + unit.value / 2, unit.value) * unit.value}; }
Ticks upTo(Ticks t, Ticks unit) { return {-floorDivide(-t.value, unit.value) * unit.value}; }

std::uint64_t tuneId(std::uint32_t id) { return (1ull << 32) | id; }

bool exactOnPaper(Ticks place) {
  const auto off = (printable(place) - place).value;
  return off > -512 && off < 512;
}

/// A figure's own place is exact but for the engine's rounding of swing; anything else was made by a hand.
Ticks onPaper(Ticks place) { return exactOnPaper(place) ? printable(place) : nearest(place, sixteenth); }

}  // namespace

/// Whether a note that began at `at` has a part in this bar. What comes over the bar line does so only if the bar
/// before says so, once that stands.
bool Writer::belongs(std::size_t index, std::uint64_t id, Ticks at, Ticks& to) const {
  const Frame& frame = frames_[index];
  if (at >= frame.end()) return false;
  if (at >= frame.bar.start) return true;
  if (index == 0 || frames_[index - 1].bar.broken) return false;
  const Frame& before = frames_[index - 1];
  if (!before.final) return to > frame.bar.start && belongs(index - 1, id, at, to);
  if (before.tiedOver.count(id) == 0) return false;
  to = std::max(to, frame.bar.start + sixteenth);
  return true;
}

std::vector<Writer::Piece> Writer::tunePieces(std::size_t index) {
  Frame& frame = frames_[index];
  std::vector<Piece> pieces;
  for (std::size_t i = 0; i < tune_.size(); ++i) {
    const Played& note = tune_[i];
    if (note.grace || note.at >= frame.end()) continue;
    const Played* next = nullptr;
    for (const Played& other : tune_)
      if (!other.grace && other.at > note.at && (next == nullptr || other.at < next->at)) next = &other;
    // The same key struck again always ends it.
    const Ticks off = note.down ? std::max(now_, note.on) : note.off;
    Ticks to{};
    const NextOnset following{next != nullptr ? next->at : Ticks{}, next != nullptr ? next->on : Ticks{}};
    const bool under = next != nullptr && next->key != note.key && off - next->on > eighth &&
                       (off - next->on).value * 2 > (next->on - note.on).value;
    if (under)
      to = std::max(nearest(note.at + (off - note.on), eighth), next->at + eighth);
    else if (note.down && next == nullptr)
      to = note.at + std::max(upTo(off - note.at, feltBeat(frame.bar.meter)), sixteenth);
    else
      to = writtenEnd(note.at, note.on, off, next != nullptr ? &following : nullptr, frame.base(), frame.pulse,
                      frame.bar.before + frame.bar.length);
    for (const Played& other : tune_)
      if (other.key == note.key && !other.grace && other.at > note.at) to = std::min(to, other.at);
    if (!belongs(index, tuneId(note.id), note.at, to)) continue;
    Note head;
    head.key = note.key;
    head.source = Source::melody;
    head.noteId = note.id;
    Piece piece{{note.at - frame.bar.start, to - frame.bar.start, {head}, {}}, false};
    for (std::size_t g = 0; g < tune_.size(); ++g)
      if (tune_[g].grace && tune_[g].at == note.at && note.at >= frame.bar.start && g + 1 <= i) {
        Note small = head;
        small.key = tune_[g].key;
        small.noteId = tune_[g].id;
        const bool taken = std::any_of(pieces.begin(), pieces.end(), [&](const Piece& p) {
          return std::any_of(p.span.graces.begin(), p.span.graces.end(),
                             [&](const Note& n) { return n.noteId == small.noteId; });
        });
        if (!taken) piece.span.graces.push_back(small);
      }
    // Struck together and let go nearly together: one length.
    for (const Piece& other : pieces)
      if (other.span.at == piece.span.at) {
        const auto apart = (other.span.to - piece.span.to).value;
        if (apart < quarter.value && apart > -quarter.value) piece.span.to = other.span.to;
      }
    pieces.push_back(std::move(piece));
  }
  return pieces;
}

std::vector<Writer::Piece> Writer::ourPieces(std::size_t index, bool percussion) {
  Frame& frame = frames_[index];
  struct Placed {
    const OurNote* note;
    Ticks at, to;
    bool grace = false;
    const OurNote* goal = nullptr;  // of a grace
  };
  std::vector<Placed> placed;
  // Swing counts from the bar that a note begins in.
  const auto home = [&](const OurNote& note) -> const Frame& {
    for (std::size_t i = frames_.size(); i-- > 0;)
      if (frames_[i].bar.start <= note.reason.dueTick) return frames_[i];
    return frame;
  };
  const auto straight = [&](Ticks t, const Frame& in) {
    return in.base() + onPaper(straightened(t - in.base(), in.pulse.swing, in.pulse.swingPair));
  };
  std::vector<const OurNote*> all;
  for (const OurNote& note : ours_) all.push_back(&note);
  for (const OurNote& note : coming_)
    if (note.on > now_ && note.on >= frame.bar.start && note.on < frame.end()) all.push_back(&note);
  for (const OurNote* one : all) {
    const OurNote& note = *one;
    if ((note.part == PartKind::percussion) != percussion) continue;
    Placed p{&note, straight(note.reason.dueTick, home(note)), {}};
    if (note.sounding)
      p.to = std::max(upTo(std::max(now_, p.at + Ticks{1}) - frame.base(), feltBeat(frame.bar.meter)) + frame.base(),
                      p.at + sixteenth);
    else
      p.to = straight(note.off, home(note));
    placed.push_back(p);
  }
  // A wrong attack that was taken back is not written; nor is what was too short to be heard as a note.
  const auto takenBack = [&](const Placed& p) {
    if (p.note->sounding || p.note->reason.reason == Reason::correction) return false;
    return std::any_of(placed.begin(), placed.end(), [&](const Placed& q) {
      return q.note->reason.reason == Reason::correction && q.at <= p.at + eighth && q.at >= p.at &&
             q.note->on >= p.note->on && p.note->off <= q.note->on + sixteenth;
    });
  };
  std::erase_if(placed, takenBack);
  for (Placed& p : placed) {
    if (p.note->sounding || (p.note->off - p.note->on).value * 8 >= quarter.value) continue;
    // A crushed note: its goal, of the same row of the figure, begins where it ends.
    for (Placed& goal : placed)
      if (&goal != &p && goal.note->part == p.note->part && goal.note->reason.row == p.note->reason.row &&
          goal.note->on > p.note->on && (goal.note->on - p.note->off).value < 64 &&
          (p.note->off - goal.note->on).value < 64) {
        p.grace = true;
        p.goal = goal.note;
        goal.at = p.at;
        p.to = goal.at;
      }
  }
  // Its goal may have been left out for the tune's sake: then it leans on whatever is struck with it. What is shorter
  // still was taken back.
  for (Placed& p : placed) {
    const auto sounded = p.note->off - p.note->on;
    if (p.grace || p.note->sounding || sounded.value * 8 >= quarter.value || sounded.value * 16 < quarter.value)
      continue;
    for (const Placed& q : placed)
      if (&q != &p && !q.grace && q.at == p.at && q.note->off - q.note->on > sounded && p.goal == nullptr)
        p.goal = q.note;
    p.grace = p.goal != nullptr;
  }
  std::erase_if(placed, [](const Placed& p) {
    return !p.grace && !p.note->sounding && (p.note->off - p.note->on).value * 16 < quarter.value;
  });
  // An end that a hand made, by letting go early: a short silence before the next stroke is touch, not a rest (the same
  // rule as for the tune); else it goes to an eighth.
  for (Placed& p : placed) {
    if (p.grace || p.note->sounding ||
        exactOnPaper(straightened(p.note->off - home(*p.note).base(), frame.pulse.swing, frame.pulse.swingPair)))
      continue;
    NextOnset next{};
    bool any = false;
    for (const Placed& other : placed)
      if (!other.grace && other.at > p.at && (!any || other.at < next.at)) {
        next = {other.at, other.at};
        any = true;
      }
    p.to = writtenEnd(p.at, p.at, std::max(p.note->off, p.at), any ? &next : nullptr, frame.base(), frame.pulse,
                      frame.bar.before + frame.bar.length);
  }
  std::vector<Piece> pieces;
  for (const Placed& p : placed) {
    if (p.grace) continue;
    Ticks to = std::max(p.to, p.at + shortest);
    // What is struck again is let go.
    for (const Placed& other : placed)
      if (other.note->key == p.note->key && other.at > p.at) to = std::min(to, other.at);
    if (!belongs(index, p.note->id, p.at, to)) continue;
    Note head;
    head.key = p.note->key;
    head.source = percussion ? Source::percussion : Source::accompaniment;
    head.noteId = p.note->id;
    head.reason = p.note->reason;
    head.coming = p.note->coming;
    Piece piece{{p.at - frame.bar.start, to - frame.bar.start, {head}, {}}, p.note->part == PartKind::bass};
    for (const Placed& g : placed)
      if (g.grace && g.goal == p.note && p.at >= frame.bar.start) {
        Note small = head;
        small.key = g.note->key;
        small.noteId = g.note->id;
        small.reason = g.note->reason;
        piece.span.graces.push_back(small);
      }
    pieces.push_back(std::move(piece));
  }
  return pieces;
}

/// Symbols stand over the first note of their chord; a chord that goes on stands at the bar's beginning again.
void Writer::marks(Frame& frame) {
  Bar& bar = frame.bar;
  bar.chords.clear();
  const auto firstOf = [&](std::uint32_t chord) {
    std::optional<Ticks> at;
    for (const Event& event : bar.staff(StaffKind::lower).voices.empty()
                                  ? std::vector<Event>{}
                                  : bar.staff(StaffKind::lower).voices.front().events)
      for (const Note& note : event.notes)
        if (!at && note.reason.chordId == chord && !note.tiedIn) at = event.at;
    if (bar.staff(StaffKind::lower).voices.size() > 1)
      for (const Event& event : bar.staff(StaffKind::lower).voices[1].events)
        for (const Note& note : event.notes)
          if (note.reason.chordId == chord && !note.tiedIn && (!at || event.at < *at)) at = event.at;
    return at;
  };
  for (const HeardChord& heard : chords_) {
    if (heard.chord.none()) continue;
    const Ticks beat = feltBeat(bar.meter);
    const Ticks raw = heard.at - frame.base();
    // A hand comes a little before or after its beat.
    const Ticks onBeat = nearest(raw, beat);
    const auto off = (onBeat - raw).value;
    const bool near = off * 3 < beat.value && off * -3 < beat.value;
    Ticks at = (near ? onBeat : nearest(raw, eighth)) + frame.base();
    const Ticks to = heard.open ? std::max(now_, heard.at) : heard.to;
    const auto struck = firstOf(heard.id);
    const auto aside = struck ? (bar.start + *struck - at).value : beat.value;
    if (aside * 2 <= beat.value && aside * -2 <= beat.value) at = bar.start + *struck;
    ChordMark mark;
    mark.continued = at < bar.start;
    if (mark.continued && nearest(to - frame.base(), eighth) + frame.base() <= bar.start) continue;
    if (at >= frame.end()) continue;
    mark.at = std::max(at, bar.start) - bar.start;
    mark.id = heard.id;
    mark.chord = heard.chord;
    mark.symbol = printedSymbol(heard.chord);
    mark.numeral = printedNumeral(numeralOf(heard.chord, heard.key).view());
    // The same place twice: the later one was meant. The same chord twice in a row: said once.
    if (!bar.chords.empty() && bar.chords.back().at >= mark.at) bar.chords.pop_back();
    if (!bar.chords.empty() && bar.chords.back().symbol == mark.symbol) continue;
    bar.chords.push_back(std::move(mark));
  }
  bar.form.clear();
  for (const Voice& voice : bar.staff(StaffKind::lower).voices)
    for (const Event& event : voice.events)
      for (const Note& note : event.notes) {
        const FigureKind kind = note.reason.figure;
        if (note.tiedIn || kind == FigureKind::shortForm) continue;
        const auto after =
            std::find_if(bar.form.begin(), bar.form.end(), [&](const FormMark& m) { return m.at >= event.at; });
        if (after != bar.form.end() && after->at == event.at) continue;
        bar.form.insert(after, {event.at, kind});
      }
  const auto same = [](const FormMark& a, const FormMark& b) { return a.kind == b.kind; };
  bar.form.erase(std::unique(bar.form.begin(), bar.form.end(), same), bar.form.end());
}

void Writer::write(std::size_t index) {
  Frame& frame = frames_[index];
  frame.dirty = false;
  Bar& bar = frame.bar;
  // The next bar's too: what is struck there may end what sounds here.
  for (std::size_t i = 0; i < frames_.size() && i <= index + 1; ++i)
    if (!frames_[i].final) placeBeats(frames_[i], false);
  const Ticks played = std::clamp(now_ - bar.start, Ticks{}, bar.length);
  bar.current = now_ < frame.end();
  const auto put = [&](StaffKind kind, std::vector<Piece> pieces) {
    StaffPieces given;
    for (Piece& piece : pieces) {
      given.spans.push_back(std::move(piece.span));
      given.low.push_back(piece.low);
    }
    bar.staff(kind) = arranged(given, bar, played);
  };
  put(StaffKind::upper, tunePieces(index));
  put(StaffKind::lower, ourPieces(index, false));
  auto drums = ourPieces(index, true);
  bar.staff(StaffKind::percussion).voices.clear();
  if (!drums.empty()) put(StaffKind::percussion, std::move(drums));
  marks(frame);
  std::optional<NoteNumber> after;
  Ticks soonest{};
  for (const Played& note : tune_)
    if (!note.grace && note.at >= frame.end() && (!after || note.at < soonest)) {
      after = note.key;
      soonest = note.at;
    }
  spellBar(bar, after);
}

}  // namespace seguente::page
