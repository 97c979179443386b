#include "plugin/editor/preview.h"

#include <algorithm>

#include "dsp/harmony.h"
#include "dsp/idiom_family.h"
#include "plugin/processor.h"

namespace seguente::screen {
namespace {
constexpr int mostBars = 4;
constexpr int rehearsed = 8;  // a phrase, so that its lift is known too
}  // namespace

bool Preview::refresh(Processor& processor) {
  auto& score = processor.score();
  const auto& view = score.view();
  const auto values = processor.values().changes();
  const auto shelf = processor.shelf().changes();
  const bool sameChord =
      score.chords() == chords_ && view.hasChord == !chord_.none() && (chord_.none() || view.chord == chord_);
  if (slot_ == view.slot && values == values_ && shelf == shelf_ && view.meter == meter_ && view.key == key_ &&
      sameChord)
    return false;
  slot_ = view.slot;
  values_ = values;
  shelf_ = shelf;
  meter_ = view.meter;
  key_ = view.key;
  chords_ = score.chords();
  idiom_ = processor.shelf().idiom(static_cast<std::size_t>(std::max(0, slot_)));
  plays_ = idiom_ ? inMeter(*idiom_, meter_) : nullptr;
  chord_ = {};
  held_ = {};
  rehearsal_ = {};
  bars_.clear();
  if (!view.hasChord || chords_.empty()) return true;
  chord_ = view.chord;
  held_ = chords_.back();
  RehearsalTask task;
  task.idiom = idiom_.get();
  task.settings = settingsFrom(processor.values(), plays_);
  task.meter = meter_;
  task.key = key_;
  task.chords = chords_;
  task.bars = rehearsed;
  rehearsal_ = rehearse(task);
  write();
  grips_.clear();
  if (task.settings.density == Density::lean) findFingers(task.settings.handSpan);
  return true;
}

/// Of the bars that are shown: what comes later is the same again.
void Preview::findFingers(int span) {
  const Ticks until = meter_.bar() * static_cast<std::int64_t>(bars_.size());
  for (const auto& told : rehearsal_.told) {
    if (told.kind != page::ToldKind::ourNote || told.part == PartKind::percussion || told.reason.dueTick >= until)
      continue;
    if (grips_.empty() || grips_.back().at != told.reason.dueTick) grips_.push_back({told.reason.dueTick, {}, {}});
    grips_.back().keys.push_back(told.key);
  }
  for (auto& grip : grips_) std::sort(grip.keys.begin(), grip.keys.end());
  finger(grips_, span);
}

std::array<int, 128> Preview::fingersAfter(const NoteReason& last) const {
  std::array<int, 128> fingers{};
  for (const auto& told : rehearsal_.told) {
    if (told.kind != page::ToldKind::ourNote || told.reason.figure != last.figure || told.reason.row != last.row)
      continue;
    for (std::size_t i = 0; i < grips_.size(); ++i) {
      if (grips_[i].at != told.reason.dueTick) continue;
      for (const auto& grip : {grips_[(i + 1) % grips_.size()], grips_[i]})  // what sounds now has the last word
        for (std::size_t k = 0; k < grip.fingers.size(); ++k) fingers[grip.keys[k].value] = grip.fingers[k];
    }
    break;
  }
  return fingers;
}

/// Without a signature: every sign is seen.
void Preview::write() {
  if (rehearsal_.told.empty() || plays_ == nullptr) return;
  page::Writer writer;
  for (auto told : rehearsal_.told) {
    told.chordKey = {};
    writer.tell(told);
  }
  const auto bar = meter_.bar();
  writer.tell(page::Told::of(page::ToldKind::now, rehearsal_.length));
  const auto& figures = plays_->at(Density::medium);
  Ticks length = plays_->figure(figures.statement).length;
  if (figures.answer.there()) length = length + plays_->figure(figures.answer).length;
  // A figure of any meter fills whatever bar there is.
  const auto bars = plays_->anyMeter ? 1 : (length.value + bar.value - 1) / bar.value;
  for (std::int64_t i = 0; i < std::clamp<std::int64_t>(bars, 1, mostBars); ++i)
    if (const auto* written = writer.bar(static_cast<std::uint64_t>(i))) {
      bars_.push_back(*written);
      bars_.back().current = false;
    }
}

}  // namespace seguente::screen
