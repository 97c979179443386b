#include "plugin/editor/footnote.h"

#include <algorithm>

#include "plugin/editor/strings.h"

namespace seguente::screen {
namespace {
constexpr int lineHeight = 17;
constexpr int pageLine = 22;
constexpr int paragraphGap = 12;
constexpr int headingHeight = 38;
constexpr int widestColumn = 680;  // a line of print that the eye still finds back from

std::vector<PlacedText> stacked(const std::vector<juce::String>& lines, const juce::Font& face,
                                juce::Rectangle<int> area, Ink ink) {
  std::vector<PlacedText> all;
  area = area.withSizeKeepingCentre(area.getWidth(), static_cast<int>(lines.size()) * lineHeight);
  for (const auto& line : lines) all.push_back({line, face, area.removeFromTop(lineHeight), ink});
  return all;
}
}  // namespace

Footnote::Footnote(const Look& look) : Element(look, plain(words::messages), juce::AccessibilityRole::button) {
  setHelpText(plain(words::messagesRemark));
  setWantsKeyboardFocus(true);
  setTitle(plain(words::messages) + ": " + plain(words::noMessage));
}

void Footnote::setMessage(const juce::String& message) {
  if (show(*this, message_, message)) setTitle(plain(words::messages) + ": " + message);
}

std::vector<PlacedText> Footnote::texts() const {
  const auto area = getLocalBounds().reduced(edge, 1);
  const auto face = font(type::small);
  if (message_.isEmpty()) return stacked({plain(words::noMessage)}, face, area, Ink::soft);
  return stacked(broken(face, plain(words::footnote) + message_, area.getWidth(), 2), face, area, Ink::ink);
}

bool Footnote::keyPressed(const juce::KeyPress& key) {
  if (key.getKeyCode() != juce::KeyPress::returnKey && key.getKeyCode() != juce::KeyPress::spaceKey) return false;
  act();
  return true;
}

void Footnote::act() {
  if (open) open();
}

RemarkLine::RemarkLine(const Look& look)
    : Element(look, {}, juce::AccessibilityRole::staticText), remark_(plain(words::firstRemark)) {}

void RemarkLine::say(const juce::String& remark) { show(*this, remark_, remark); }

std::vector<PlacedText> RemarkLine::texts() const {
  const auto area = getLocalBounds().reduced(edge, 1);
  const auto face = font(type::small, Weight::italic);
  return stacked(broken(face, remark_, area.getWidth(), 2), face, area, Ink::soft);
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
