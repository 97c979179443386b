// The page under the mouse and the keys: pointing at notes, letting a bar stand still, going through it.
#include <algorithm>
#include <cmath>

#include "plugin/editor/reasons.h"
#include "plugin/editor/score_view.h"
#include "plugin/editor/strings.h"

namespace seguente::screen {
namespace {
constexpr double secondsOfOne = 0.6;  // a note that is stepped to
constexpr double reach = 1.1;         // staff spaces around a head that count as pointing at it

/// The written note of a head.
const page::Note* noteOf(const page::Bar& bar, const page::HeadPlace& head) {
  for (const auto& staff : bar.staves)
    for (const auto& voice : staff.voices)
      for (const auto& event : voice.events)
        if (event.at == head.at)
          for (const auto* list : {&event.notes, &event.graces})
            for (const auto& note : *list)
              if (note.noteId == head.noteId && note.key == head.key && note.source == head.source) return &note;
  return nullptr;
}
}  // namespace

const page::Bar* ScoreView::shownBar(std::uint64_t ordinal) const {
  for (const auto& bars : bars_)
    for (const auto& bar : bars)
      if (bar.ordinal == ordinal) return &bar;
  return nullptr;
}

const page::BarPlace* ScoreView::placeOf(std::uint64_t bar, const Drawing** drawing) const {
  for (const auto& d : drawings_)
    for (const auto& place : d.sheet().bars)
      if (place.ordinal == bar) {
        *drawing = &d;
        return &place;
      }
  return nullptr;
}

juce::Rectangle<int> ScoreView::frameOf(std::uint64_t bar) const {
  const Drawing* drawing = nullptr;
  const auto* place = placeOf(bar, &drawing);
  if (place == nullptr) return {};
  const auto a = drawing->toScreen({place->box.left + 0.2, place->box.top - 6.3});
  const auto b = drawing->toScreen({place->box.right - 0.2, place->box.bottom + 6.6});
  return juce::Rectangle<float>(a, b).getSmallestIntegerContainer().getIntersection(getLocalBounds());
}

std::optional<std::uint64_t> ScoreView::barAt(juce::Point<float> at) const {
  for (const auto& drawing : drawings_)
    for (const auto& place : drawing.sheet().bars)
      if (frameOf(place.ordinal).toFloat().contains(at)) return place.ordinal;
  return std::nullopt;
}

std::vector<ScoreView::Found> ScoreView::headsOf(std::uint64_t bar) const {
  std::vector<Found> all;
  for (const auto& drawing : drawings_)
    for (const auto& head : drawing.sheet().heads)
      if (head.ordinal == bar) all.push_back({&drawing, &head});
  std::stable_sort(all.begin(), all.end(), [](const Found& a, const Found& b) {
    return a.head->at != b.head->at ? a.head->at < b.head->at : a.head->middle.y > b.head->middle.y;
  });
  return all;
}

ScoreView::Found ScoreView::headAt(juce::Point<float> at) const {
  Found nearest;
  double least = reach;
  for (const auto& drawing : drawings_) {
    const auto p = drawing.toSheet(at);
    for (const auto& head : drawing.sheet().heads) {
      const double away = std::hypot(head.middle.x - p.x, head.middle.y - p.y);
      if (away < least) {
        least = away;
        nearest = {&drawing, &head};
      }
    }
  }
  return nearest;
}

const page::HeadPlace* ScoreView::pointedNote() const {
  if (!pointed_) return nullptr;
  const auto heads = headsOf(pointed_->first);
  return pointed_->second < heads.size() ? heads[pointed_->second].head : nullptr;
}

juce::String ScoreView::remark() const {
  if (const auto* head = pointedNote())
    if (const auto* bar = shownBar(head->ordinal))
      if (const auto* note = noteOf(*bar, *head)) return whyOf(*note, *bar, head->at);
  return plain(words::pageRemark);
}

juce::String ScoreView::titleOf(std::uint64_t ordinal) const {
  juce::String title = plain(words::page);
  const auto* bar = shownBar(ordinal);
  if (bar == nullptr) return title;
  title << ", " << plain(words::bar) << juce::String(bar->number);
  for (const auto& chord : bar->chords) {
    title << ", " << plain(chord.symbol);
    if (!chord.numeral.empty()) title << ", " << plain(chord.numeral);
  }
  for (const auto& form : bar->form) title << ", " << figureWord(form.kind);
  return title;
}

/// The bar that stands still, the one under the cursor, else the one that is being written.
void ScoreView::say() {
  const auto bar = frozen_ ? frozen_->ordinal : cursor_ ? *cursor_ : head_;
  auto title = titleOf(bar);
  if (frozen_ && frozen_->ordinal == bar)
    title << ", " << plain(words::standingStill).replace("%", juce::String(frozen_->number));
  setTitle(title);
  setDescription(remark());
}

std::optional<std::uint64_t> ScoreView::frozen() const {
  return frozen_ ? std::optional(frozen_->ordinal) : std::nullopt;
}

void ScoreView::freeze(std::optional<std::uint64_t> bar) {
  frozen_.reset();
  pointed_.reset();
  if (reading_ && sound) sound({}, 1);
  reading_.reset();
  if (bar)
    if (const auto* found = shownBar(*bar); found != nullptr && *bar < score_->writer().end()) frozen_ = *found;
  seen_ = ~0ull;
  repaint();
  if (score_ != nullptr) refresh(*score_);
  say();
}

void ScoreView::step(int by) {
  if (!frozen_) {
    freeze(cursor_ ? *cursor_ : head_);
    if (!frozen_) return;
  }
  const auto count = headsOf(frozen_->ordinal).size();
  if (count == 0) return;
  const auto last = static_cast<std::int64_t>(count) - 1;
  const bool here = pointed_ && pointed_->first == frozen_->ordinal;
  const auto at = here ? static_cast<std::int64_t>(pointed_->second) + by : (by > 0 ? 0 : last);
  pointed_ = {frozen_->ordinal, static_cast<std::size_t>(std::clamp<std::int64_t>(at, 0, last))};
  repaint();
  say();
  if (pointed) pointed(this);
  const auto* head = pointedNote();
  if (head == nullptr || !sound) return;
  for (auto note : page::readingOf(*frozen_)) {
    if (note.at != head->at || note.key != head->key || note.noteId != head->noteId) continue;
    note.on = 0;
    note.off = 1;
    reading_.reset();
    sound({note}, secondsOfOne);
    return;
  }
}

void ScoreView::readSlowly() {
  constexpr double pace = 2;  // a quarter note takes twice its time
  if (reading_) {
    reading_.reset();
    if (sound) sound({}, 1);
    return;
  }
  if (!frozen_) freeze(cursor_ ? *cursor_ : head_);
  if (!frozen_ || !sound) return;
  const double tempo = frozen_->quartersPerMinute > 0 ? frozen_->quartersPerMinute : 120;
  reading_ = Reading{page::readingOf(*frozen_), pace * 60 / tempo, false};
  sound(reading_->notes, reading_->secondsAQuarter);
}

/// Points at what is being read, note by note.
void ScoreView::followReading() {
  if (!reading_ || !soundedSeconds) return;
  const auto at = soundedSeconds();
  if (!at) {
    if (reading_->began) reading_.reset();
    return;
  }
  reading_->began = true;
  const page::ReadNote* last = nullptr;
  for (const auto& note : reading_->notes)
    if (note.on * reading_->secondsAQuarter <= *at && (last == nullptr || note.on > last->on)) last = &note;
  if (last == nullptr || !frozen_) return;
  const auto heads = headsOf(frozen_->ordinal);
  for (std::size_t i = 0; i < heads.size(); ++i) {
    const auto& head = *heads[i].head;
    if (head.at != last->at || head.key != last->key || head.noteId != last->noteId) continue;
    const std::pair now{frozen_->ordinal, i};
    if (pointed_ == now) return;
    pointed_ = now;
    repaint();
    if (pointed) pointed(this);
    return;
  }
}

void ScoreView::turn(int by) {
  turned_ = std::clamp(turned_ + by, 0, std::max(0, static_cast<int>(plans_.size()) - 1));
  seen_ = ~0ull;
  if (score_ != nullptr) refresh(*score_);
}

bool ScoreView::keyPressed(const juce::KeyPress& key) {
  using juce::KeyPress;
  if (key.getModifiers().isAnyModifierKeyDown() || score_ == nullptr) return false;
  auto& writer = score_->writer();
  const int code = key.getKeyCode();
  if (code == KeyPress::leftKey || code == KeyPress::rightKey) {
    if (writer.end() == writer.first()) return true;
    const auto last = writer.end() - 1;
    const auto from = cursor_ ? *cursor_ : last + (code == KeyPress::leftKey ? 1 : 0);
    cursor_ =
        std::clamp(code == KeyPress::leftKey ? std::max(from, writer.first() + 1) - 1 : from + 1, writer.first(), last);
    while (shownBar(*cursor_) == nullptr && turned_ + 1 < static_cast<int>(plans_.size())) turn(1);
    if (*cursor_ == last) turn(-turned_);
    repaint();
    say();
    return true;
  }
  if (code == KeyPress::pageUpKey || code == KeyPress::pageDownKey) {
    turn(code == KeyPress::pageUpKey ? 1 : -1);
    return true;
  }
  if (code == KeyPress::returnKey || code == KeyPress::spaceKey) {
    freeze(frozen_ ? std::nullopt : std::optional(cursor_ ? *cursor_ : head_));
    return true;
  }
  if (code == KeyPress::escapeKey && (frozen_ || cursor_ || turned_ > 0)) {
    cursor_.reset();
    turned_ = 0;
    freeze(std::nullopt);
    return true;
  }
  if (key.getTextCharacter() == ',' || key.getTextCharacter() == '.') {
    step(key.getTextCharacter() == '.' ? 1 : -1);
    return true;
  }
  if (key.getTextCharacter() == '/' || key.getTextCharacter() == '-') {  // right of the full stop, by country
    readSlowly();
    return true;
  }
  if (key.getTextCharacter() == 'w' || key.getTextCharacter() == 'W') {
    if (!pointed_) step(1);
    if (pointed) pointed(this);
    return true;
  }
  return false;
}

void ScoreView::mouseMove(const juce::MouseEvent& event) {
  const auto found = headAt(event.position);
  std::optional<std::pair<std::uint64_t, std::size_t>> now;
  if (found.head != nullptr) {
    const auto heads = headsOf(found.head->ordinal);
    for (std::size_t i = 0; i < heads.size(); ++i)
      if (heads[i].head == found.head) now = {found.head->ordinal, i};
  }
  if (now == pointed_ || (!now && frozen_)) return;
  for (const auto* head : {pointedNote(), found.head})
    if (head != nullptr)
      for (const auto& f : headsOf(head->ordinal))
        if (f.head == head) {
          const auto at = f.drawing->toScreen(head->middle);
          repaint(juce::Rectangle<float>(at.x - 16, at.y - 16, 32, 32).getSmallestIntegerContainer());
        }
  pointed_ = now;
  if (pointed) pointed(this);
}

void ScoreView::mouseDown(const juce::MouseEvent& event) {
  if (slowlyArea().contains(event.getPosition())) return readSlowly();
  const auto bar = barAt(event.position);
  if (!bar) return;
  cursor_ = bar;
  freeze(frozen_ && frozen_->ordinal == *bar ? std::nullopt : bar);
  mouseMove(event);
}

void ScoreView::mouseWheelMove(const juce::MouseEvent&, const juce::MouseWheelDetails& wheel) {
  if (wheel.deltaY != 0) turn(wheel.deltaY > 0 ? 1 : -1);
}

}  // namespace seguente::screen
