#include "plugin/editor/shelf_list.h"

#include <algorithm>

#include "plugin/editor/strings.h"
#include "plugin/processor.h"

namespace seguente::screen {
namespace {

constexpr int rowHeight = 26;
constexpr int aboutHeight = 17;
constexpr int bookmark = 5;
constexpr int placeWidth = 34;
constexpr int meterWidth = 44;

juce::String meterText(Meter meter) {
  if (!meter.valid()) return plain(words::anyMeter);
  return juce::String(meter.numerator) + "/" + juce::String(meter.denominator);
}

juce::String origin(const SlotEntry& entry) {
  if (entry.origin == SlotOrigin::yours) return plain(words::yourOwn);
  if (entry.origin == SlotOrigin::session) return plain(words::fromSession);
  return {};
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
  if (anew) {
    opened_ = true;
    changes_ = changes;
    rows_.clear();
    for (const auto slot : shelf.filled()) rows_.push_back({slot, shelf.entry(slot), {}, {}, {}});
  }
  chosen_ = chosen;
  place();
  say();
  repaint();
  const auto row = chosenRow();
  if (auto* scroll = findParentComponentOfClass<Scroll>(); scroll != nullptr && row >= 0)
    scroll->follow(rows_[static_cast<std::size_t>(row)].whole);
}

void ShelfList::fit(int width) {
  setSize(width, getHeight());
  place();
}

/// The chosen row opens and says what its idiom is for.
void ShelfList::place() {
  int y = edge;
  const int width = getWidth() - 2 * edge;
  for (auto& row : rows_) {
    row.line = {edge, y, width, rowHeight};
    row.about.clear();
    int height = rowHeight;
    if (static_cast<int>(row.slot) == chosen_) {
      row.about = broken(font(type::small, Weight::italic), plain(row.entry.about), width - placeWidth - bookmark, 4);
      if (const auto from = origin(row.entry); from.isNotEmpty()) row.about.push_back(from);
      height += static_cast<int>(row.about.size()) * aboutHeight + (row.about.empty() ? 0 : 6);
    }
    row.whole = row.line.withHeight(height);
    y += height;
  }
  setSize(getWidth(), y + edge);
}

std::vector<juce::Rectangle<int>> ShelfList::targets() const {
  std::vector<juce::Rectangle<int>> all;
  for (const auto& row : rows_) all.push_back(row.whole);
  return all;
}

std::vector<PlacedText> ShelfList::texts() const {
  std::vector<PlacedText> all;
  for (const auto& row : rows_) {
    const bool now = static_cast<int>(row.slot) == chosen_;
    const auto face = font(type::body, now ? Weight::bold : Weight::roman);
    auto line = row.line.withTrimmedLeft(bookmark + 3);
    const auto slot = line.removeFromLeft(placeWidth - 3);
    const auto meter = line.removeFromRight(meterWidth);
    all.push_back({juce::String(row.slot + 1), font(type::small), slot.withTrimmedRight(8), Ink::soft, Side::right});
    const auto title = shortened(face, plain(row.entry.title), line.getWidth());
    all.push_back({title, face, line.withWidth(std::min(line.getWidth(), widthOf(face, title) + 1))});
    all.push_back({meterText(row.entry.meter), face, meter, Ink::ink, Side::right});
    auto below = row.whole.withTrimmedTop(rowHeight).withTrimmedLeft(placeWidth + bookmark);
    for (const auto& about : row.about)
      all.push_back({about, font(type::small, Weight::italic), below.removeFromTop(aboutHeight), Ink::soft});
  }
  return all;
}

/// Leaders of dots from title to meter, as in a book; the bookmark at the chosen one.
void ShelfList::drawMarks(juce::Graphics& g) const {
  const auto placed = texts();
  for (std::size_t i = 0; i + 1 < placed.size(); ++i) {
    if (placed[i + 1].side != Side::right || placed[i].side != Side::left) continue;
    const int last = placed[i + 1].area.getRight() - widthOf(placed[i + 1].font, placed[i + 1].text) - 7;
    g.setColour(palette().rule);
    const float y = static_cast<float>(placed[i].area.getCentreY()) + 5;
    for (int x = last; x > placed[i].area.getRight() + 5; x -= 6) g.fillEllipse(static_cast<float>(x), y, 1.6f, 1.6f);
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
  const auto meter = entry.meter.valid() ? plain(words::inMeter) + meterText(entry.meter) : plain(words::anyMeterLong);
  setTitle(title + ", " + plain(entry.title) + ", " + meter);
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
  if (!juce::CharacterFunctions::isLetter(letter)) return false;
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
