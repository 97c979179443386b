#include "plugin/page/rhythm.h"

#include <algorithm>
#include <cstdlib>
#include <set>

#include "plugin/page/beats.h"

namespace seguente::page {

namespace {

Ticks floorTo(Ticks t, Ticks unit) { return {floorDivide(t.value, unit.value) * unit.value}; }
Ticks nearest(Ticks t, Ticks unit) { return floorTo(t + Ticks{unit.value / 2}, unit); }

/// Lays out one voice of one bar. Quarters in which something begins or ends on a third are written as triplets; all
/// their places are then sixths.
class VoiceWriter {
 public:
  VoiceWriter(Meter meter, Ticks before, Ticks length, Ticks playedUntil)
      : meter_(meter), before_(before), length_(length), playedUntil_(playedUntil) {}
  Voice write(const std::vector<Span>& spans);

 private:
  void findTriplets(const std::vector<Span>& spans);
  Ticks settled(Ticks place) const;
  bool inTriplet(Ticks place) const { return triplets_.count(floorTo(place, quarter).value) > 0; }
  void lay(Ticks a, Ticks b, const Span* span);
  void layPlain(Ticks a, Ticks b, const Span* span);
  void layInTriplet(Ticks a, Ticks b, const Span* span);
  void put(Ticks a, Ticks b, Value value, const Span* span);
  void number();

  Meter meter_;
  Ticks before_, length_, playedUntil_;
  std::set<std::int64_t> triplets_;  // quarters, by their start
  Voice voice_;
  Ticks from_{}, to_{};  // of the span that is being laid
};

void VoiceWriter::findTriplets(const std::vector<Span>& spans) {
  if (compound(meter_) || meter_.denominator >= 8) return;
  for (const Span& span : spans)
    for (const Ticks place : {span.at + before_, span.to + before_})
      if (place > before_ && place < length_ && place.value % shortest.value != 0)
        // Only a whole quarter can be three in the time of two: not the half of one that a pickup begins with.
        if (const Ticks from = floorTo(place, quarter); from >= before_ && from + quarter <= length_)
          triplets_.insert(from.value);
}

Ticks VoiceWriter::settled(Ticks place) const {
  place = std::clamp(place, before_, length_);
  return inTriplet(place) ? nearest(place, shortestThird) : nearest(place, shortest);
}

void VoiceWriter::put(Ticks a, Ticks b, Value value, const Span* span) {
  Event event;
  event.at = a;
  event.length = b - a;
  event.value = value;
  if (span == nullptr) {
    event.shown = a - before_ < playedUntil_;
  } else {
    event.notes = span->notes;
    for (Note& note : event.notes) {
      note.tiedIn = note.tiedIn || a > from_;
      note.tiedOut = note.tiedOut || b < to_;
    }
    if (a == from_) event.graces = span->graces;
  }
  voice_.events.push_back(std::move(event));
}

void VoiceWriter::layInTriplet(Ticks a, Ticks b, const Span* span) {
  // Sixths of a quarter: 1 a sixteenth, 2 an eighth, 3 a dotted eighth, 4 a quarter, all of a triplet. A rest, or what
  // has no value (5), is cut at the thirds.
  const auto from = (a.value - floorTo(a, quarter).value) / shortestThird.value;
  const auto count = (b - a).value / shortestThird.value;
  const bool restCut = span == nullptr && count == 4 && from > 0;
  const bool crosses = count == 2 && from % 2 == 1;
  if (count == 5 || restCut || crosses || (count == 4 && from == 1) || (count == 3 && span == nullptr)) {
    const Ticks cut = floorTo(a, quarter) + shortestThird * ((from / 2 + 1) * 2);
    const Ticks at = cut < b ? cut : a + shortestThird;
    layInTriplet(a, at, span);
    layInTriplet(at, b, span);
    return;
  }
  put(a, b, count == 1 ? Value{4, 0} : count == 2 ? Value{3, 0} : count == 3 ? Value{3, 1} : Value{2, 0}, span);
}

void VoiceWriter::layPlain(Ticks a, Ticks b, const Span* span) {
  const auto value = span != nullptr ? noteValue(a, b, meter_, length_) : restValue(a, b, meter_, length_);
  if (value) return put(a, b, *value, span);
  const Ticks cut = cutOf(a, b, meter_, length_);
  if (cut <= a || cut >= b) return put(a, b, Value{5, 0}, span);  // less than a thirty-second: settled() lets none in
  layPlain(a, cut, span);
  layPlain(cut, b, span);
}

/// A triplet's quarter that is filled from end to end is a plain quarter; one that is entered or left inside is cut.
void VoiceWriter::lay(Ticks a, Ticks b, const Span* span) {
  if (a >= b) return;
  const Ticks first = floorTo(a, quarter);
  const Ticks last = floorTo(b, quarter);
  const bool starts = inTriplet(a) && a > first;
  const bool ends = b > last && inTriplet(b);
  if ((starts || ends) && first == last) return layInTriplet(a, b, span);
  if (starts && a < first + quarter) {
    layInTriplet(a, first + quarter, span);
    return lay(first + quarter, b, span);
  }
  if (ends) {
    lay(a, last, span);
    return layInTriplet(last, b, span);
  }
  layPlain(a, b, span);
}

/// Brackets: the events of one triplet quarter that do not fill it alone.
void VoiceWriter::number() {
  std::int16_t count = 0;
  for (const auto start : triplets_) {
    bool any = false;
    for (Event& event : voice_.events) {
      const bool inside = event.at.value >= start && (event.at + event.length).value <= start + quarter.value;
      if (!inside || event.length >= quarter) continue;
      event.tuplet = count;
      any = true;
    }
    if (any) ++count;
  }
}

Voice VoiceWriter::write(const std::vector<Span>& spans) {
  findTriplets(spans);
  Ticks at = before_;
  for (const Span& given : spans) {
    Span span = given;
    span.at = span.at + before_;
    span.to = span.to + before_;
    from_ = std::max(at, settled(span.at));
    to_ = settled(span.to);
    if (to_ <= from_) continue;
    for (Note& note : span.notes) {
      note.tiedIn = note.tiedIn || span.at < before_;
      note.tiedOut = note.tiedOut || span.to > length_;
    }
    lay(at, from_, nullptr);
    lay(from_, to_, &span);
    at = to_;
  }
  if (at == before_) return restingVoice(length_ - before_, playedUntil_ > Ticks{});
  lay(at, length_, nullptr);
  number();
  beam(voice_, meter_, length_);
  for (Event& event : voice_.events) event.at = event.at - before_;
  return std::move(voice_);
}

}  // namespace

Ticks printable(Ticks place) {
  const Ticks straight = nearest(place, shortest);
  const Ticks sixth = nearest(place, shortestThird);
  const auto off = [&](Ticks t) { return std::abs((t - place).value); };
  return off(sixth) + shortest.value / 10 < off(straight) ? sixth : straight;
}

std::vector<Span> cutAtChanges(std::vector<Span> spans) {
  std::set<std::int64_t> places;
  for (const Span& span : spans) {
    places.insert(span.at.value);
    places.insert(span.to.value);
  }
  std::vector<Span> cut;
  for (auto place = places.begin(); place != places.end(); ++place) {
    const auto next = std::next(place);
    if (next == places.end()) break;
    Span piece{{*place}, {*next}, {}, {}};
    for (const Span& span : spans) {
      if (span.at.value > *place || span.to.value < *next) continue;
      if (span.at.value == *place) piece.graces.insert(piece.graces.end(), span.graces.begin(), span.graces.end());
      for (Note note : span.notes) {
        note.tiedIn = note.tiedIn || span.at.value < *place;
        note.tiedOut = note.tiedOut || span.to.value > *next;
        // Two hands on one key: one head is enough.
        const bool there =
            std::any_of(piece.notes.begin(), piece.notes.end(), [&](const Note& n) { return n.key == note.key; });
        if (!there) piece.notes.push_back(note);
      }
    }
    if (piece.notes.empty()) continue;
    std::sort(piece.notes.begin(), piece.notes.end());
    cut.push_back(std::move(piece));
  }
  return cut;
}

Voice writeVoice(const std::vector<Span>& spans, Meter meter, Ticks before, Ticks length, Ticks playedUntil) {
  return VoiceWriter(meter, before, before + length, playedUntil).write(spans);
}

Voice restingVoice(Ticks length, bool shown) {
  Voice voice;
  Event rest;
  rest.length = length;
  rest.value = {0, 0};
  rest.wholeBar = true;
  rest.shown = shown;
  voice.events.push_back(rest);
  return voice;
}

}  // namespace seguente::page
