#include "plugin/standalone/first_page.h"

#include <algorithm>

#include "plugin/editor/strings.h"
#include "plugin/page/beats.h"
#include "plugin/page/marks.h"
#include "plugin/page/measure.h"
#include "plugin/page/staff_layout.h"
#include "plugin/page/writer.h"
#include "plugin/standalone/computer_keys.h"
#include "plugin/standalone/home.h"

namespace seguente::home {

using namespace screen;

namespace {

constexpr struct {
  char letter;
  const char* numeral;
} firstChords[] = {{'C', "I"}, {'F', "IV"}, {'G', "V7"}};

constexpr int titleHeight = 40, lineHeight = 24, noteWidth = 146, noteHeight = 54, indent = 40;
constexpr int roomy = 440, tight = 300;  // heights from which there is room for all, and for the cards
constexpr int lines = 230;               // and for more than a line a step
constexpr int lowTitle = 30, lowStep = 22, lowNote = 34;
constexpr float cardSpace = 9;

/// The chord in whole notes of three quarters, on the lower staff.
page::Sheet staffOf(char letter, double right) {
  page::Sheet sheet;
  for (int i = 0; i < 5; ++i)
    sheet.marks.push_back(page::lineMark({0, static_cast<double>(i)}, {right, static_cast<double>(i)},
                                         page::grid::staffLine, page::Token::staff));
  sheet.marks.push_back(page::glyphMark(page::Glyph::bassClef, {1.85, 1}));
  page::Bar bar;
  bar.meter = Meter{3, 4};
  bar.length = bar.meter.bar();
  page::Event event;
  event.length = bar.length;
  event.value = page::noteValue({}, bar.length, bar.meter, bar.length).value_or(page::Value{0, 0});
  for (const auto key : chordOf(letter, false)) {
    page::Note note;
    note.key = key;
    note.source = page::Source::held;
    event.notes.push_back(note);
  }
  bar.staff(page::StaffKind::lower).voices.push_back({{event}});
  page::spellBar(bar, std::nullopt);
  page::OpenTies ties;
  page::StaffDrawing drawing;
  page::drawStaff({&bar, &bar.staff(page::StaffKind::lower), page::shapeOf(page::StaffKind::lower), false, 0, right,
                   [right](Ticks) { return right * 0.55; }},
                  ties, drawing);
  for (auto& mark : drawing.marks) sheet.marks.push_back(std::move(mark));
  return sheet;
}

}  // namespace

ChordCard::ChordCard(const Look& look, char letter, const char* numeral)
    : Element(look,
              juce::String(chordName(letter, false)) + ", " + plain(words::letterKey) +
                  juce::String::charToString(static_cast<juce::juce_wchar>(letter)),
              juce::AccessibilityRole::button),
      letter_(letter),
      numeral_(numeral) {
  setHelpText(plain(words::firstChordRemark));
  setWantsKeyboardFocus(true);
}

void ChordCard::resized() {
  drawing_.set(staffOf(letter_, static_cast<double>(getWidth() - 32) / static_cast<double>(cardSpace)), cardSpace,
               {16, static_cast<float>(getHeight()) - 6.6f * cardSpace - 12}, [this](auto area) { repaint(area); });
}

std::vector<PlacedText> ChordCard::texts() const {
  auto line = getLocalBounds().reduced(16, 8).withHeight(32);
  const auto bold = font(type::heading, Weight::bold);
  const auto name = printedSymbol(chordName(letter_, false));
  std::vector<PlacedText> all;
  const auto key = plain(words::letterKey) + juce::String::charToString(static_cast<juce::juce_wchar>(letter_));
  all.push_back({key, font(type::comment), line, down_ ? Ink::ink : Ink::soft, Side::right});
  all.push_back({name, bold, line.removeFromLeft(widthOf(bold, name) + 1)});
  line.removeFromLeft(10);
  all.push_back(
      {printedNumeral(numeral_), font(type::body, Weight::italic), line.withWidth(40).translated(0, 3), Ink::soft});
  return all;
}

void ChordCard::drawMarks(juce::Graphics& g) const {
  g.setColour(palette().ink);
  g.drawRect(getLocalBounds().reduced(edge), down_ ? 3 : 1);
  if (getHeight() > 100) drawing_.paint(g, look());
}

void ChordCard::press(bool down) {
  if (!show(*this, down_, down)) return;
  if (hold) hold(letter_, down);
}

bool ChordCard::keyPressed(const juce::KeyPress& key) {
  if (key.getModifiers().isAnyModifierKeyDown() || key.getKeyCode() != juce::KeyPress::spaceKey) return false;
  press(true);
  return true;
}

bool ChordCard::keyStateChanged(bool) {
  if (!down_ || isMouseButtonDown() || juce::KeyPress::isKeyCurrentlyDown(juce::KeyPress::spaceKey)) return false;
  press(false);
  return true;
}

void ChordCard::focusLost(FocusChangeType cause) {
  if (!isMouseButtonDown()) press(false);
  Element::focusLost(cause);
}

FirstPage::FirstPage(const Look& look, Home& home)
    : Element(look, plain(words::firstTitle), juce::AccessibilityRole::staticText),
      home_(home),
      note_(look, plain(words::softNote), plain(words::softNoteRemark)) {
  note_.setFramed(true);
  note_.press = [this] { home_.softNote(); };
  addAndMakeVisible(note_);
  note_.setExplicitFocusOrder(1);
  for (std::size_t i = 0; i < cards_.size(); ++i) {
    cards_[i] = std::make_unique<ChordCard>(look, firstChords[i].letter, firstChords[i].numeral);
    cards_[i]->hold = [this](char letter, bool down) {
      if (hold) hold(letter, down);
    };
    addAndMakeVisible(*cards_[i]);
    cards_[i]->setExplicitFocusOrder(static_cast<int>(i) + 2);
  }
  setDescription(plain(words::caution));
  refresh();
}

void FirstPage::refresh() { show(*this, shown_, {home_.hasPiano(), home_.hasSound()}); }

juce::Rectangle<int> FirstPage::step(int which) const {
  if (getHeight() < lines) return {0, lowTitle + which * lowStep, getWidth(), lowStep};
  const bool low = getHeight() < roomy;
  const int high = low ? 2 * lineHeight : 2 * lineHeight + 14;
  const int top = titleHeight + (low ? 0 : lineHeight + 8);
  return {0, top + which * high, getWidth(), high};
}

void FirstPage::resized() {
  const int wide = std::min(noteWidth, getWidth() / 4);
  const bool low = getHeight() < lines;
  note_.setBounds(getWidth() - wide, low ? 0 : step(0).getY() - 4, wide, low ? lowNote : noteHeight);
  const bool cards = getHeight() >= tight;
  auto row = getLocalBounds().withTop(step(2).getBottom() + 10).withHeight(getHeight() < roomy ? 64 : 140);
  row = row.withTrimmedRight(getWidth() > 800 ? 160 : 0);
  for (auto& card : cards_) {
    card->setVisible(cards);
    card->setBounds(row.removeFromLeft((getWidth() - (getWidth() > 800 ? 160 : 0)) / 3).withTrimmedRight(12));
  }
}

std::vector<PlacedText> FirstPage::texts() const {
  std::vector<PlacedText> all;
  const auto body = font(type::value), bold = font(type::value, Weight::bold),
             comment = font(type::comment, Weight::italic);
  const bool low = getHeight() < lines;
  all.push_back({plain(words::firstTitle), font(low ? type::title : type::heading),
                 getLocalBounds().withHeight(low ? lowTitle : titleHeight)});
  if (getHeight() >= roomy)
    all.push_back(
        {plain(words::firstLine), comment, getLocalBounds().withTop(titleHeight).withHeight(lineHeight), Ink::soft});
  for (int i = 0; i < 3; ++i) {
    auto area = step(i);
    const auto number = area.removeFromLeft(low ? indent / 2 : indent);
    all.push_back({juce::String(i + 1), font(low ? type::value : type::heading, Weight::bold),
                   number.withHeight(low ? lowStep : 2 * lineHeight)});
    if (!low) area.setRight(note_.getX() - 12);
    if (!low) all.push_back({plain(words::firstSteps[i]), bold, area.removeFromTop(lineHeight)});
    const char* how = i == 0 && !shown_.sound  ? words::firstNoSound
                      : i == 1 && shown_.piano ? words::firstHowPiano
                                               : words::firstHow[i];
    const auto face = low ? font(type::comment) : body;
    all.push_back({shortened(face, plain(how), area.getWidth()), face, area.removeFromTop(low ? lowStep : lineHeight)});
  }
  const bool cards = getHeight() >= tight;
  if (cards && getWidth() > 800) {
    auto tune = getLocalBounds().removeFromRight(148).withTop(cards_[0]->getY() + 8);
    all.push_back({plain(words::theTune), bold, tune.removeFromTop(26)});
    for (const auto* line : words::tuneLines) all.push_back({plain(line), font(type::comment), tune.removeFromTop(20)});
  }
  auto foot = getLocalBounds().withTop(cards ? cards_[0]->getBottom() + 8 : step(2).getBottom() + 4);
  for (const auto& line : broken(comment, plain(words::caution) + plain(words::keptInHelp), foot.getWidth()))
    all.push_back({line, comment, foot.removeFromTop(low ? 18 : 20), Ink::soft});
  if (foot.getHeight() >= 30 && !shown_.piano)
    all.push_back({plain(words::pianoIsFound), comment, foot.withTrimmedTop(6).withHeight(20), Ink::soft});
  return all;
}

}  // namespace seguente::home
