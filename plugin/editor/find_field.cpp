#include "plugin/editor/find_field.h"

#include "plugin/editor/strings.h"

namespace seguente::screen {
namespace {

constexpr int mostLetters = 40;
constexpr int labelRoom = 40;

class Typed final : public juce::AccessibilityTextValueInterface {
 public:
  explicit Typed(FindField& field) : field_(field) {}
  bool isReadOnly() const override { return false; }
  juce::String getCurrentValueAsString() const override { return field_.words(); }
  void setValueAsString(const juce::String& text) override { field_.set(text); }

 private:
  FindField& field_;
};

}  // namespace

FindField::FindField(const Look& look) : Element(look, plain(words::find), juce::AccessibilityRole::editableText) {
  setHelpText(plain(words::findRemark));
  setWantsKeyboardFocus(true);
  setMouseCursor(juce::MouseCursor::IBeamCursor);
}

void FindField::set(const juce::String& words) {
  if (!show(*this, words_, words.substring(0, mostLetters))) return;
  setTitle(words_.isEmpty() ? plain(words::find) : plain(words::find) + ", " + words_);
  if (sought) sought(words_);
}

std::vector<PlacedText> FindField::texts() const {
  auto line = getLocalBounds().reduced(edge, 2);
  const auto label = font(type::comment);
  std::vector<PlacedText> all{{plain(words::find), label, line.removeFromLeft(labelRoom), Ink::soft}};
  const auto hint = font(type::comment, Weight::italic), typed = font(type::body);
  if (words_.isEmpty())
    all.push_back({shortened(hint, plain(words::findHint), line.getWidth()), hint, line, Ink::soft});
  else
    all.push_back({shortened(typed, words_, line.getWidth()), typed, line});
  return all;
}

void FindField::drawMarks(juce::Graphics& g) const {
  auto line = getLocalBounds().reduced(edge, 3);
  line.removeFromLeft(labelRoom - 4);
  g.setColour(palette().rule);
  g.fillRect(line.withTop(line.getBottom() - 1));
  if (!hasKeyboardFocus(false) || words_.isEmpty()) return;
  g.setColour(palette().ink);  // the caret does not blink: nothing moves by itself
  g.fillRect(line.getX() + 5 + widthOf(font(type::body), words_), line.getY() + 4, 1, line.getHeight() - 8);
}

void FindField::mouseDown(const juce::MouseEvent&) {
  if (isShowing()) grabKeyboardFocus();
}

bool FindField::keyPressed(const juce::KeyPress& key) {
  using juce::KeyPress;
  if (key.getModifiers().isCommandDown() || key.getModifiers().isAltDown()) return false;
  const int code = key.getKeyCode();
  if (code == KeyPress::escapeKey) {
    if (words_.isEmpty()) return false;
    set({});
    return true;
  }
  if (code == KeyPress::backspaceKey) {
    set(words_.dropLastCharacters(1));
    return true;
  }
  if (code == KeyPress::returnKey || code == KeyPress::downKey) {
    if (leave) leave();
    return true;
  }
  const auto letter = key.getTextCharacter();
  if (letter < 32 || letter == 127) return false;
  set(words_ + juce::String::charToString(letter));
  return true;
}

std::unique_ptr<juce::AccessibilityHandler> FindField::createAccessibilityHandler() {
  return std::make_unique<juce::AccessibilityHandler>(
      *this, juce::AccessibilityRole::editableText, juce::AccessibilityActions{},
      juce::AccessibilityHandler::Interfaces{std::make_unique<Typed>(*this)});
}

}  // namespace seguente::screen
