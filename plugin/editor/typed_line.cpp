#include "plugin/editor/typed_line.h"

namespace seguente::screen {
namespace {

constexpr int mostLetters = 40;

class Typed final : public juce::AccessibilityTextValueInterface {
 public:
  explicit Typed(TypedLine& line) : line_(line) {}
  bool isReadOnly() const override { return false; }
  juce::String getCurrentValueAsString() const override { return line_.words(); }
  void setValueAsString(const juce::String& text) override { line_.type(text); }

 private:
  TypedLine& line_;
};

}  // namespace

TypedLine::TypedLine(const Look& look, const juce::String& label, const juce::String& remark)
    : Element(look, label, juce::AccessibilityRole::editableText), label_(label) {
  setHelpText(remark);
  setWantsKeyboardFocus(true);
  setMouseCursor(juce::MouseCursor::IBeamCursor);
}

void TypedLine::set(const juce::String& words) {
  if (!show(*this, words_, words.substring(0, mostLetters))) return;
  setTitle(words_.isEmpty() ? label_ : label_ + ", " + words_);
}

void TypedLine::type(const juce::String& words) {
  set(words);
  if (typed) typed(words_);
}

std::vector<PlacedText> TypedLine::texts() const {
  auto line = getLocalBounds().reduced(edge, 2);
  const auto label = font(screen::type::comment), face = font(screen::type::body);
  std::vector<PlacedText> all{{label_, label, line.removeFromLeft(labelRoom()), Ink::soft}};
  all.push_back({shortened(face, words_, line.getWidth()), face, line});
  return all;
}

void TypedLine::drawMarks(juce::Graphics& g) const {
  auto line = getLocalBounds().reduced(edge, 3);
  line.removeFromLeft(labelRoom() - 4);
  g.setColour(palette().rule);
  g.fillRect(line.withTop(line.getBottom() - 1));
  if (!hasKeyboardFocus(false)) return;
  g.setColour(palette().ink);  // the caret does not blink: nothing moves by itself
  const int caret = line.getX() + 5 + widthOf(font(screen::type::body), words_);
  g.fillRect(std::min(caret, line.getRight() - 1), line.getY() + 4, 1, line.getHeight() - 8);
}

void TypedLine::mouseDown(const juce::MouseEvent&) {
  if (isShowing()) grabKeyboardFocus();
}

bool TypedLine::keyPressed(const juce::KeyPress& key) {
  using juce::KeyPress;
  if (key.getModifiers().isCommandDown() || key.getModifiers().isAltDown()) return false;
  const int code = key.getKeyCode();
  if (code == KeyPress::escapeKey) {
    if (!leave) return false;
    leave();
    return true;
  }
  if (code == KeyPress::backspaceKey) {
    type(words_.dropLastCharacters(1));
    return true;
  }
  if (code == KeyPress::returnKey) {
    if (done) done();
    return true;
  }
  const auto letter = key.getTextCharacter();
  if (letter < 32 || letter == 127) return false;
  type(words_ + juce::String::charToString(letter));
  return true;
}

std::unique_ptr<juce::AccessibilityHandler> TypedLine::createAccessibilityHandler() {
  return std::make_unique<juce::AccessibilityHandler>(
      *this, juce::AccessibilityRole::editableText, juce::AccessibilityActions{},
      juce::AccessibilityHandler::Interfaces{std::make_unique<Typed>(*this)});
}

}  // namespace seguente::screen
