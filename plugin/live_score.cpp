#include "plugin/live_score.h"

#include <algorithm>

namespace seguente {

using page::ToldKind;

namespace {
constexpr std::size_t chordsKept = 4;
}

void LiveScore::read() {
  box_.read(view_);
  bool any = false;
  page::Told told;
  while (box_.told().pop(told)) {
    any = true;
    if (told.kind == ToldKind::ourNote && told.reason.reason != Reason::asHeld) last_ = told.reason;
    if (told.kind == ToldKind::noChord || (told.kind == ToldKind::time && told.jumped)) last_.reset();
    writer_.tell(told);
  }
  // What was dropped may have been ends: nothing may stay on the page as sounding for ever. The page goes on from here.
  if (const auto lost = box_.told().dropped(); lost != lost_ && view_.meter.valid()) {
    lost_ = lost;
    any = true;
    last_.reset();
    writer_.tell(page::Told::time(std::max(view_.tick, writer_.now()), view_.meter, view_.barStart,
                                  view_.quartersPerMinute, true));
  }
  if (view_.hasChord && !view_.held.empty() && (chords_.empty() || !(chords_.back() == view_.held))) {
    // Fingers land one by one: a chord that only grows is the same one.
    const bool grows = !chords_.empty() && (chords_.back().words[0] & ~view_.held.words[0]) == 0 &&
                       (chords_.back().words[1] & ~view_.held.words[1]) == 0;
    if (grows) chords_.pop_back();
    chords_.push_back(view_.held);
    if (chords_.size() > chordsKept) chords_.erase(chords_.begin());
    any = true;
  }
  if (view_.playing && writer_.now() < view_.tick) {
    writer_.tell(page::Told::of(ToldKind::now, view_.tick));
    any = true;
  }
  if (any) ++changes_;
}

void LiveScore::foresee(const Rehearsal& rehearsal) {
  foreseen_.clear();
  if (last_ && view_.hasChord && view_.playing && !view_.holding && view_.meter.valid()) {
    const Ticks bar = view_.meter.bar();
    const Ticks line = view_.barStart + bar * floorDivide((view_.tick - view_.barStart).value, bar.value);
    foreseen_ = after(rehearsal, *last_, line + bar * 2);
  }
  writer_.foresee(foreseen_);
}

KeySet LiveScore::next() const {
  KeySet keys;
  std::optional<Ticks> at;
  for (const auto& note : foreseen_) {
    if (note.reason.dueTick <= view_.tick) continue;
    if (at && note.reason.dueTick != *at) break;
    at = note.reason.dueTick;
    keys.add(note.key);
  }
  return keys;
}

}  // namespace seguente
