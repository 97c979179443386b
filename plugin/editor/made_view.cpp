#include "plugin/editor/made_view.h"

#include <algorithm>
#include <cmath>

#include "dsp/harmony.h"
#include "plugin/editor/held_names.h"
#include "plugin/editor/reasons.h"
#include "plugin/editor/strings.h"
#include "plugin/live_score.h"
#include "plugin/page/beats.h"
#include "plugin/page/marks.h"
#include "plugin/page/measure.h"
#include "plugin/page/staff_layout.h"

namespace seguente::screen {
namespace {

constexpr int headingHeight = 26;
constexpr double plainShare = 0.24;  // of the width, for the plain chord
constexpr double degreeSize = 1.62, labelSize = 1.62;
constexpr float usualSpace = 8;

template <class Visit>
void forEachNote(page::Bar& bar, Visit&& visit) {
  for (auto& voice : bar.staff(page::StaffKind::lower).voices)
    for (auto& event : voice.events)
      for (auto& note : event.notes) visit(event, note);
}

page::Mark text(double x, double y, const juce::String& words, double size, page::Style style, page::Anchor anchor,
                page::Token token = page::Token::ink) {
  return page::textMark({x, y}, words.toStdString(), size, style, anchor, token);
}

}  // namespace

MadeView::MadeView(const Look& look) : Element(look, plain(words::howItIsMade), juce::AccessibilityRole::image) {
  setHelpText(plain(words::madeRemark));
  setWantsKeyboardFocus(true);
}

void MadeView::resized() { write(); }

void MadeView::refresh(const Preview& preview, const LiveScore& score, bool fresh) {
  preview_ = &preview;
  std::optional<std::pair<FigureKind, Ticks>> now;
  if (const auto& last = score.last(); last && score.view().playing && preview.meter().valid()) {
    const auto bar = preview.meter().bar();
    const auto since = last->dueTick - score.view().barStart;
    now = {last->figure, since - bar * floorDivide(since.value, bar.value)};
  }
  if (!fresh && now == now_ && preview_ != nullptr) return;
  now_ = now;
  if (fresh) {
    const auto said = sentence();
    if (said != sentence_) repaint();
    sentence_ = said;
    cursor_.reset();
  }
  write();
  if (fresh) say();
}

juce::String MadeView::sentence() const {
  if (preview_->chord().none()) return plain(words::noChord);
  const auto& chord = preview_->chord();
  int held = 0;
  preview_->held().forEach([&](NoteNumber) { ++held; });
  if (held == 1) return plain(words::oneKey);
  auto said = plain(words::youHold) + namesOf(preview_->held(), chord) + plain(words::thatIs) +
              plain(page::printedSymbol(chord));
  for (std::size_t i = 0; i < chord.count; ++i) {
    PitchClass tone{static_cast<std::uint8_t>((chord.root.value + chord.tones[i]) % 12)};
    if (!chord.held.has(tone)) {
      const auto degree = degreeIn(chord, {static_cast<std::uint8_t>(60 + tone.value)});
      said << ", " << degreeWord(degree).fromFirstOccurrenceOf(" ", false, false) << plain(words::leftOut);
    }
  }
  return said + ".";
}

/// What the hand holds, as one chord that lasts a bar.
page::Bar MadeView::plainChord() const {
  page::Bar bar;
  bar.meter = preview_->meter();
  bar.length = bar.meter.bar();
  page::Event event;
  event.length = bar.length;
  event.value = page::noteValue({}, bar.length, bar.meter, bar.length).value_or(page::Value{0, 0});
  preview_->held().forEach([&](NoteNumber key) {
    page::Note note;
    note.key = key;
    note.source = page::Source::held;
    event.notes.push_back(note);
  });
  page::ChordMark mark;
  mark.chord = preview_->chord();
  bar.chords.push_back(mark);
  bar.staff(page::StaffKind::lower).voices.push_back({{event}});
  page::spellBar(bar, std::nullopt);
  return bar;
}

void MadeView::drawBar(page::Sheet& sheet, const page::Bar& bar, double left, double right, double first,
                       page::Box& reach) {
  page::OpenTies ties;
  page::StaffDrawing drawing;
  const page::StaffTask task{&bar,
                             &bar.staff(page::StaffKind::lower),
                             page::shapeOf(page::StaffKind::lower),
                             true,
                             left,
                             right,
                             [&](Ticks at) {
                               return first + (right - first) * static_cast<double>(at.value) /
                                                  static_cast<double>(bar.length.value);
                             }};
  page::drawStaff(task, ties, drawing);
  for (auto& mark : drawing.marks) sheet.marks.push_back(std::move(mark));
  for (auto& head : drawing.heads) sheet.heads.push_back(head);
  reach.top = std::min(reach.top, drawing.top);
  reach.bottom = std::max(reach.bottom, drawing.bottom);
}

/// The figure's bars from x to x, with the degrees of each step; only the step that sounds has a colour.
void MadeView::figureBars(page::Sheet& sheet, double from, double right, page::Box& reach) {
  const auto& bars = preview_->bars();
  const double width = (right - from) / static_cast<double>(bars.size());
  FigureKind lastFigure{};
  std::vector<std::pair<double, juce::String>> labels;
  for (std::size_t b = 0; b < bars.size(); ++b) {
    auto bar = bars[b];
    const double left = from + width * static_cast<double>(b), end = left + width, first = left + 2.6;
    const auto xOf = [&](Ticks at) {
      return first + (end - first) * static_cast<double>(at.value) / static_cast<double>(bar.length.value);
    };
    std::optional<FigureKind> figure;
    forEachNote(bar, [&](page::Event& event, page::Note& note) {
      if (!figure) figure = note.reason.figure;
      const bool sounds = now_ && note.reason.figure == now_->first && event.at == now_->second;
      if (!sounds) note.source = page::Source::held;
      if (note.tiedIn) return;
      auto step =
          std::find_if(steps_.begin(), steps_.end(), [&](const Step& s) { return s.bar == b && s.at == event.at; });
      if (step == steps_.end()) {
        Step fresh;
        fresh.bar = b;
        fresh.at = event.at;
        fresh.x = xOf(event.at);
        fresh.figure = note.reason.figure;
        steps_.push_back(fresh);
        step = steps_.end() - 1;
      }
      const auto degree = degreeFigure(degreeIn(preview_->chord(), note.key));
      step->degrees << (step->degrees.isEmpty() ? "" : " ") << (degree.isEmpty() ? plain("\u2013") : degree);
      if (std::find(step->rows.begin(), step->rows.end(), note.reason.row) == step->rows.end())
        step->rows.push_back(note.reason.row);
      step->names << (step->names.isEmpty() ? "" : " ") << nameOf(note);
    });
    drawBar(sheet, bar, left, end, first, reach);
    sheet.marks.push_back(page::lineMark({end, 0}, {end, 4}, page::grid::barLine));
    if (figure && (b == 0 || *figure != lastFigure)) labels.emplace_back(first - 0.6, figureWord(*figure));
    if (figure) lastFigure = *figure;
    const auto beat = bar.meter.beat();
    for (std::int64_t n = 0; beat * n < bar.length; ++n) {
      const double x = xOf(beat * n);
      const bool now =
          now_ && figure && *figure == now_->first && now_->second >= beat * n && now_->second < beat * (n + 1);
      sheet.marks.push_back(text(x, countAt_, juce::String(static_cast<int>(n) + 1), now ? 1.9 : degreeSize,
                                 now ? page::Style::bold : page::Style::roman, page::Anchor::middle,
                                 now ? page::Token::ink : page::Token::soft));
      if (now) sheet.marks.push_back(page::lineMark({x - 0.9, countAt_ + 0.45}, {x + 0.9, countAt_ + 0.45}, 0.25));
    }
  }
  std::sort(steps_.begin(), steps_.end(),
            [](const Step& a, const Step& b) { return std::pair(a.bar, a.at) < std::pair(b.bar, b.at); });
  // Where steps lie close their degrees take turns to stand higher.
  double used = -100;
  bool high = false;
  for (auto& step : steps_) {
    const double wide = page::widthOf(step.degrees.toStdString(), page::Style::bold, degreeSize);
    const double left = step.x - wide / 2;
    high = left < used + 0.4 && !high;
    if (left >= used + 0.4) high = false;
    const bool sounds = now_ && step.figure == now_->first && step.at == now_->second;
    sheet.marks.push_back(text(std::max(step.x, from + 1.2 + wide / 2), high ? degreesAt_ - 1.4 : degreesAt_,
                               step.degrees, degreeSize, sounds ? page::Style::bold : page::Style::roman,
                               page::Anchor::middle));
    used = std::max(used, left + wide);
  }
  for (std::size_t i = 0; i < labels.size(); ++i)
    sheet.marks.push_back(text(labels[i].first, labelsAt_,
                               (i == 0 ? plain(words::itPlays) + label_ : juce::String()) + labels[i].second, labelSize,
                               page::Style::italic, page::Anchor::start, page::Token::soft));
}

/// Twice: rows and size follow from how far the notes reach.
void MadeView::write() {
  if (preview_ == nullptr || getWidth() < 100) return;
  float space = usualSpace;
  page::Sheet sheet;
  degreesAt_ = -2;
  labelsAt_ = -4.2;
  countAt_ = 7;
  for (int pass = 0; pass < 2; ++pass) {
    page::Box reach{0, 0, 0, 4};
    sheet = written(space, reach);
    bool crowded = false;
    for (std::size_t i = 1; i < steps_.size(); ++i)
      crowded = crowded || steps_[i].x - steps_[i - 1].x <
                               page::widthOf(steps_[i].degrees.toStdString(), page::Style::bold, degreeSize) + 0.6;
    degreesAt_ = std::min(-1.4, reach.top - 0.7);
    labelsAt_ = degreesAt_ - (crowded ? 3.4 : 2);
    countAt_ = std::max(6.4, reach.bottom + 1.5);
    const auto needs = static_cast<float>(countAt_ + 0.8 - (labelsAt_ - 1.3));
    const float room = static_cast<float>(getHeight() - headingHeight + 2);
    space = std::clamp(room / needs, 4.5f, usualSpace);
  }
  page::Box reach{0, 0, 0, 4};
  sheet = written(space, reach);
  const float top = static_cast<float>(headingHeight - 2) + static_cast<float>(1.3 - labelsAt_) * space;
  drawing_.set(std::move(sheet), space, {0, top}, [this](juce::Rectangle<int> area) { repaint(area); });
}

page::Sheet MadeView::written(float space, page::Box& reach) {
  steps_.clear();
  page::Sheet sheet;
  const double right = (static_cast<double>(getWidth()) - 1) / static_cast<double>(space);
  for (int i = 0; i < 5; ++i)
    sheet.marks.push_back(page::lineMark({0, static_cast<double>(i)}, {right, static_cast<double>(i)},
                                         page::grid::staffLine, page::Token::staff));
  sheet.marks.push_back(page::lineMark({0, 0}, {0, 4}, page::grid::barLine));
  sheet.marks.push_back(page::glyphMark(page::Glyph::bassClef, {1.85, 1}));
  double x = page::clefWidth;
  if (preview_->meter().valid()) {
    const double half = page::letters::time * page::capitalHeight;
    for (const auto& [figure, base] :
         {std::pair{preview_->meter().numerator, 2.0}, std::pair{preview_->meter().denominator, 4.0}})
      sheet.marks.push_back(text(x + 0.9, base - (2 - half) / 2, juce::String(static_cast<int>(figure)),
                                 page::letters::time, page::Style::bold, page::Anchor::middle));
    x += page::timeWidth;
  }
  const double from = std::max(x + 9, right * plainShare);
  if (!preview_->chord().none() && preview_->meter().valid()) {
    auto chord = plainChord();
    const double middle = (x + from) / 2;
    drawBar(sheet, chord, x, from, middle, reach);
    juce::String degrees;
    preview_->held().forEach([&](NoteNumber key) {
      const auto figure = degreeFigure(degreeIn(preview_->chord(), key));
      degrees << (degrees.isEmpty() ? "" : " ") << (figure.isEmpty() ? plain("\u2013") : figure);
    });
    sheet.marks.push_back(text(middle, degreesAt_, degrees, degreeSize, page::Style::bold, page::Anchor::middle));
    sheet.marks.push_back(text(middle, labelsAt_, plain(words::youHoldLabel), labelSize, page::Style::italic,
                               page::Anchor::middle, page::Token::soft));
    const bool relative = preview_->plays() != nullptr && preview_->plays() != preview_->chosen();
    label_ = relative ? plain(preview_->plays()->title).toLowerCase() + ", " : juce::String();
    if (!preview_->bars().empty()) figureBars(sheet, from + 0.4, right, reach);
  }
  for (const double at : {from, from + 0.4})
    sheet.marks.push_back(page::lineMark({at, 0}, {at, 4}, page::grid::barLine));
  return sheet;
}

void MadeView::drawMarks(juce::Graphics& g) const {
  drawing_.paint(g, look());
  const auto frame = framed();
  if (!frame) return;
  const auto at = drawing_.toScreen({steps_[*frame].x, degreesAt_ - 1.4});
  const auto foot = drawing_.toScreen({0, countAt_ + 0.7});
  g.setColour(palette().ink);
  g.drawRect(juce::Rectangle<float>(at.x - 14, at.y, 28, foot.y - at.y), edited_ ? 2.5f : 1.5f);
}

void MadeView::setEdited(std::optional<EditedRow> row) { show(*this, edited_, row); }

/// The step that is edited, else the one that is looked at.
std::optional<std::size_t> MadeView::framed() const {
  if (!edited_) return cursor_ && *cursor_ < steps_.size() ? cursor_ : std::nullopt;
  for (std::size_t i = 0; i < steps_.size(); ++i)
    if (const auto& rows = steps_[i].rows;
        steps_[i].figure == edited_->first && std::find(rows.begin(), rows.end(), edited_->second) != rows.end())
      return i;
  return std::nullopt;
}

std::vector<PlacedText> MadeView::texts() const {
  auto line = getLocalBounds().withHeight(headingHeight).withTrimmedRight(right_ + 8);
  const auto bold = font(type::value, Weight::bold), comment = font(type::comment, Weight::italic);
  const auto title = plain(words::howItIsMade);
  std::vector<PlacedText> all{{title, bold, line.removeFromLeft(widthOf(bold, title) + 1)}};
  line.removeFromLeft(16);
  if (widthOf(comment, sentence_) <= line.getWidth())
    all.push_back({sentence_, comment, line.withTrimmedTop(2), Ink::soft});
  return all;
}

juce::String MadeView::stepTitle(const Step& step) const {
  const auto beat = preview_->meter().beat();
  const auto whole = step.at.value / beat.value + 1;
  return figureWord(step.figure) + ", " + plain(words::beat) + juce::String(whole) +
         (step.at.value % beat.value == 0 ? juce::String() : plain(words::andAHalf)) + ", " + plain(words::degree) +
         step.degrees + ", " + step.names;
}

void MadeView::say() {
  const auto title = plain(words::howItIsMade);
  setTitle(cursor_ && *cursor_ < steps_.size() ? title + ", " + stepTitle(steps_[*cursor_]) : title);
  setDescription(sentence_);
}

juce::String MadeView::remark() const {
  if (cursor_ && *cursor_ < steps_.size()) return stepTitle(steps_[*cursor_]) + ".";
  return sentence_.isEmpty() ? plain(words::madeRemark) : sentence_;
}

bool MadeView::keyPressed(const juce::KeyPress& key) {
  using juce::KeyPress;
  const int code = key.getKeyCode();
  if (editKey && editKey(key)) return true;
  if (key.getModifiers().isCommandDown() || key.getModifiers().isAltDown()) return false;
  if (const auto letter = key.getTextCharacter(); (letter == '+' || letter == '-') && density) {
    density(letter == '+' ? 1 : -1);
    return true;
  }
  if (code != KeyPress::leftKey && code != KeyPress::rightKey) return false;
  if (steps_.empty()) return true;
  const auto last = static_cast<std::int64_t>(steps_.size()) - 1;
  const auto at = cursor_ ? static_cast<std::int64_t>(*cursor_) + (code == KeyPress::rightKey ? 1 : -1) : 0;
  cursor_ = static_cast<std::size_t>(std::clamp<std::int64_t>(at, 0, last));
  repaint();
  say();
  if (pointed) pointed(this);
  return true;
}

std::optional<std::size_t> MadeView::stepAt(juce::Point<float> place) const {
  const auto p = drawing_.toSheet(place);
  std::optional<std::size_t> found;
  for (std::size_t i = 0; i < steps_.size(); ++i)
    if (std::abs(steps_[i].x - p.x) < 1.8 && p.y > degreesAt_ - 1.5) found = i;
  return found;
}

void MadeView::mouseDown(const juce::MouseEvent& event) {
  if (isShowing()) grabKeyboardFocus();
  const auto at = stepAt(event.position);
  if (!at || !picked || steps_[*at].rows.empty()) return;
  const auto& step = steps_[*at];
  const auto now = edited_ && edited_->first == step.figure
                       ? std::find(step.rows.begin(), step.rows.end(), edited_->second)
                       : step.rows.end();
  const bool last = now == step.rows.end() || now + 1 == step.rows.end();
  picked(step.figure, last ? step.rows.front() : *(now + 1));
}

void MadeView::mouseMove(const juce::MouseEvent& event) {
  const auto now = stepAt(event.position);
  if (now == cursor_) return;
  cursor_ = now;
  repaint();
  if (pointed) pointed(this);
}

}  // namespace seguente::screen
