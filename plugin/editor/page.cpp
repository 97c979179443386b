#include "plugin/editor/page.h"

#include <algorithm>

#include "plugin/editor/strings.h"
#include "plugin/processor.h"

namespace seguente::screen {
namespace {

constexpr int margin = 16;
constexpr int headHeight = 36;
constexpr int keysSmallest = 84, keysTallest = 128;  // with the label over and the wedge under them
constexpr int footnoteHeight = 38;
constexpr int cornerRoom = 10;  // the window's own corner, to be dragged

juce::StringArray viewWords() { return {plain(words::desk), plain(words::settings), plain(words::help)}; }

}  // namespace

void Page::Head::refresh(Processor& processor) {
  const int slot = processor.session().slot();
  const auto entry = processor.shelf().entry(static_cast<std::size_t>(slot));
  const auto& density = processor.hostParameter(ParameterId::density);
  juce::String title = plain(entry.title), comment;
  if (entry.origin == SlotOrigin::empty) {
    title = plain(words::slotEmpty).replace("%", juce::String(slot + 1));
  } else {
    comment = density.getText(density.getValue(), 0) + ", ";
    comment << (entry.meter.valid() ? plain(words::inMeter) + juce::String(entry.meter.numerator) + "/" +
                                          juce::String(entry.meter.denominator)
                                    : plain(words::anyMeterLong));
  }
  const bool fresh = show(*this, title_, title);
  if (show(*this, comment_, comment) || fresh) setTitle(title + ", " + comment);
}

std::vector<PlacedText> Page::Head::texts() const {
  std::vector<PlacedText> all;
  auto area = getLocalBounds();
  const auto add = [&](const juce::String& text, const juce::Font& face, Ink ink) {
    const auto fits = shortened(face, text, area.getWidth());
    all.push_back({fits, face, area.removeFromLeft(std::min(area.getWidth(), widthOf(face, fits) + 1)), ink});
    area.removeFromLeft(20);
  };
  add(plain(words::name), font(type::name, Weight::italic), Ink::ink);
  add(title_, font(type::value, Weight::bold), Ink::ink);
  if (comment_.isNotEmpty() && area.getWidth() > 60) add(comment_, font(type::comment, Weight::italic), Ink::soft);
  return all;
}

Page::Page(Look& look, Processor& processor)
    : look_(look),
      processor_(processor),
      head_(look),
      views_(look, plain(words::views), false, viewWords()),
      desk_(look, processor),
      settings_(look, processor),
      settingsScroll_(look),
      helpScroll_(look),
      messagesScroll_(look),
      help_(look, plain(words::helpTitle)),
      messages_(look, plain(words::messagesTitle)),
      remark_(look),
      signals_(look, processor.session(), processor.signals()),
      keyboard_(look),
      footnote_(look),
      legend_(look) {
  setOpaque(true);
  settingsScroll_.setViewedComponent(&settings_, false);
  helpScroll_.setViewedComponent(&help_, false);
  messagesScroll_.setViewedComponent(&messages_, false);
  int order = 1;  // Tab goes as one reads
  for (auto* part : std::initializer_list<juce::Component*>{&head_, &views_, &desk_, &settingsScroll_, &helpScroll_,
                                                            &messagesScroll_, &remark_, &signals_, &keyboard_,
                                                            &footnote_, &legend_}) {
    addChildComponent(part);
    part->setExplicitFocusOrder(order++);
  }
  for (auto* part :
       std::initializer_list<juce::Component*>{&head_, &views_, &remark_, &signals_, &keyboard_, &footnote_, &legend_})
    part->setVisible(true);
  juce::StringArray help;
  for (const auto* paragraph : words::helpParagraphs) help.add(plain(paragraph));
  help.add(plain(words::name) + ". " + plain(words::version) + SEGUENTE_VERSION + ".");
  help_.setParagraphs(help);

  views_.setHelpText(plain(words::viewsRemark));
  views_.choose = [this](int view) { open(static_cast<Opened>(view)); };
  footnote_.open = [this] { open(opened_ == Opened::messages ? Opened::desk : Opened::messages); };
  settings_.chooseDark = [this](bool dark) {
    if (chooseDark) chooseDark(dark);
  };
  settings_.chooseSize = [this](int percent) {
    if (chooseSize) chooseSize(percent);
  };
  forEach([this](Element& element) { element.pointed = [this](const Element* at) { point(at); }; });
  open(Opened::desk);
}

juce::Component& Page::viewOf(Opened view) {
  switch (view) {
    case Opened::settings:
      return settingsScroll_;
    case Opened::help:
      return helpScroll_;
    case Opened::messages:
      return messagesScroll_;
    case Opened::desk:
      break;
  }
  return desk_;
}

void Page::open(Opened view) {
  opened_ = view;
  views_.setChosen(view == Opened::messages ? -1 : static_cast<int>(view));
  for (const auto each : {Opened::desk, Opened::settings, Opened::help, Opened::messages})
    viewOf(each).setVisible(each == view);
}

/// What has the mouse or the focus says what it does; when neither does, what was said last stays.
void Page::point(const Element* element) {
  if (element == nullptr) return;
  if (const auto remark = element->remark(); remark.isNotEmpty()) remark_.say(remark);
}

void Page::refresh() {
  processor_.view().read(view_);
  const auto values = processor_.values().changes();
  const auto shelf = processor_.shelf().changes();
  if (values != valuesSeen_ || shelf != shelfSeen_) {
    valuesSeen_ = values;
    shelfSeen_ = shelf;
    head_.refresh(processor_);
    desk_.refreshValues();
    settings_.refreshValues();
  }
  desk_.refresh(view_);
  signals_.refresh(view_);
  keyboard_.refresh(view_, processor_.values());
  readMessages();
}

void Page::readMessages() {
  const auto count = processor_.messageCount();
  if (messagesSeen_ == count) return;
  messagesSeen_ = count;
  juce::StringArray all;
  for (const auto& message : processor_.messages()) all.insert(0, plain(message));
  if (!all.isEmpty()) footnote_.setMessage(all[0]);
  messages_.setParagraphs(all.isEmpty() ? juce::StringArray(plain(words::noMessage)) : all);
}

void Page::recolour() {
  desk_.recolour();
  for (auto* scroll : {&settingsScroll_, &helpScroll_, &messagesScroll_}) scroll->recolour();
  repaint();
}

void Page::resized() {
  auto area = getLocalBounds().reduced(margin, 0);
  auto head = area.removeFromTop(headHeight + 4).withTrimmedTop(4);
  views_.setBounds(head.removeFromRight(views_.widthNeeded()));
  head_.setBounds(head.withTrimmedRight(12));
  area.removeFromTop(10);

  area.removeFromBottom(4);
  auto foot = area.removeFromBottom(footnoteHeight).withTrimmedRight(cornerRoom);
  legend_.setBounds(foot.removeFromRight(legend_.widthNeeded()));
  footnote_.setBounds(foot.withTrimmedRight(12).withTrimmedLeft(-edge));
  keyboard_.setBounds(area.removeFromBottom(std::clamp(getHeight() * 16 / 100, keysSmallest, keysTallest)));
  area.removeFromBottom(4);
  signals_.setBounds(area.removeFromBottom(SignalRow::height).expanded(edge, 0));
  remark_.setBounds(area.removeFromBottom(RemarkLine::height).expanded(edge, 0));
  area.removeFromBottom(4);

  desk_.setBounds(area);
  for (auto* scroll : {&settingsScroll_, &helpScroll_, &messagesScroll_}) scroll->setBounds(area);
  const int inside = area.getWidth() - settingsScroll_.getScrollBarThickness();
  settings_.fit(inside);
  help_.fit(inside);
  messages_.fit(inside);
}

/// The rules of the running head and over the remark.
void Page::paint(juce::Graphics& g) {
  const auto& p = look_.palette;
  g.fillAll(p.page);
  g.setColour(p.ink);
  const int width = getWidth() - 2 * margin;
  drawFine(g, {margin, headHeight + 6, width, 1});
  g.setColour(p.rule);
  drawFine(g, {margin, headHeight + 9, width, 1});
  g.fillRect(margin, remark_.getY() - 2, width, 1);
}

/// Escape closes what is open; pressed again, it silences all.
bool Page::keyPressed(const juce::KeyPress& key) {
  if (key.getKeyCode() != juce::KeyPress::escapeKey) return false;
  if (opened_ != Opened::desk)
    open(Opened::desk);
  else
    processor_.session().give(Signal::silenceAll);
  return true;
}

}  // namespace seguente::screen
