#include "plugin/editor/parameter_control.h"

#include <algorithm>
#include <cmath>

#include "plugin/editor/strings.h"
#include "plugin/editor/word_choice.h"
#include "plugin/processor.h"

namespace seguente::screen {
namespace {

constexpr int labelHeight = 16;
constexpr int stepWidth = 26;   // less, more
constexpr int pixelsAStep = 4;  // of the mouse, dragged upwards
constexpr double pageSteps = 10;

juce::StringArray wordsOf(const Parameter& row) {
  juce::StringArray words;
  if (row.kind == ParameterKind::choice || row.kind == ParameterKind::onOff)
    for (double value = row.low; value <= row.high; value += row.step) words.add(plain(textOf(row, value)));
  return words;
}

/// What assistive technology reads and writes.
class TextValue final : public juce::AccessibilityTextValueInterface {
 public:
  TextValue(std::function<juce::String()> get, std::function<void(const juce::String&)> set)
      : get_(std::move(get)), set_(std::move(set)) {}
  bool isReadOnly() const override { return false; }
  juce::String getCurrentValueAsString() const override { return get_(); }
  void setValueAsString(const juce::String& text) override { set_(text); }

 private:
  std::function<juce::String()> get_;
  std::function<void(const juce::String&)> set_;
};

}  // namespace

ParameterControl::ParameterControl(const Look& look, Processor& processor, ParameterId which)
    : Element(look, plain(parameter(which).name), juce::AccessibilityRole::slider),
      look_(look),
      processor_(processor),
      row_(parameter(which)),
      words_(wordsOf(row_)) {
  setHelpText(plain(row_.about));
  setWantsKeyboardFocus(true);
  refresh();
}

double ParameterControl::value() const { return allowed(row_, processor_.values().get(row_.which)); }

void ParameterControl::set(double plainValue) {
  const double next = allowed(row_, plainValue);
  if (next == value()) return;
  auto& host = processor_.hostParameter(row_.which);
  const auto normal = host.convertTo0to1(static_cast<float>(next));
  if (dragging_) return host.setValueNotifyingHost(normal);  // one gesture from press to release
  host.beginChangeGesture();
  host.setValueNotifyingHost(normal);
  host.endChangeGesture();
  refresh();
}

void ParameterControl::step(double steps) { set(value() + steps * row_.step); }

bool ParameterControl::type(const juce::String& text) {
  if (row_.kind == ParameterKind::slot) {  // a title serves as well as a number
    const auto& host = processor_.hostParameter(row_.which);
    set(host.convertFrom0to1(host.getValueForText(text)));
    return true;
  }
  const auto typed = valueOf(row_, text.toStdString());
  if (typed) set(*typed);
  return typed.has_value();
}

juce::String ParameterControl::valueText() const {
  const auto& host = processor_.hostParameter(row_.which);
  return host.getText(host.getValue(), 0);
}

void ParameterControl::refresh() {
  if (!show(*this, shown_, valueText())) return;
  const juce::String unit = plain(row_.unit);
  setTitle(plain(row_.name) + ", " + shown_ + (unit.isEmpty() ? "" : " " + unit));
}

void ParameterControl::resized() {
  auto words = getLocalBounds().reduced(edge);
  words.removeFromTop(labelHeight - edge + 2);
  wordPlaces_.clear();
  if (!words_.isEmpty() && widthOfWords(look_.letters, words_) <= words.getWidth())
    wordPlaces_ = placeWords(look_.letters, words_, line());
  if (entry_) entry_->setBounds(targets()[1]);
}

juce::Rectangle<int> ParameterControl::line() const {
  auto area = getLocalBounds().reduced(edge, 2);
  return area.withTop(area.getBottom() - smallestTarget);
}

/// Words: one each. Else: less, the value, more.
std::vector<juce::Rectangle<int>> ParameterControl::targets() const {
  if (asWords()) return wordPlaces_;
  auto all = line();
  const auto more = all.removeFromRight(stepWidth);
  const auto less = all.removeFromRight(stepWidth);
  return {less, all.withTrimmedRight(2), more};
}

juce::String ParameterControl::label() const {
  const auto name = plain(row_.name);
  const auto unit = plain(row_.unit);
  const auto full = unit.isEmpty() ? name : name + ", " + unit;
  return widthOf(font(type::small), full) <= getWidth() - 2 * edge ? full : name;
}

juce::String ParameterControl::remark() const {
  const auto about = plain(row_.about).trimCharactersAtEnd(".");
  return about + plain(words_.isEmpty() ? words::values : words::choices);
}

std::vector<PlacedText> ParameterControl::texts() const {
  std::vector<PlacedText> all;
  all.push_back({label(), font(type::small), getLocalBounds().reduced(edge, 2).withHeight(labelHeight), Ink::soft});
  if (entry_) return all;
  const auto places = targets();
  if (asWords()) {
    const auto chosen = static_cast<int>(value() - row_.low);
    for (int i = 0; i < words_.size(); ++i)
      all.push_back({words_[i], font(type::body, i == chosen ? Weight::bold : Weight::roman),
                     places[static_cast<std::size_t>(i)], Ink::ink, Side::middle});
    return all;
  }
  const auto bold = font(type::value, Weight::bold);
  all.push_back({shortened(bold, shown_, places[1].getWidth()), bold, places[1]});
  return all;
}

void ParameterControl::drawMarks(juce::Graphics& g) const {
  const auto places = targets();
  if (asWords()) return drawWordRules(g, palette(), places, static_cast<int>(value() - row_.low));
  g.setColour(palette().rule);
  g.fillRect(line().withTop(line().getBottom() - 1));
  const auto sign = [&](juce::Rectangle<int> place, bool upright, bool usable) {
    const auto middle = place.getCentre();
    g.setColour(usable ? palette().ink : palette().rule);
    drawFine(g, {middle.x - 6, middle.y - 1, 12, 2});
    if (upright) drawFine(g, {middle.x - 1, middle.y - 6, 2, 12});
  };
  sign(places[0], false, value() > row_.low);
  sign(places[2], true, value() < row_.high);
}

bool ParameterControl::keyPressed(const juce::KeyPress& key) {
  using juce::KeyPress;
  if (key.getModifiers().isAnyModifierKeyDown()) return false;
  const int code = key.getKeyCode();
  if (code == KeyPress::returnKey || code == KeyPress::spaceKey) {
    act();
    return true;
  }
  if (code == KeyPress::upKey || code == KeyPress::rightKey)
    step(1);
  else if (code == KeyPress::downKey || code == KeyPress::leftKey)
    step(-1);
  else if (code == KeyPress::pageUpKey)
    step(pageSteps);
  else if (code == KeyPress::pageDownKey)
    step(-pageSteps);
  else if (code == KeyPress::homeKey)
    set(row_.low);
  else if (code == KeyPress::endKey)
    set(row_.high);
  else if (code == KeyPress::deleteKey || code == KeyPress::backspaceKey)
    set(row_.standard);
  else
    return false;
  return true;
}

void ParameterControl::act() {
  if (words_.isEmpty()) return openEntry();
  set(value() >= row_.high ? row_.low : value() + row_.step);
}

void ParameterControl::mouseDown(const juce::MouseEvent& event) {
  const auto places = targets();
  dragFrom_ = value();
  for (std::size_t i = 0; i < places.size(); ++i) {
    if (!places[i].contains(event.getPosition())) continue;
    if (asWords())
      set(row_.low + static_cast<double>(i) * row_.step);
    else if (i != 1)
      step(i == 0 ? -1 : 1);
  }
}

void ParameterControl::mouseDrag(const juce::MouseEvent& event) {
  if (asWords() || !targets()[1].contains(event.getMouseDownPosition()) || event.getDistanceFromDragStart() < 3) return;
  if (!dragging_) processor_.hostParameter(row_.which).beginChangeGesture();
  dragging_ = true;
  const double unit = std::max(row_.step, (row_.high - row_.low) / 400);  // the whole range within a hand's width
  set(dragFrom_ - std::round(event.getDistanceFromDragStartY() / static_cast<double>(pixelsAStep)) * unit);
  refresh();
}

void ParameterControl::mouseUp(const juce::MouseEvent& event) {
  if (dragging_) {
    dragging_ = false;
    processor_.hostParameter(row_.which).endChangeGesture();
  } else if (!asWords() && targets()[1].contains(event.getPosition())) {
    act();
  }
}

void ParameterControl::openEntry() {
  entry_ = std::make_unique<juce::TextEditor>();
  entry_->setFont(font(type::value, Weight::bold));
  entry_->setIndents(2, 2);
  entry_->setTitle(plain(row_.name));
  const auto& p = palette();
  using Editor = juce::TextEditor;
  for (const int id :
       {Editor::textColourId, Editor::outlineColourId, Editor::focusedOutlineColourId, Editor::highlightColourId})
    entry_->setColour(id, p.ink);
  for (const int id : {Editor::backgroundColourId, Editor::highlightedTextColourId}) entry_->setColour(id, p.page);
  entry_->setColour(juce::CaretComponent::caretColourId, p.ink);
  entry_->setBounds(targets()[1]);
  entry_->setText(shown_, false);
  entry_->selectAll();
  entry_->onReturnKey = [this] { closeEntry(true); };
  entry_->onEscapeKey = [this] { closeEntry(false); };
  entry_->onFocusLost = [this] { closeEntry(true); };
  addAndMakeVisible(*entry_);
  if (isShowing()) entry_->grabKeyboardFocus();
  repaint();
}

void ParameterControl::closeEntry(bool take) {
  if (!entry_) return;
  closed_ = std::move(entry_);
  closed_->onFocusLost = nullptr;
  const auto text = closed_->getText();
  const bool hadFocus = closed_->hasKeyboardFocus(true);
  removeChildComponent(closed_.get());
  if (take) type(text);
  if (hadFocus && isShowing()) grabKeyboardFocus();
  repaint();
}

std::unique_ptr<juce::AccessibilityHandler> ParameterControl::createAccessibilityHandler() {
  juce::AccessibilityActions actions;
  actions.addAction(juce::AccessibilityActionType::press, [this] { act(); });
  return std::make_unique<juce::AccessibilityHandler>(
      *this, juce::AccessibilityRole::slider, std::move(actions),
      juce::AccessibilityHandler::Interfaces{std::make_unique<TextValue>(
          [this] { return valueText(); }, [this](const juce::String& text) { type(text); })});
}

}  // namespace seguente::screen
