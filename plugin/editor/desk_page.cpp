#include "plugin/editor/desk_page.h"

#include <algorithm>

#include "plugin/editor/strings.h"
#include "plugin/processor.h"

namespace seguente::screen {
namespace {

constexpr int headingHeight = 30;
constexpr int contentsWidth = 272;
constexpr int gutter = 58;
constexpr int widestPage = 1240;
constexpr int lowestWithTitle = 380;  // of the desk: below that no title row
constexpr int lowestWithMade = 230;   // and below that not how it is made
constexpr int densityHeight = 32;
constexpr int lowestScore = 150;  // beside a figure that is edited: half a staff says nothing

juce::StringArray densityWords() {
  juce::StringArray all;
  for (const auto* word : parameter(ParameterId::density).words) all.add(plain(word));
  return all;
}

}  // namespace

ContentsPage::Heading::Heading(const Look& look)
    : Element(look, plain(words::contents), juce::AccessibilityRole::staticText) {}

std::vector<PlacedText> ContentsPage::Heading::texts() const {
  auto area = getLocalBounds().withTrimmedLeft(3 * edge);
  const auto bold = font(type::title, Weight::bold), comment = font(type::small, Weight::italic);
  const auto title = plain(words::contents), hint = plain(words::contentsHint);
  std::vector<PlacedText> all{{title, bold, area.removeFromLeft(widthOf(bold, title) + 1)}};
  area.removeFromLeft(10);
  if (widthOf(comment, hint) <= area.getWidth())
    all.push_back({hint, comment, area.withTrimmedTop(4), Ink::soft, Side::right});
  return all;
}

ContentsPage::ContentsPage(const Look& look, Processor& processor)
    : heading_(look), field_(look), scroll_(look), list_(look, processor), playIn_(look, processor) {
  scroll_.setViewedComponent(&list_, false);
  int order = 1;
  for (auto* part : std::initializer_list<juce::Component*>{&heading_, &field_, &scroll_, &playIn_}) {
    addAndMakeVisible(part);
    part->setExplicitFocusOrder(order++);
  }
  field_.sought = [this](const juce::String& words) { list_.find(words); };
  playIn_.grown = [this] { resized(); };
  field_.leave = [this] {
    if (list_.isShowing()) list_.grabKeyboardFocus();
  };
}

void ContentsPage::resized() {
  auto area = getLocalBounds();
  heading_.setBounds(area.removeFromTop(headingHeight));
  field_.setBounds(area.removeFromTop(FindField::height).withTrimmedLeft(2 * edge));
  area.removeFromTop(6);
  const int below = playIn_.heightFor(area.getWidth() - 2 * edge);
  playIn_.setBounds(area.removeFromBottom(std::min(area.getHeight(), below)).withTrimmedLeft(2 * edge));
  area.removeFromBottom(std::min(area.getHeight() - 1, 2));
  scroll_.setBounds(area);
  list_.fit(area.getWidth() - scroll_.getScrollBarThickness());  // the bar's room is kept: the list grows and shrinks
}

DeskPage::DeskPage(const Look& look, Processor& processor, ContentsPage& contents)
    : look_(look),
      processor_(processor),
      contents_(contents),
      time_(look),
      score_(look),
      band_(look, processor),
      made_(look),
      edit_(look, plain(words::edit), plain(words::editRemark)),
      density_(look, plain(words::density), true, densityWords()) {
  int order = 2;  // Tab goes as one reads: contents, score, how it is made, density
  for (auto* part : std::initializer_list<juce::Component*>{&time_, &score_, &band_, &made_, &edit_, &density_}) {
    addAndMakeVisible(part);
    part->setExplicitFocusOrder(order++);
  }
  density_.setHelpText(plain(parameter(ParameterId::density).about));
  density_.choose = [this](int word) { chooseDensity(word); };
  score_.sound = [this](const auto& notes, double secondsAQuarter) { sound(notes, secondsAQuarter); };
  score_.soundedSeconds = [this] { return processor_.reader().position(); };
  edit_.press = [this] { band_.press(); };
  band_.grown = [this] { showParts(); };
  band_.changed = [this] {
    const auto* row = preview_.plays() == preview_.chosen() ? band_.model().chosen() : nullptr;  // not a relative's
    made_.setEdited(row == nullptr ? std::nullopt : std::optional(MadeView::EditedRow{row->figure.figure, row->row}));
  };
  made_.picked = [this](FigureKind figure, std::size_t row) {
    if (preview_.plays() == preview_.chosen()) band_.choose(figure, row);
  };
  made_.editKey = [this](const juce::KeyPress& key) { return band_.key(key); };
  made_.density = [this](int by) {
    chooseDensity(std::clamp(density_.chosen() + by, 0, static_cast<int>(densities) - 1));
  };
}

void DeskPage::chooseDensity(int which) {
  auto& host = processor_.hostParameter(ParameterId::density);
  if (which == static_cast<int>(processor_.values().get(ParameterId::density))) return;
  host.beginChangeGesture();
  host.setValueNotifyingHost(host.convertTo0to1(static_cast<float>(which)));
  host.endChangeGesture();
  density_.setChosen(which);
}

/// On the channels and with the sounds of what plays now; a part that it has not, as its chords.
void DeskPage::sound(const std::vector<page::ReadNote>& notes, double secondsAQuarter) {
  constexpr std::uint8_t tuneForce = 80, ourForce = 64;
  const auto* plays = preview_.plays();
  const auto settings = settingsFrom(processor_.values(), plays);
  std::vector<ReadStroke> strokes;
  for (const auto& note : notes) {
    Played on{.bytes = {0x90, note.key.value, tuneForce}};
    if (note.source == page::Source::accompaniment || note.source == page::Source::percussion) {
      on.ours = true;
      on.role = Role::chords;
      on.bytes = {static_cast<std::uint8_t>(0x90 | settings.outputChannel[note.part % limits::parts]), note.key.value,
                  ourForce};
      if (plays != nullptr && note.part < plays->parts.size()) {
        on.role = roleOf(plays->parts[note.part].kind);
        on.part = note.part;
        on.program = plays->parts[note.part].program;
      }
    }
    Played off = on;
    off.bytes[0] = static_cast<std::uint8_t>(on.bytes[0] - 0x10);
    strokes.push_back({note.on * secondsAQuarter, on});
    strokes.push_back({note.off * secondsAQuarter, off});
  }
  std::stable_sort(strokes.begin(), strokes.end(), [](const ReadStroke& a, const ReadStroke& b) {
    const bool aOff = (a.message.bytes[0] & 0x10) == 0, bOff = (b.message.bytes[0] & 0x10) == 0;
    return a.seconds != b.seconds ? a.seconds < b.seconds : aOff && !bOff;
  });
  processor_.reader().read(strokes);
}

void DeskPage::refresh(const View& view) {
  density_.setChosen(static_cast<int>(processor_.values().get(ParameterId::density)));
  const bool fresh = preview_.refresh(processor_);
  auto& score = processor_.score();
  score.foresee(preview_.rehearsal());
  band_.refresh();
  if (!isVisible()) return;
  score_.refresh(score);
  made_.refresh(preview_, score, fresh);
  const auto* plays = preview_.plays() != nullptr ? preview_.plays() : preview_.chosen();
  time_.refresh(view, static_cast<TimeSource>(static_cast<int>(processor_.values().get(ParameterId::time))),
                plays == nullptr ? juce::String() : plain(plays->title), densityWords()[density_.chosen()]);
}

void DeskPage::resized() {
  auto area = getLocalBounds();
  if (!folds(getWidth())) {
    if (getWidth() > widestPage + contentsWidth + gutter)
      area = area.withSizeKeepingCentre(widestPage + contentsWidth + gutter, area.getHeight());
    contents_.setBounds(area.removeFromLeft(contentsWidth).withTrimmedTop(2).translated(getX(), getY()));
    area.removeFromLeft(gutter);
  }
  if (instead_ != nullptr) return instead_->setBounds(area);
  placeScore(area);
}

void DeskPage::placeScore(juce::Rectangle<int> area) {
  const int band = band_.heightFor(area.getWidth());
  time_.setVisible(area.getHeight() - band >= lowestWithTitle);
  if (time_.isVisible()) time_.setBounds(area.removeFromTop(TimeView::height));
  const bool made = area.getHeight() >= lowestWithMade;
  made_.setVisible(made);
  density_.setVisible(made);
  edit_.setVisible(made);
  band_.setVisible(made && band > 0);
  if (made) {
    auto below = area.removeFromBottom(time_.isVisible() ? MadeView::height : MadeView::lowHeight);
    auto words = below.withHeight(densityHeight);
    density_.setBounds(words.removeFromRight(density_.widthNeeded()));
    edit_.setBounds(words.removeFromRight(edit_.widthNeeded()));
    made_.keepRight(below.getWidth() - words.getWidth());
    made_.setBounds(below);
    for (juce::Component* part : {static_cast<juce::Component*>(&density_), static_cast<juce::Component*>(&edit_)})
      part->toFront(false);
    area.removeFromBottom(4);
    if (band > 0) band_.setBounds(area.removeFromBottom(std::min(band, area.getHeight())));
  }
  score_.setVisible(!band_.isVisible() || area.getHeight() >= lowestScore);
  score_.setBounds(folds(getWidth()) ? area : area.withTrimmedLeft(-14));  // the brace hangs into the gutter
}

void DeskPage::showParts() {
  resized();
  repaint();
}

void DeskPage::showInstead(juce::Component* page) {
  if (instead_ == page) return;
  if (instead_ != nullptr) removeChildComponent(instead_);
  instead_ = page;
  for (auto* part : std::initializer_list<juce::Component*>{&time_, &score_, &band_, &made_, &edit_, &density_})
    part->setVisible(page == nullptr);
  if (page != nullptr) addAndMakeVisible(page);
  if (page != nullptr) page->setExplicitFocusOrder(1);
  resized();
  repaint();
}

/// The fold of the book, a double hairline, and the rule over how it is made.
void DeskPage::paint(juce::Graphics& g) {
  const auto& p = look_.palette;
  g.setColour(p.hair);
  if (!folds(getWidth())) {
    const int fold = contents_.getRight() - getX() + 26;
    drawFine(g, {fold, 2, 1, getHeight() - 4});
    drawFine(g, {fold + 3, 2, 1, getHeight() - 4});
  }
  if (made_.isVisible()) drawFine(g, {made_.getX(), made_.getY() - 2, made_.getWidth(), 1});
}

}  // namespace seguente::screen
