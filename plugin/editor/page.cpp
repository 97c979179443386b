#include "plugin/editor/page.h"

#include <algorithm>

#include "plugin/editor/strings.h"
#include "plugin/processor.h"

namespace seguente::screen {
namespace {

constexpr int margin = 16;
constexpr int headHeight = 40, lowHeadHeight = 34;
constexpr int lowPage = 600;
constexpr int footHeight = 24;
constexpr int cornerRoom = 12;  // the window's own corner, to be dragged
constexpr int ownRowHeight = 36;
constexpr int keysLabel = 28;  // over and under the keys
constexpr int standSeconds = 6, refreshesASecond = 30;
constexpr const char* letterOf[signalCount] = {"H", "J", "K", "L", "", "", "M", "U", "I"};

juce::StringArray viewWords(bool folded) {
  juce::StringArray all{plain(words::desk), plain(words::stand), plain(words::order), plain(words::settings),
                        plain(words::help)};
  if (folded) all.insert(0, plain(words::contents));
  return all;
}

}  // namespace

void Page::Head::refresh(Processor& processor, const juce::String& status) {
  const int slot = processor.session().slot();
  const auto entry = processor.shelf().entry(static_cast<std::size_t>(slot));
  const auto& density = processor.hostParameter(ParameterId::density);
  juce::String title = plain(entry.title), comment = status;
  if (entry.origin == SlotOrigin::empty) {
    title = plain(words::slotEmpty).replace("%", juce::String(slot + 1));
  } else if (comment.isEmpty()) {
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
  const auto add = [&](const juce::String& text, const juce::Font& face, Ink ink, int least) {
    if (area.getWidth() < least) return;
    const auto fits = shortened(face, text, area.getWidth());
    all.push_back({fits, face, area.removeFromLeft(std::min(area.getWidth(), widthOf(face, fits) + 1)), ink});
    area.removeFromLeft(24);
  };
  add(plain(words::name), font(type::name, Weight::italic), Ink::ink, 0);
  add(title_, font(type::body, Weight::bold), Ink::ink, 40);
  if (comment_.isNotEmpty() && widthOf(font(type::comment, Weight::italic), comment_) < area.getWidth())
    add(comment_, font(type::comment, Weight::italic), Ink::soft, 40);
  return all;
}

Page::Page(Look& look, Processor& processor)
    : look_(look),
      processor_(processor),
      head_(look),
      views_(look, plain(words::views), false, viewWords(false)),
      contents_(look, processor),
      desk_(look, processor, contents_),
      stand_(look, processor),
      order_(look, processor),
      orderScroll_(look),
      settings_(look, processor),
      settingsScroll_(look),
      helpScroll_(look),
      messagesScroll_(look),
      help_(look, plain(words::helpTitle)),
      messages_(look, plain(words::messagesTitle)),
      play_(look, processor),
      keyboard_(look),
      footnote_(look),
      legend_(look),
      question_(look) {
  setOpaque(true);
  orderScroll_.setViewedComponent(&order_, false);
  settingsScroll_.setViewedComponent(&settings_, false);
  helpScroll_.setViewedComponent(&help_, false);
  messagesScroll_.setViewedComponent(&messages_, false);
  int order = 1;  // Tab goes as one reads
  for (auto* part : std::initializer_list<juce::Component*>{&head_, &views_, &contents_, &desk_, &stand_, &orderScroll_,
                                                            &settingsScroll_, &helpScroll_, &messagesScroll_, &play_,
                                                            &keyboard_, &footnote_, &legend_, &question_}) {
    addChildComponent(part);
    part->setExplicitFocusOrder(order++);
  }
  for (auto* part : std::initializer_list<juce::Component*>{&head_, &views_, &footnote_}) part->setVisible(true);
  showHelp({});

  views_.setHelpText(plain(words::viewsRemark));
  views_.choose = [this](int view) { open(static_cast<Opened>(view + (folds() ? 0 : 1))); };
  stand_.leave = [this] { open(Opened::desk); };
  order_.say = [this](const juce::String& message) { say(message); };
  footnote_.open = [this] { open(opened_ == Opened::messages ? Opened::desk : Opened::messages); };
  keyboard_.play = [this](NoteNumber key, bool down) { processor_.press(key, down); };
  settings_.chooseDark = [this](bool dark) {
    if (chooseDark) chooseDark(dark);
  };
  settings_.chooseSize = [this](int percent) {
    if (chooseSize) chooseSize(percent);
  };
  settings_.chooseReducedMotion = [this](bool reduced) {
    if (chooseReducedMotion) chooseReducedMotion(reduced);
  };
  forEach([this](Element& element) { element.pointed = [this](const Element* at) { point(at); }; });
  showLetters();
  open(Opened::desk);
}

void Page::showHelp(const juce::String& more) {
  juce::StringArray help;
  for (const auto* paragraph : words::helpParagraphs) help.add(plain(paragraph));
  if (more.isNotEmpty()) help.add(more);
  help.add(plain(words::name) + ". " + plain(words::version) + SEGUENTE_VERSION + ".");
  help_.setParagraphs(help);
}

void Page::showWindow(bool dark, int percent, bool reducedMotion) {
  settings_.showWindow(dark, percent, reducedMotion);
  desk_.score().setReducedMotion(reducedMotion);
}

juce::Component& Page::viewOf(Opened view) {
  switch (view) {
    case Opened::contents:
      return contents_;
    case Opened::stand:
      return stand_;
    case Opened::order:
      return orderScroll_;
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
  if (view == Opened::contents && !folds()) view = Opened::desk;
  const bool other = opened_ != view;
  opened_ = view;
  for (std::size_t i = 0; i < views; ++i) viewOf(static_cast<Opened>(i)).setVisible(static_cast<Opened>(i) == view);
  contents_.setVisible(view == Opened::contents || (view == Opened::desk && !folds()));
  const bool stand = view == Opened::stand;
  for (auto* part : std::initializer_list<juce::Component*>{&head_, &views_, &play_, &keyboard_, &footnote_})
    part->setVisible(!stand);
  if (ownRow_ != nullptr) ownRow_->setVisible(!stand);
  if (other && getWidth() > 0) resized();
  views_.setChosen(view == Opened::messages ? -1 : static_cast<int>(view) - (folds() ? 0 : 1));
}

void Page::setStatus(const juce::String& status) {
  status_ = status;
  head_.refresh(processor_, status_);
}

void Page::setPiece(const juce::String& piece) {
  desk_.setTitleLine(piece);
  stand_.setPiece(piece);
}

void Page::setOwnRow(juce::Component& row) {
  ownRow_ = &row;
  addAndMakeVisible(row);
  row.setExplicitFocusOrder(play_.getExplicitFocusOrder());  // before it, as one reads
  play_.setExplicitFocusOrder(play_.getExplicitFocusOrder() + 1);
  for (auto* part : std::initializer_list<juce::Component*>{&keyboard_, &footnote_, &legend_})
    part->setExplicitFocusOrder(part->getExplicitFocusOrder() + 1);
  resized();
}

void Page::setOwnSettings(juce::Component& rows, std::function<int(int)> heightFor) {
  settings_.setOwnRows(rows, std::move(heightFor));
  resized();
}

void Page::setLetters(bool on) {
  letters_ = on;
  contents_.list().setByLetter(!on);
  showLetters();
}

/// A letter is named where it works: everywhere, or on the keyboard alone.
void Page::showLetters() {
  forEach([this](Element& element) {
    if (auto* target = dynamic_cast<SignalTarget*>(&element))
      target->setLetter(letters_ ? juce::String(letterOf[static_cast<std::size_t>(target->signal())]) : juce::String());
  });
}

void Page::say(const juce::String& message) {
  footnote_.setMessage(message);
  stand_.setMessage(message);
  standFor_ = standSeconds * refreshesASecond;
  placeFoot();
}

/// What has the mouse or the focus says what it does; when nothing has, the last message stands there.
void Page::point(const Element* element) {
  footnote_.say(element == nullptr || element == &footnote_ ? juce::String() : element->remark());
  placeFoot();
}

void Page::refresh() {
  processor_.score().read();
  view_ = processor_.score().view();
  const auto values = processor_.values().changes();
  const auto shelf = processor_.shelf().changes();
  if (values != valuesSeen_ || shelf != shelfSeen_) {
    valuesSeen_ = values;
    shelfSeen_ = shelf;
    head_.refresh(processor_, status_);
    play_.refreshValues();
    settings_.refreshValues();
  }
  contents_.refresh();
  desk_.refresh(view_);
  stand_.refresh(view_);
  order_.refresh();
  play_.refresh(view_);
  settings_.refresh(view_);
  KeyboardView::Due due{processor_.score().next(), {}};
  if (const auto& last = processor_.score().last()) due.fingers = desk_.preview().fingersAfter(*last);
  keyboard_.refresh(view_, processor_.values(), due);
  readMessages();
  if (standFor_ > 0 && --standFor_ == 0) stand_.setMessage({});
}

void Page::readMessages() {
  const auto count = processor_.messageCount();
  const auto lost = processor_.score().dropped();
  if (messagesSeen_ == count && lostSeen_ == lost) return;
  const bool first = !messagesSeen_;
  messagesSeen_ = count;
  juce::StringArray all;
  for (const auto& message : processor_.messages()) all.insert(0, plain(message));
  if (lost != lostSeen_) {
    lostSeen_ = lost;
    all.insert(0, plain(words::notesLost).replace("%", juce::String(static_cast<juce::int64>(lost))));
  }
  if (!all.isEmpty() && !(first && all.isEmpty())) say(all[0]);
  messages_.setParagraphs(all.isEmpty() ? juce::StringArray(plain(words::noMessage)) : all);
}

void Page::recolour() {
  contents_.recolour();
  for (auto* scroll : {&orderScroll_, &settingsScroll_, &helpScroll_, &messagesScroll_}) scroll->recolour();
  repaint();
}

void Page::resized() {
  const bool low = getHeight() < lowPage;
  views_.setWords(viewWords(folds()));
  views_.setChosen(opened_ == Opened::messages ? -1 : static_cast<int>(opened_) - (folds() ? 0 : 1));
  auto area = getLocalBounds().reduced(margin, 0);
  auto head = area.removeFromTop(low ? lowHeadHeight : headHeight).withTrimmedTop(low ? 2 : 6);
  views_.setBounds(head.removeFromRight(views_.widthNeeded()).expanded(0, 0));
  head_.setBounds(head.withTrimmedRight(12));
  area.removeFromTop(low ? 6 : 12);

  area.removeFromBottom(2);
  area.removeFromBottom(footHeight);
  placeFoot();
  question_.setBounds(getLocalBounds().removeFromBottom(Question::height));
  if (opened_ != Opened::stand) {
    const int keys = std::clamp(getHeight() * 78 / 800, getHeight() < 480 ? 52 : 60, 120) + keysLabel;
    keyboard_.setBounds(area.removeFromBottom(keys));
    play_.setBounds(area.removeFromBottom(PlayRow::heightFor(getHeight())));
    if (ownRow_ != nullptr) ownRow_->setBounds(area.removeFromBottom(ownRowHeight));
    area.removeFromBottom(6);
  }
  desk_.setBounds(area);
  if (folds()) contents_.setBounds(area);
  contents_.setVisible(opened_ == Opened::contents || (opened_ == Opened::desk && !folds()));
  stand_.setBounds(getLocalBounds().reduced(margin, 0).withTrimmedBottom(12).withTrimmedTop(low ? 4 : 12));
  for (auto* scroll : {&orderScroll_, &settingsScroll_, &helpScroll_, &messagesScroll_}) scroll->setBounds(area);
  const int inside = area.getWidth() - settingsScroll_.getScrollBarThickness();
  order_.fit(inside);
  settings_.fit(inside);
  help_.fit(inside);
  messages_.fit(inside);
}

/// The legend gives way to a footnote that needs the room.
void Page::placeFoot() {
  auto foot = getLocalBounds().reduced(margin, 0).withTrimmedBottom(2).removeFromBottom(footHeight);
  foot = foot.withTrimmedRight(cornerRoom).withTrimmedLeft(-edge);
  const int legend = legend_.widthNeeded() + 12;
  const bool room =
      opened_ != Opened::stand && foot.getWidth() - legend >= footnote_.widthNeeded() && getWidth() >= 720;
  legend_.setVisible(room);
  if (room) legend_.setBounds(foot.removeFromRight(legend).withTrimmedLeft(12));
  footnote_.setBounds(foot);
}

/// The rules of the running head and over the row of fields.
void Page::paint(juce::Graphics& g) {
  const auto& p = look_.palette;
  g.fillAll(p.page);
  g.setColour(p.ink);
  const int width = getWidth() - 2 * margin, y = head_.getBottom();
  if (!head_.isVisible()) return;
  drawFine(g, {margin, y + 2, width, 1});
  drawFine(g, {margin, y + 5, width, 1});
  if (!play_.isVisible()) return;
  g.setColour(p.rule);
  drawFine(g, {margin, (ownRow_ != nullptr ? ownRow_->getY() : play_.getY()) - 3, width, 1});
}

bool Page::giveByLetter(juce::juce_wchar letter) {
  const bool here = letters_ || keyboard_.hasKeyboardFocus(true);
  if (!here || typing()) return false;
  const auto typed = juce::String::charToString(letter).toUpperCase();
  for (std::size_t i = 0; i < signalCount; ++i)
    if (*letterOf[i] != 0 && typed == letterOf[i]) {
      processor_.session().give(static_cast<Signal>(i));
      return true;
    }
  return false;
}

/// Escape closes what is open; pressed again, it silences all. Ctrl and F seeks in the contents.
bool Page::keyPressed(const juce::KeyPress& key) {
  if (key == juce::KeyPress('f', juce::ModifierKeys::commandModifier, 0)) {
    if (opened_ != Opened::desk || folds()) open(folds() ? Opened::contents : Opened::desk);
    if (contents_.field().isShowing()) contents_.field().grabKeyboardFocus();
    return true;
  }
  if (!key.getModifiers().isAnyModifierKeyDown() && giveByLetter(key.getTextCharacter())) return true;
  if (key.getKeyCode() != juce::KeyPress::escapeKey) return false;
  if (opened_ != Opened::desk)
    open(Opened::desk);
  else
    processor_.session().give(Signal::silenceAll);
  return true;
}

void Page::take(const juce::StringArray& paths) {
  for (const auto& path : paths) waiting_.push_back(readDropped(path.toStdString()));
  if (!question_.isVisible()) takeWaiting();
}

/// True when it is done with, whichever way; false when its name is taken.
bool Page::keep(const Dropped& dropped, const std::string& name) {
  const bool order = dropped.kind == DroppedKind::order;
  const char* said = order ? words::orderTaken : words::idiomTaken;
  switch (keepDropped(order ? ownOrdersFolder() : ownIdiomsFolder(), name, dropped.text)) {
    case KeptAs::kept:
      break;
    case KeptAs::same:
      said = words::sameThere;
      break;
    case KeptAs::failed:
      said = words::cannotBeWritten;
      break;
    case KeptAs::taken:
      return false;
  }
  processor_.say(plain(said).replace("%", plain(name)).toStdString());
  return true;
}

void Page::takeWaiting() {
  while (!waiting_.empty()) {
    const auto& dropped = waiting_.front();
    for (const auto& fault : dropped.faults) processor_.say(fault);
    if (dropped.faults.empty() && !keep(dropped, dropped.name)) {
      question_.ask(plain(words::nameTaken).replace("%", plain(dropped.name)), plain(words::keepBoth),
                    plain(words::leaveIt), [this](bool both) {
                      const auto asked = std::move(waiting_.front());
                      waiting_.pop_front();
                      const bool order = asked.kind == DroppedKind::order;
                      if (both) keep(asked, freeName(order ? ownOrdersFolder() : ownIdiomsFolder(), asked.name));
                      takeWaiting();
                    });
      return;
    }
    waiting_.pop_front();
  }
}

}  // namespace seguente::screen
