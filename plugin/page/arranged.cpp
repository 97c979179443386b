// One staff's lines, and the names of a bar's notes.
#include <algorithm>
#include <set>

#include "dsp/harmony.h"
#include "plugin/page/spelling.h"
#include "plugin/page/writer.h"

namespace seguente::page {

namespace {

struct Item {
  const Span* span;
  bool low;
};

std::vector<Item> sorted(const StaffPieces& pieces) {
  std::vector<Item> items;
  for (std::size_t i = 0; i < pieces.spans.size(); ++i) items.push_back({&pieces.spans[i], pieces.low[i]});
  std::stable_sort(items.begin(), items.end(), [](const Item& a, const Item& b) { return a.span->at < b.span->at; });
  return items;
}

/// What begins together ends together, before the next begins.
bool oneLine(const std::vector<Item>& items) {
  for (std::size_t i = 1; i < items.size(); ++i) {
    const Span& a = *items[i - 1].span;
    const Span& b = *items[i].span;
    if (a.at == b.at ? a.to != b.to : a.to > b.at) return false;
  }
  return true;
}

std::vector<Span> spansOf(const std::vector<Item>& items) {
  std::vector<Span> spans;
  for (const Item& item : items) spans.push_back(*item.span);
  return cutAtChanges(std::move(spans));
}

double meanKey(const std::vector<Item>& items) {
  double sum = 0;
  int count = 0;
  for (const Item& item : items)
    for (const Note& note : item.span->notes) {
      sum += note.key.value;
      ++count;
    }
  return count == 0 ? 0 : sum / count;
}

/// Notes that go on under (or over) the next one against those that do not.
void partByLength(const std::vector<Item>& items, std::vector<Item>& above, std::vector<Item>& below) {
  std::vector<Item> sustained, moving;
  for (std::size_t i = 0; i < items.size(); ++i) {
    bool over = false;
    for (std::size_t k = i + 1; k < items.size(); ++k)
      over = over || (items[k].span->at > items[i].span->at && items[k].span->at < items[i].span->to);
    (over ? sustained : moving).push_back(items[i]);
  }
  const bool under = meanKey(sustained) <= meanKey(moving);
  above = under ? moving : sustained;
  below = under ? sustained : moving;
}

/// A tie needs both its ends inside a bar: what lost its partner in cutting loses the tie.
void mendTies(Voice& voice, Ticks length) {
  auto& events = voice.events;
  for (std::size_t i = 0; i < events.size(); ++i)
    for (Note& note : events[i].notes) {
      const auto joins = [&](const Event* other, bool Note::*tie) {
        return other != nullptr && std::any_of(other->notes.begin(), other->notes.end(),
                                               [&](const Note& n) { return n.key == note.key && n.*tie; });
      };
      const bool last = events[i].at + events[i].length >= length;
      if (note.tiedOut && !last) note.tiedOut = joins(i + 1 < events.size() ? &events[i + 1] : nullptr, &Note::tiedIn);
      if (note.tiedIn && i > 0) note.tiedIn = joins(&events[i - 1], &Note::tiedOut);
    }
}

const Chord* chordAt(const Bar& bar, Ticks place) {
  const Chord* found = nullptr;
  for (const ChordMark& mark : bar.chords)
    if (mark.at <= place && !mark.chord.none()) found = &mark.chord;
  return found;
}

/// Every event of a staff in order of time, the voices together.
std::vector<Event*> inTime(Staff& staff) {
  std::vector<Event*> events;
  for (Voice& voice : staff.voices)
    for (Event& event : voice.events) events.push_back(&event);
  std::stable_sort(events.begin(), events.end(), [](const Event* a, const Event* b) { return a->at < b->at; });
  return events;
}

/// Where the line of a note leads: the nearest note struck next in its voice; itself when none is known.
NoteNumber nextInVoice(const Voice& voice, std::size_t i, NoteNumber note, std::optional<NoteNumber> after) {
  for (std::size_t k = i + 1; k < voice.events.size(); ++k) {
    const auto& notes = voice.events[k].notes;
    if (notes.empty()) continue;
    const auto nearest = std::min_element(notes.begin(), notes.end(), [&](const Note& a, const Note& b) {
      return std::abs(a.key.value - note.value) < std::abs(b.key.value - note.value);
    });
    if (nearest->key == note && nearest->tiedIn) continue;
    return nearest->key;
  }
  return after.value_or(note);
}

void name(Note& note, const Bar& bar, Ticks place, NoteNumber next) {
  const Place where = placeOf(note.key, bar.key, chordAt(bar, place), next);
  note.step = where.step;
  note.alteration = where.alteration;
}

}  // namespace

Staff arranged(const StaffPieces& pieces, const Bar& bar, Ticks playedUntil) {
  Staff staff;
  const auto items = sorted(pieces);
  const auto add = [&](const std::vector<Item>& voice) {
    staff.voices.push_back(writeVoice(spansOf(voice), bar.meter, bar.before, bar.length, playedUntil));
    mendTies(staff.voices.back(), bar.length);
  };
  if (oneLine(items)) {
    add(items);
    return staff;
  }
  std::vector<Item> above, below;
  for (const Item& item : items) (item.low ? below : above).push_back(item);
  if (above.empty() || below.empty()) partByLength(items, above, below);
  const auto resting = [](const Voice& voice) {
    return std::all_of(voice.events.begin(), voice.events.end(), [](const Event& e) { return e.rest(); });
  };
  add(above);
  add(below);
  if (resting(staff.voices[1]))
    staff.voices.pop_back();
  else if (resting(staff.voices[0]))
    staff.voices.erase(staff.voices.begin());
  return staff;
}

void spellBar(Bar& bar, std::optional<NoteNumber> after) {
  for (std::size_t s = 0; s < staffKinds; ++s) {
    Staff& staff = bar.staves[s];
    if (static_cast<StaffKind>(s) == StaffKind::percussion) continue;
    for (Voice& voice : staff.voices)
      for (std::size_t i = 0; i < voice.events.size(); ++i) {
        Event& event = voice.events[i];
        const auto follows = s == 0 ? after : std::nullopt;
        for (Note& note : event.notes) name(note, bar, event.at, nextInVoice(voice, i, note.key, follows));
        for (std::size_t g = 0; g < event.graces.size(); ++g) {
          Note& grace = event.graces[g];
          const NoteNumber goal = g + 1 < event.graces.size() ? event.graces[g + 1].key
                                  : event.notes.empty()       ? grace.key
                                                              : event.notes.back().key;
          name(grace, bar, event.at, goal);
        }
        std::sort(event.notes.begin(), event.notes.end());
      }
    BarSigns signs(bar.key);
    for (Event* event : inTime(staff)) {
      for (Note& grace : event->graces) signs.mark(grace, false);
      for (Note& note : event->notes) signs.mark(note, note.tiedIn && event->at == Ticks{});
    }
  }
}

std::string printedSymbol(const Chord& chord) {
  std::string out;
  const auto text = symbolOf(chord);
  const auto symbol = text.view();
  for (std::size_t i = 0; i < symbol.size(); ++i) {
    const char c = symbol[i];
    const bool letterNext = i + 1 < symbol.size() && symbol[i + 1] >= 'A' && symbol[i + 1] <= 'G';
    const bool digitNext = i + 1 < symbol.size() && symbol[i + 1] >= '0' && symbol[i + 1] <= '9';
    if (c == '/' && letterNext) break;
    if (c == '#')
      out += "\u266F";
    else if (c == 'b' && (i == 1 || digitNext || (i == 2 && symbol[1] == 'b')))
      out += "\u266D";
    else
      out += c;
  }
  return out;
}

std::string printedNumeral(std::string_view numeral) {
  std::string out;
  for (std::size_t i = 0; i < numeral.size(); ++i) {
    const char next = i + 1 < numeral.size() ? numeral[i + 1] : ' ';
    const bool before = next == 'I' || next == 'V' || next == 'i' || next == 'v' || (next >= '0' && next <= '9');
    if (numeral[i] == 'b' && before)
      out += "\u266D";
    else if (numeral[i] == '#')
      out += "\u266F";
    else
      out += numeral[i];
  }
  return out;
}

}  // namespace seguente::page
