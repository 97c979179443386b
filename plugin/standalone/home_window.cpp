#include "plugin/standalone/home_window.h"

#include "plugin/editor/strings.h"

namespace seguente::home {

using namespace screen;

namespace {
constexpr int looksASecond = 2;

/// The letter or figure of a key, in any case; 0 when it is none.
char plainKey(const juce::KeyPress& key) {
  const int code = key.getKeyCode();
  if (code >= 'a' && code <= 'z') return static_cast<char>(code - 'a' + 'A');
  if ((code >= 'A' && code <= 'Z') || (code >= '0' && code <= '9')) return static_cast<char>(code);
  const auto typed = key.getTextCharacter();  // layouts that have figures with Shift
  return typed >= '0' && typed <= '9' ? static_cast<char>(typed) : char{0};
}
}  // namespace

HomeWindow::HomeWindow(Home& home)
    : home_(home),
      screen_(dynamic_cast<Window*>(home.processor().createEditor())),
      row_(screen_->look(), home),
      sound_(screen_->look(), home),
      keys_([&home](NoteNumber key, bool down) { home.processor().press(key, down); }) {
  auto& page = screen_->page();
  page.setOwnRow(row_);
  page.setOwnSettings(sound_, [this](int width) { return sound_.heightFor(width); });
  page.setLetters(true);
  page.addHelp(plain(words::helpLetters));
  const auto attach = [&page](Element& element) { page.attach(element); };
  row_.forEach(attach);
  sound_.forEach(attach);
  home_.say = [&page](const juce::String& message) { page.say(message); };
  screen_->addKeyListener(this);
  juce::Desktop::getInstance().addFocusChangeListener(this);
  if (home_.firstTime()) {
    first_ = std::make_unique<FirstPage>(screen_->look(), home_);
    first_->forEach(attach);
    first_->hold = [this](char letter, bool down) { hold(letter, down); };
    page.desk().showInstead(first_.get());
  }
}

void HomeWindow::begin() {
  home_.start();
  look();
  if (first_ && first_->softNote().isShowing()) first_->softNote().grabKeyboardFocus();
  startTimerHz(looksASecond);
}

HomeWindow::~HomeWindow() {
  stopTimer();
  letGo();
  juce::Desktop::getInstance().removeFocusChangeListener(this);
  screen_->removeKeyListener(this);
  screen_->page().desk().showInstead(nullptr);
  home_.say = nullptr;
  screen_.reset();  // before the rows that it was lent
}

void HomeWindow::look() {
  home_.look();
  row_.refresh();
  sound_.refresh();
  if (first_) first_->refresh();
  const auto status = home_.status();
  if (status != status_) {
    screen_->page().setStatus(status_ = status);
    if (tellStatus) tellStatus(status);
  }
  // The first whole bar has been played: the page takes over.
  const auto& view = home_.processor().score().view();
  if (first_ && view.playing && view.hasChord && view.tick >= view.meter.bar()) endFirstPage();
}

/// The caution has been on the screen, and stands in Help.
void HomeWindow::endFirstPage() {
  home_.wasSeen();
  screen_->page().desk().showInstead(nullptr);
  pressed_ = 0;  // a card that was held goes with its page
  releaseKeys();
  first_.reset();
  screen_->page().desk().score().grabKeyboardFocus();
}

void HomeWindow::hold(char letter, bool down) {
  pressed_ = down ? letter : char{0};
  if (down)
    keys_.down(letter, false);
  else
    releaseKeys();
}

bool HomeWindow::keyPressed(const juce::KeyPress& key, juce::Component*) {
  const auto modifiers = key.getModifiers();
  if (modifiers.isCommandDown() || modifiers.isCtrlDown() || modifiers.isAltDown()) return false;
  if (screen_->page().typing()) return false;
  const char plainOne = plainKey(key);
  if (plainOne == 'R') {
    home_.record(!home_.recording());
    look();
    return true;
  }
  if (plainOne == 'T') {
    home_.tap();
    return true;
  }
  return keys_.down(plainOne, modifiers.isShiftDown());
}

bool HomeWindow::keyStateChanged(bool, juce::Component*) {
  if (!keys_.any()) return false;
  if (releaseAfter <= 0)
    releaseKeys();
  else if (!release_.isTimerRunning())
    release_.startTimer(releaseAfter);
  return false;  // others may wait for a key too
}

void HomeWindow::releaseKeys() {
  keys_.letGoUnless([this](char key) { return key == pressed_ || isDown(key); });
}

void HomeWindow::letGo() {
  pressed_ = 0;
  keys_.letGoAll();
}

/// Nobody has the focus any more: another program is typed into, unless our window still has the keys (a part of it
/// that had the focus went away).
void HomeWindow::globalFocusChanged(juce::Component* focused) {
  const auto* peer = screen_->getPeer();
  if (focused == nullptr && (peer == nullptr || !peer->isFocused())) letGo();
}

}  // namespace seguente::home
