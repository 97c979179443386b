#include "plugin/editor/footnote.h"

#include <algorithm>

#include "plugin/editor/strings.h"

namespace seguente::screen {
namespace {
constexpr int pageLine = 22;
constexpr int paragraphGap = 12;
constexpr int headingHeight = 38;
constexpr int widestColumn = 680;  // a line of print that the eye still finds back from

}  // namespace

Footnote::Footnote(const Look& look) : Element(look, plain(words::messages), juce::AccessibilityRole::button) {
  setHelpText(plain(words::messagesRemark));
  setWantsKeyboardFocus(true);
  setTitle(plain(words::messages) + ": " + plain(words::noMessage));
}

void Footnote::setMessage(const juce::String& message) {
  remark_ = {};
  if (show(*this, message_, message)) setTitle(plain(words::messages) + ": " + message);
}

void Footnote::say(const juce::String& remark) { show(*this, remark_, remark); }

juce::String Footnote::line() const {
  if (remark_.isNotEmpty()) return remark_;
  return message_.isEmpty() ? plain(words::firstRemark) : plain(words::footnote) + message_;
}

int Footnote::widthNeeded() const { return widthOf(font(type::small), line()) + 2 * edge + 2; }

std::vector<PlacedText> Footnote::texts() const {
  const auto area = getLocalBounds().reduced(edge, 0);
  const auto face = font(type::small);
  return {{shortened(face, line(), area.getWidth()), face, area,
           remark_.isEmpty() && message_.isEmpty() ? Ink::soft : Ink::ink}};
}

bool Footnote::keyPressed(const juce::KeyPress& key) {
  if (key.getKeyCode() != juce::KeyPress::returnKey && key.getKeyCode() != juce::KeyPress::spaceKey) return false;
  act();
  return true;
}

void Footnote::act() {
  if (open) open();
}

TextPage::TextPage(const Look& look, const juce::String& heading)
    : Element(look, heading, juce::AccessibilityRole::staticText), heading_(heading) {
  setWantsKeyboardFocus(true);
}

void TextPage::setParagraphs(const juce::StringArray& paragraphs) {
  if (!show(*this, paragraphs_, paragraphs)) return;
  setDescription(paragraphs.joinIntoString("\n"));
  fit(getWidth());
}

std::vector<juce::String> TextPage::linesOf(const juce::String& paragraph) const {
  return broken(font(type::body), paragraph, std::min(widestColumn, getWidth() - 4 * edge));
}

void TextPage::fit(int width) {
  setSize(width, getHeight());
  int height = 2 * edge + headingHeight;
  for (const auto& paragraph : paragraphs_)
    height += static_cast<int>(linesOf(paragraph).size()) * pageLine + paragraphGap;
  setSize(width, height);
}

std::vector<PlacedText> TextPage::texts() const {
  std::vector<PlacedText> all;
  auto area = getLocalBounds().reduced(2 * edge, edge);
  all.push_back({heading_, font(type::heading, Weight::bold), area.removeFromTop(headingHeight)});
  for (const auto& paragraph : paragraphs_) {
    for (const auto& line : linesOf(paragraph)) all.push_back({line, font(type::body), area.removeFromTop(pageLine)});
    area.removeFromTop(paragraphGap);
  }
  return all;
}

bool TextPage::keyPressed(const juce::KeyPress& key) {
  using juce::KeyPress;
  auto* scroll = findParentComponentOfClass<Scroll>();
  if (scroll == nullptr) return false;
  const int page = scroll->getViewHeight() - pageLine;
  const int code = key.getKeyCode();
  const int by = code == KeyPress::downKey       ? pageLine
                 : code == KeyPress::upKey       ? -pageLine
                 : code == KeyPress::pageDownKey ? page
                 : code == KeyPress::pageUpKey   ? -page
                                                 : 0;
  if (by == 0) return false;
  scroll->setViewPosition(
      0, std::clamp(scroll->getViewPositionY() + by, 0, std::max(0, getHeight() - scroll->getViewHeight())));
  return true;
}

}  // namespace seguente::screen
