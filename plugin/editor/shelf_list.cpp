#include "plugin/editor/shelf_list.h"

#include <algorithm>

#include "dsp/idiom_effort.h"
#include "plugin/editor/strings.h"
#include "plugin/processor.h"

namespace seguente::screen {
namespace {

constexpr int rowHeight = 24;
constexpr int chapterHeight = 30;
constexpr int aboutHeight = 16;
constexpr int bookmark = 5;
constexpr int indent = 36;
constexpr int measureWidth = 22;

juce::String meterText(Meter meter) {
  if (!meter.valid()) return plain(words::anyMeter);
  return juce::String(meter.numerator) + "/" + juce::String(meter.denominator);
}

juce::String origin(const SlotEntry& entry) {
  if (entry.origin == SlotOrigin::yours) return plain(words::yourOwn);
  if (entry.origin == SlotOrigin::session) return plain(words::fromSession);
  return {};
}

juce::String chapterTitle(const SlotEntry& entry) {
  if (entry.origin != SlotOrigin::shipped) return plain(words::yourOwnChapter);
  if (!entry.meter.valid()) return plain(words::anyMeterChapter);
  const auto n = entry.meter.numerator;
  const auto word = n <= std::size(words::beats) ? plain(words::beats[n - 1u]) : juce::String(static_cast<int>(n));
  return plain(words::inChapter) + word;
}

/// Three before four before two, then what is rarer, then any meter, then one's own: the order of first lessons.
int chapterRank(const SlotEntry& entry) {
  if (entry.origin != SlotOrigin::shipped) return 1000;
  if (!entry.meter.valid()) return 900;
  const int n = entry.meter.numerator;
  const int rank = n == 3 ? 0 : n == 4 ? 1 : n == 2 ? 2 : n == 6 ? 3 : n + 10;
  return rank * 20 + entry.meter.denominator;
}

}  // namespace

ShelfList::ShelfList(const Look& look, Processor& processor)
    : Element(look, plain(words::contents), juce::AccessibilityRole::list), processor_(processor) {
  setHelpText(plain(words::contentsRemark));
  setWantsKeyboardFocus(true);
}

juce::String ShelfList::remark() const { return plain(words::contentsRemark); }

void ShelfList::refresh() {
  auto& shelf = processor_.shelf();
  const auto changes = shelf.changes();
  const int chosen = processor_.session().slot();
  const bool anew = !opened_ || changes != changes_;
  if (!anew && chosen == chosen_) return;
  chosen_ = chosen;
  if (anew) {
    opened_ = true;
    changes_ = changes;
    read();
  }
  place();
  say();
  repaint();
  const auto row = chosenRow();
  if (auto* scroll = findParentComponentOfClass<Scroll>(); scroll != nullptr && row >= 0)
    scroll->follow(rows_[static_cast<std::size_t>(row)].whole);
}

void ShelfList::read() {
  auto& shelf = processor_.shelf();
  all_.clear();
  for (const auto slot : shelf.filled()) {
    Row row;
    row.slot = slot;
    row.entry = shelf.entry(slot);
    if (const auto idiom = shelf.idiom(slot)) {
      row.measure = effortOf(*idiom).grade;
      for (const auto& name : idiom->also) row.sought << plain(name) << "\n";
    }
    row.sought << plain(row.entry.title) << "\n"
               << plain(row.entry.id) << "\n"
               << plain(row.entry.about) << "\n"
               << meterText(row.entry.meter) << "\n"
               << chapterTitle(row.entry);
    all_.push_back(std::move(row));
  }
  std::stable_sort(all_.begin(), all_.end(),
                   [](const Row& a, const Row& b) { return chapterRank(a.entry) < chapterRank(b.entry); });
  find(words_);
}

/// Every word must be answered.
void ShelfList::find(const juce::String& sought) {
  words_ = sought;
  const auto each = juce::StringArray::fromTokens(sought, " -", "");
  rows_.clear();
  chapters_.clear();
  for (const auto& row : all_) {
    const auto flat = row.sought.replaceCharacter('-', ' ');
    if (!std::all_of(each.begin(), each.end(), [&](const juce::String& word) { return flat.containsIgnoreCase(word); }))
      continue;
    const auto title = chapterTitle(row.entry);
    if (chapters_.empty() || chapters_.back().title != title)
      chapters_.push_back(
          {row.entry.origin == SlotOrigin::shipped ? row.entry.meter : Meter{0, 0}, title, {}, rows_.size()});
    rows_.push_back(row);
  }
  place();
  repaint();
}

void ShelfList::fit(int width) {
  setSize(width, getHeight());
  place();
}

/// The chosen row opens and says what its idiom is for.
void ShelfList::place() {
  int y = edge;
  const int width = getWidth() - 2 * edge;
  auto chapter = chapters_.begin();
  for (std::size_t i = 0; i < rows_.size(); ++i) {
    auto& row = rows_[i];
    if (chapter != chapters_.end() && chapter->first == i) {
      if (i > 0) y += 6;
      chapter->line = {edge, y, width, chapterHeight};
      y += chapterHeight;
      ++chapter;
    }
    row.line = {edge, y, width, rowHeight};
    row.about.clear();
    int height = rowHeight;
    if (static_cast<int>(row.slot) == chosen_) {
      row.about = broken(font(type::small, Weight::italic), plain(row.entry.about), width - indent - measureWidth, 4);
      if (const auto from = origin(row.entry); from.isNotEmpty()) row.about.push_back(from);
      height += static_cast<int>(row.about.size()) * aboutHeight + (row.about.empty() ? 0 : 6);
    }
    row.whole = row.line.withHeight(height);
    y += height;
  }
  if (rows_.empty()) y += 4 * rowHeight;
  setSize(getWidth(), y + edge);
}

std::vector<juce::Rectangle<int>> ShelfList::targets() const {
  std::vector<juce::Rectangle<int>> all;
  for (const auto& row : rows_) all.push_back(row.whole);
  return all;
}

std::vector<PlacedText> ShelfList::texts() const {
  std::vector<PlacedText> all;
  if (rows_.empty() && words_.isNotEmpty()) {
    auto area = getLocalBounds().reduced(edge).withTrimmedLeft(bookmark + 8);
    const auto face = font(type::comment, Weight::italic);
    for (const auto& line : broken(face, plain(words::noneByThatName), area.getWidth()))
      all.push_back({line, face, area.removeFromTop(rowHeight), Ink::soft});
    return all;
  }
  for (const auto& chapter : chapters_) {
    auto line = chapter.line.withTrimmedLeft(bookmark + 3);
    if (chapter.meter.valid()) {  // the figures as a score has them, one over the other
      const auto figures = font(type::body, Weight::bold);
      auto place = line.removeFromLeft(indent - bookmark - 3).withWidth(18);
      all.push_back({juce::String(chapter.meter.numerator), figures, place.removeFromTop(chapterHeight / 2), Ink::ink,
                     Side::middle});
      all.push_back({juce::String(chapter.meter.denominator), figures, place, Ink::ink, Side::middle});
    } else {
      line.removeFromLeft(indent - bookmark - 3);
    }
    all.push_back({chapter.title, font(type::comment, Weight::italic), line.withTrimmedTop(6), Ink::soft});
  }
  for (const auto& row : rows_) {
    const bool now = static_cast<int>(row.slot) == chosen_;
    const auto face = font(type::body, now ? Weight::bold : Weight::roman);
    auto line = row.line.withTrimmedLeft(indent);
    const auto measure = line.removeFromRight(measureWidth);
    const auto title = shortened(face, plain(row.entry.title), line.getWidth());
    all.push_back({title, face, line.withWidth(std::min(line.getWidth(), widthOf(face, title) + 1))});
    all.push_back({juce::String(row.measure), face, measure, Ink::ink, Side::right});
    auto below = row.whole.withTrimmedTop(rowHeight).withTrimmedLeft(indent);
    for (const auto& about : row.about)
      all.push_back({about, font(type::small, Weight::italic), below.removeFromTop(aboutHeight), Ink::soft});
  }
  return all;
}

/// Leaders of dots from title to figure, as in a book; the bookmark at the chosen one.
void ShelfList::drawMarks(juce::Graphics& g) const {
  const auto clip = g.getClipBounds();
  g.setColour(palette().rule);
  for (const auto& row : rows_) {
    if (!row.line.intersects(clip)) continue;
    const bool now = static_cast<int>(row.slot) == chosen_;
    const int from = row.line.getX() + indent +
                     widthOf(font(type::body, now ? Weight::bold : Weight::roman), plain(row.entry.title)) + 6;
    const float y = static_cast<float>(row.line.getCentreY()) + 5;
    for (int x = row.line.getRight() - measureWidth + 2; x > from; x -= 6)
      g.fillEllipse(static_cast<float>(x), y, 1.4f, 1.4f);
  }
  const auto row = chosenRow();
  if (row < 0) return;
  g.setColour(palette().ink);
  g.fillRect(rows_[static_cast<std::size_t>(row)].whole.withWidth(bookmark).reduced(0, 2));
}

std::ptrdiff_t ShelfList::chosenRow() const {
  const auto found =
      std::find_if(rows_.begin(), rows_.end(), [&](const Row& row) { return static_cast<int>(row.slot) == chosen_; });
  return found == rows_.end() ? -1 : found - rows_.begin();
}

void ShelfList::say() {
  const auto row = chosenRow();
  const auto title = plain(words::contents);
  if (row < 0) return setTitle(title);
  const auto& entry = rows_[static_cast<std::size_t>(row)].entry;
  const auto meter = entry.meter.valid() ? chapterTitle(entry).toLowerCase() : plain(words::anyMeterLong);
  setTitle(title + ", " + plain(entry.title) + ", " + meter + ", " + plain(words::leftHand) +
           juce::String(rows_[static_cast<std::size_t>(row)].measure) + plain(words::ofFive));
}

void ShelfList::choose(std::size_t slot) {
  auto& host = processor_.hostParameter(ParameterId::idiom);
  host.beginChangeGesture();
  host.setValueNotifyingHost(host.convertTo0to1(static_cast<float>(slot)));
  host.endChangeGesture();
  refresh();
}

void ShelfList::chooseRow(std::ptrdiff_t row) {
  if (rows_.empty()) return;
  const auto last = static_cast<std::ptrdiff_t>(rows_.size()) - 1;
  choose(rows_[static_cast<std::size_t>(std::clamp(row, std::ptrdiff_t{0}, last))].slot);
}

void ShelfList::focusGained(FocusChangeType cause) {
  before_ = static_cast<std::size_t>(processor_.session().slot());
  Element::focusGained(cause);
}

bool ShelfList::keyPressed(const juce::KeyPress& key) {
  using juce::KeyPress;
  if (key.getModifiers().isCommandDown() || key.getModifiers().isAltDown()) return false;
  const int code = key.getKeyCode();
  const auto row = chosenRow();
  if (code == KeyPress::downKey)
    chooseRow(row + 1);
  else if (code == KeyPress::upKey)
    chooseRow(row - 1);
  else if (code == KeyPress::homeKey)
    chooseRow(0);
  else if (code == KeyPress::endKey)
    chooseRow(static_cast<std::ptrdiff_t>(rows_.size()) - 1);
  else if (code == KeyPress::escapeKey && static_cast<std::size_t>(chosen_) != before_)
    choose(before_);
  else
    return code != KeyPress::escapeKey && chooseByLetter(key.getTextCharacter());
  return true;
}

/// The next title that begins with the letter, going round.
bool ShelfList::chooseByLetter(juce::juce_wchar letter) {
  if (!byLetter_ || !juce::CharacterFunctions::isLetter(letter)) return false;
  const auto count = static_cast<std::ptrdiff_t>(rows_.size());
  for (std::ptrdiff_t i = 1; i <= count; ++i) {
    const auto at = (chosenRow() + i) % count;
    const auto title = plain(rows_[static_cast<std::size_t>(at)].entry.title);
    if (!title.startsWithIgnoreCase(juce::String::charToString(letter))) continue;
    chooseRow(at);
    break;
  }
  return true;
}

void ShelfList::mouseDown(const juce::MouseEvent& event) {
  for (const auto& row : rows_) {
    if (!row.whole.contains(event.getPosition())) continue;
    choose(row.slot);
    return;
  }
}

}  // namespace seguente::screen
