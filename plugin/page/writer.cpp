#include "plugin/page/writer.h"

#include <algorithm>

#include "plugin/page/beats.h"
#include "plugin/page/spelling.h"

namespace seguente::page {

namespace {

constexpr Ticks settling{quarter.value};     // after its bar line a bar may still change for so long
constexpr Ticks cutting{quarter.value / 4};  // a bar that is cut by a change of meter ends on a sixteenth
constexpr Ticks placing{quarter.value / 2};  // and a beat of the tune for so long

Ticks floorTo(Ticks t, Ticks unit) { return {floorDivide(t.value, unit.value) * unit.value}; }

}  // namespace

Writer::Writer() : Writer(Options{}) {}
Writer::Writer(const Options& options) : options_(options) {
  options_.bars = std::max<std::size_t>(options_.bars, 4);
  if (options_.key) key_ = *options_.key;
}

void Writer::dirty() {
  for (Frame& frame : frames_) frame.dirty = frame.dirty || !frame.final;
}

const Chord* Writer::chordOf(std::uint32_t id) const {
  for (const HeardChord& chord : chords_)
    if (chord.id == id) return &chord.chord;
  return nullptr;
}

void Writer::tell(const Told& told) {
  const bool note = told.kind == ToldKind::ourNote || told.kind == ToldKind::tuneNote;
  if (note && tune_.size() + ours_.size() >= options_.notesInTheAir) {
    ++dropped_;
    return;
  }
  switch (told.kind) {
    case ToldKind::time:
      time(told);
      break;
    case ToldKind::swing:
      pulse_.swing = told.swing;
      pulse_.swingPair = told.swingPair;
      if (!frames_.empty() && !frames_.back().final) {
        frames_.back().pulse.swing = told.swing;
        frames_.back().pulse.swingPair = told.swingPair;
        frames_.back().bar.swing = told.swing;
        frames_.back().bar.swingPair = told.swingPair;
      }
      break;
    case ToldKind::ourNote:
      if (told.reason.reason == Reason::asHeld) return;  // the transport stands: it has no place in a bar
      advance(told.tick);
      ours_.push_back({told.id, told.key, told.part, told.reason, told.tick, told.tick, true});
      break;
    case ToldKind::ourEnd:
      for (auto it = ours_.rbegin(); it != ours_.rend(); ++it)
        if (it->id == told.id && it->sounding) {
          it->off = told.tick;
          it->sounding = false;
          break;
        }
      break;
    case ToldKind::tuneNote: {
      advance(told.tick);
      Played played;
      played.id = told.id;
      played.key = told.key;
      played.on = played.off = played.at = told.tick;
      tune_.push_back(played);
      break;
    }
    case ToldKind::tuneEnd:
      for (auto it = tune_.rbegin(); it != tune_.rend(); ++it)
        if (it->id == told.id && it->down) {
          it->off = std::max(told.tick, it->on);
          it->down = false;
          break;
        }
      break;
    case ToldKind::tuneTaken:
      std::erase_if(tune_, [&](const Played& n) { return n.id == told.id; });
      break;
    case ToldKind::chord: {
      auto same = std::find_if(chords_.begin(), chords_.end(), [&](const HeardChord& c) { return c.id == told.id; });
      if (same == chords_.end()) {
        if (!chords_.empty() && chords_.back().open) {
          chords_.back().to = std::max(told.tick, chords_.back().at);
          chords_.back().open = false;
        }
        chords_.emplace_back().id = told.id;
        same = chords_.end() - 1;
      }
      same->at = told.tick;
      same->chord = told.chord;
      same->key = told.chordKey;
      if (told.chordKey.known) tell(Told::keyFound(told.chordKey));
      break;
    }
    case ToldKind::noChord:
      if (!chords_.empty() && chords_.back().open) {
        chords_.back().to = std::max(told.tick, chords_.back().at);
        chords_.back().open = false;
      }
      break;
    case ToldKind::withdrawn:
      std::erase_if(chords_, [&](const HeardChord& c) { return c.id == told.id; });
      break;
    case ToldKind::key:
      if (options_.key || !told.chordKey.known || told.chordKey == key_) return;
      if (!key_.known)  // what was written before the key was known is named anew
        for (Frame& frame : frames_) {
          frame.bar.key = told.chordKey;
          if (frame.final) spellBar(frame.bar, std::nullopt);
        }
      key_ = told.chordKey;
      break;
    case ToldKind::now:
      advance(told.tick);
      break;
  }
  dirty();
}

void Writer::foresee(std::vector<Foreseen> notes) {
  if (notes == foreseen_) return;
  foreseen_ = std::move(notes);
  coming_.clear();
  for (const Foreseen& note : foreseen_)
    coming_.push_back({0, note.key, note.part, note.reason, note.reason.dueTick, note.to, false, true});
  dirty();
}

void Writer::time(const Told& told) {
  if (!told.meter.valid() || !(told.quartersPerMinute > 0)) return;
  const bool otherMeter = !(told.meter == pulse_.meter);
  pulse_.meter = told.meter;
  quartersPerMinute_ = told.quartersPerMinute;
  pulse_.millisecondsPerQuarter = 60000 / told.quartersPerMinute;
  barStart_ = told.barStart;
  if (!started_) {
    started_ = true;
    openAt(told.tick);
    now_ = told.tick;
    return;
  }
  if (told.jumped || told.tick < now_) {
    for (OurNote& note : ours_)
      if (note.sounding) {
        note.off = now_;
        note.sounding = false;
      }
    for (Played& note : tune_)
      if (note.down) {
        note.off = std::max(now_, note.on);
        note.down = false;
      }
    Frame& last = frames_.back();
    last.bar.broken = now_ < last.end();
    for (std::size_t i = 0; i < frames_.size(); ++i)
      if (!frames_[i].final) settle(frames_[i], i + 1 < frames_.size() ? &frames_[i + 1] : nullptr);
    tune_.clear();
    ours_.clear();
    std::erase_if(chords_, [](const HeardChord& c) { return !c.open; });
    for (HeardChord& chord : chords_) chord.at = told.tick;
    quantiser_.reset();
    now_ = told.tick;
    openAt(told.tick);
    return;
  }
  advance(told.tick);
  Frame& frame = frames_.back();
  const bool phase = (told.tick - told.barStart).value % told.meter.bar().value ==
                     (told.tick - frame.base()).value % told.meter.bar().value;
  if (!otherMeter && phase) return;
  // Another meter is a bar line, even inside a bar.
  const Ticks sounded = floorTo(told.tick - frame.bar.start, cutting);
  if (sounded > Ticks{}) {
    frame.bar.length = std::min(frame.bar.length, sounded);
    openAt(told.tick);
  } else {
    const std::int64_t number = frame.bar.number;
    frames_.pop_back();
    --nextOrdinal_;
    openAt(told.tick);
    frames_.back().bar.number = number;
  }
}

/// The bar that holds this tick. Nothing lies before tick 0: the first bar may be incomplete.
void Writer::openAt(Ticks tick) {
  const Ticks bar = pulse_.meter.bar();
  const Ticks line = barStart_ + bar * floorDivide((tick - barStart_).value, bar.value);
  Ticks start = line;
  if (!frames_.empty() && !frames_.back().bar.broken) start = std::max(line, std::min(frames_.back().end(), tick));
  if (frames_.empty() && tick >= Ticks{}) start = std::max(line, Ticks{});
  start = line + floorTo(start - line, cutting);
  open(start, line + bar - start, start - line);
}

void Writer::open(Ticks start, Ticks length, Ticks before) {
  Frame frame;
  frame.bar.ordinal = nextOrdinal_++;
  frame.bar.start = start;
  frame.bar.length = length;
  frame.bar.before = before;
  frame.bar.meter = pulse_.meter;
  frame.bar.key = key_;
  frame.bar.swing = pulse_.swing;
  frame.bar.swingPair = pulse_.swingPair;
  frame.bar.quartersPerMinute = quartersPerMinute_;
  frame.pulse = pulse_;
  if (frames_.empty()) {
    frame.bar.number = before > Ticks{} ? 0 : floorDivide((start - barStart_).value, pulse_.meter.bar().value) + 1;
  } else {
    const Bar& last = frames_.back().bar;
    const auto bars = last.broken ? floorDivide((start - last.start).value, pulse_.meter.bar().value) : 1;
    frame.bar.number = last.number + bars;
  }
  frames_.push_back(std::move(frame));
  while (frames_.size() > options_.bars) frames_.pop_front();
}

void Writer::advance(Ticks to) {
  if (!started_ || to <= now_) return;
  now_ = to;
  // A page that nobody told the time for an hour need not write it bar by bar: what cannot be kept is not made.
  while (now_ >= frames_.back().end()) {
    const Frame& last = frames_.back();
    const Ticks bar = pulse_.meter.bar();
    const auto behind = (now_ - last.end()).value / bar.value;
    const auto kept = static_cast<std::int64_t>(options_.bars);
    const Ticks skip = behind > kept ? bar * (behind - kept) : Ticks{};
    open(last.end() + skip, bar, {});
  }
  for (std::size_t i = 0; i < frames_.size(); ++i) {
    Frame& frame = frames_[i];
    if (frame.final) continue;
    placeBeats(frame, false);
    if (now_ >= frame.end() + settling) settle(frame, i + 1 < frames_.size() ? &frames_[i + 1] : nullptr);
  }
  forget();
}

/// Beats that are over for good; all: to the bar's end, whether over or not.
void Writer::placeBeats(Frame& frame, bool all) {
  const auto starts = beatStarts(frame.bar.meter, frame.bar.before + frame.bar.length);
  // A stroke may come a little before the page began.
  for (std::size_t b = frame.beatsPlaced; b + 1 < starts.size(); ++b) {
    const Ticks from = frame.base() + starts[b];
    const Ticks to = frame.base() + starts[b + 1];
    const bool over = all || now_ >= to + placing;
    quantiser_.placeBeat(tune_, 0, from, to, frame.pulse, over);
    if (over) frame.beatsPlaced = b + 1;
    if (!over && now_ < from) break;
  }
}

void Writer::settle(Frame& frame, Frame* next) {
  placeBeats(frame, true);
  write(static_cast<std::size_t>(frame.bar.ordinal - first()));
  frame.final = true;
  frame.dirty = false;
  frame.bar.current = false;
  for (const Staff& staff : frame.bar.staves)
    for (const Voice& voice : staff.voices)
      if (!voice.events.empty())
        for (const Note& note : voice.events.back().notes)
          if (note.tiedOut) frame.tiedOver.insert((note.source == Source::melody ? 1ull << 32 : 0) | note.noteId);
  if (next != nullptr) next->dirty = true;
}

void Writer::forget() {
  Ticks oldest = now_;
  for (const Frame& frame : frames_)
    if (!frame.final) {
      oldest = std::min(oldest, frame.bar.start);
      break;
    }
  // A note that ended a quarter before the oldest open bar can no longer be part of it.
  const Ticks gone = oldest - quarter;
  std::erase_if(tune_, [&](const Played& n) { return !n.down && n.off < gone && n.at < oldest; });
  std::erase_if(ours_, [&](const OurNote& n) { return !n.sounding && n.off < gone; });
  while (chords_.size() > 1 && !chords_.front().open && chords_.front().to < gone) chords_.pop_front();
}

bool Writer::settled(std::uint64_t ordinal) const {
  return ordinal >= first() && ordinal < end() && frames_[ordinal - first()].final;
}

const Bar* Writer::bar(std::uint64_t ordinal) {
  if (frames_.empty() || ordinal < first() || ordinal >= end()) return nullptr;
  const auto index = static_cast<std::size_t>(ordinal - first());
  if (frames_[index].dirty) write(index);
  return &frames_[index].bar;
}

}  // namespace seguente::page
