#include "plugin/editor/keyboard_view.h"

#include <cmath>

#include "plugin/editor/strings.h"

namespace seguente::screen {
namespace {

constexpr int labelHeight = 20;
constexpr int wedgeHeight = 8;
constexpr int narrowestWhite = 22;

enum HandSplit : int { automatic, byKey, byChannel, noMelody };  // the words of the row "hand split"

KeySet differences(const KeySet& a, const KeySet& b) { return {{a.words[0] ^ b.words[0], a.words[1] ^ b.words[1]}}; }
KeySet together(const KeySet& a, const KeySet& b) { return {{a.words[0] | b.words[0], a.words[1] | b.words[1]}}; }

}  // namespace

juce::String keyName(int key) {
  static constexpr const char* names[12] = {"C", "C#", "D", "D#", "E", "F", "F#", "G", "G#", "A", "A#", "B"};
  return printedSymbol(names[key % 12]) + juce::String(key / 12 - 1);
}

juce::String keyNames(const KeySet& keys) {
  juce::StringArray names;
  keys.forEach([&](NoteNumber key) { names.add(keyName(key.value)); });
  return names.joinIntoString(" ");
}

KeyboardView::KeyboardView(const Look& look) : Element(look, plain(words::keyboard), juce::AccessibilityRole::image) {
  setOpaque(true);
  setWantsKeyboardFocus(true);
}

void KeyboardView::resized() {
  auto area = getLocalBounds();
  area.removeFromTop(labelHeight);
  area.removeFromBottom(wedgeHeight);
  keys_ = KeyboardKeys(area, narrowestWhite);
  lower_ = outside(true);
  higher_ = outside(false);
}

void KeyboardView::refresh(const View& view, const ParameterValues& values, const Due& due) {
  const auto split = static_cast<int>(values.get(ParameterId::handSplit));
  const auto key = static_cast<int>(values.get(ParameterId::splitKey));
  Hands hands;
  if (split == byChannel) {
    const auto channel = static_cast<int>(values.get(ParameterId::chordChannel));
    hands = {plain(words::chordHandChannel) + juce::String(channel), plain(words::melodyOther), -1};
  } else if (split == noMelody) {
    hands = {plain(words::allChords), {}, -1};
  } else if (split == automatic) {
    hands = {plain(words::handsHeard), {}, -1};
  } else {
    hands = {plain(words::chordHandUpTo) + keyName(key - 1), plain(words::melodyHandFrom) + keyName(key), key};
  }
  if (hands_ != hands) {
    hands_ = hands;
    repaint();
  }

  const Sounds now{view.held, view.tune, view.ours, due.next};
  if (due.fingers != fingers_) {
    fingers_ = due.fingers;
    repaint(getLocalBounds().removeFromTop(labelHeight));
  }
  auto changed = together(differences(now.held, sounds_.held), differences(now.melody, sounds_.melody));
  changed = together(changed, differences(now.accompaniment, sounds_.accompaniment));
  changed = together(changed, differences(now.next, sounds_.next));
  if (changed.empty()) return;
  sounds_ = now;
  changed.forEach([&](NoteNumber n) {
    if (keys_.shows(n.value)) repaint(keys_.of(n.value).getSmallestIntegerContainer().expanded(2, 1));
  });
  const auto lower = outside(true), higher = outside(false);
  if (lower != lower_ || higher != higher_) repaint(getLocalBounds().removeFromTop(labelHeight));
  lower_ = lower;
  higher_ = higher;
  say();
}

void KeyboardView::say() {
  const auto named = [](const KeySet& keys) { return keys.empty() ? plain(words::nothing) : keyNames(keys); };
  auto title = plain(words::keyboard) + ": " + plain(words::held) + " " + named(sounds_.held) + "; " +
               plain(words::melody) + " " + named(sounds_.melody) + "; " + plain(words::accompaniment) + " " +
               named(sounds_.accompaniment);
  sounds_.accompaniment.forEach([&](NoteNumber key) {
    if (fingers_[key.value] > 0) title << ", " << plain(words::finger) << juce::String(fingers_[key.value]);
  });
  setTitle(title);
}

juce::String KeyboardView::outside(bool lower) const {
  KeySet beyond;
  together(together(sounds_.held, sounds_.melody), sounds_.accompaniment).forEach([&](NoteNumber n) {
    if (lower ? n.value < keys_.low() : n.value > keys_.high()) beyond.add(n);
  });
  return beyond.empty() ? juce::String() : plain(lower ? words::lowerKeys : words::higherKeys) + keyNames(beyond);
}

std::vector<PlacedText> KeyboardView::texts() const {
  std::vector<PlacedText> all;
  auto row = getLocalBounds().removeFromTop(labelHeight);
  const auto comment = font(type::small, Weight::italic);
  const auto said = font(type::small, Weight::bold);
  const auto addLeft = [&](const juce::String& text, const juce::Font& face, Ink ink) {
    if (text.isEmpty()) return;
    const auto fits = shortened(face, text, row.getWidth() - 20);
    all.push_back({fits, face, row.removeFromLeft(widthOf(face, fits) + 1), ink});
    row.removeFromLeft(16);
  };
  const auto addRight = [&](const juce::String& text, const juce::Font& face, Ink ink) {
    if (text.isEmpty()) return;
    const auto fits = shortened(face, text, row.getWidth() - 20);
    all.push_back({fits, face, row.removeFromRight(widthOf(face, fits) + 1), ink, Side::right});
    row.removeFromRight(16);
  };
  addLeft(hands_.left, comment, Ink::soft);
  addRight(hands_.right, comment, Ink::soft);
  addLeft(lower_, said, Ink::ink);
  addRight(higher_, said, Ink::ink);

  // Fingers over their keys, where the words beside leave room.
  const auto number = font(type::small, Weight::bold);
  for (int key = keys_.low(); key <= keys_.high(); ++key) {
    const NoteNumber n{static_cast<std::uint8_t>(key)};
    if (fingers_[n.value] == 0 || !(sounds_.accompaniment.has(n) || sounds_.next.has(n))) continue;
    const auto at = keys_.of(key).getSmallestIntegerContainer().withY(0).withHeight(labelHeight);
    if (at.getX() >= row.getX() && at.getRight() <= row.getRight())
      all.push_back({juce::String(fingers_[n.value]), number, at, Ink::ink, Side::middle});
  }

  for (int c = 24; c <= 108; c += 12) {  // every C that bears no mark
    const NoteNumber key{static_cast<std::uint8_t>(c)};
    if (!keys_.shows(c) || sounds_.held.has(key) || sounds_.melody.has(key) || sounds_.accompaniment.has(key) ||
        sounds_.next.has(key))
      continue;
    const auto place = keys_.of(c).getSmallestIntegerContainer();
    const auto face = font(type::key);
    all.push_back({keyName(c), face, place.withTop(place.getBottom() - 18).withHeight(16), Ink::soft, Side::middle});
  }
  return all;
}

void KeyboardView::paint(juce::Graphics& g) {
  const auto& p = palette();
  const auto clip = g.getClipBounds().toFloat();
  g.fillAll(p.page);
  for (const bool black : {false, true})
    for (int key = keys_.low(); key <= keys_.high(); ++key)
      if (isBlack(key) == black && keys_.of(key).intersects(clip)) drawKey(g, key);
  g.setColour(p.ink);
  g.fillRect(keys_.area().withHeight(2));
  if (hands_.wedge >= 0 && keys_.shows(hands_.wedge)) {
    const auto at = keys_.of(hands_.wedge);
    const float x = at.getX(), y = static_cast<float>(keys_.area().getBottom()) + 1;
    juce::Path wedge;
    wedge.addTriangle(x, y, x - 6, y + wedgeHeight - 1, x + 6, y + wedgeHeight - 1);
    g.fillPath(wedge);
  }
  Element::paint(g);
}

void KeyboardView::drawKey(juce::Graphics& g, int key) const {
  const auto& p = palette();
  const bool black = isBlack(key);
  const auto whole = keys_.of(key);
  const auto ground = black ? p.blackKey : p.whiteKey;
  g.setColour(ground);
  g.fillRect(whole);
  g.setColour(p.keyLine);
  g.drawRect(whole, 1);

  const NoteNumber n{static_cast<std::uint8_t>(key)};
  const float headHeight = black ? 18.0f : 20.0f;
  auto foot = whole.withTop(whole.getBottom() - headHeight - (black ? 2 : 5)).reduced(1.5f, 1.5f);
  if (sounds_.next.has(n) && !sounds_.accompaniment.has(n)) drawNext(g, foot, p.accompaniment);
  if (sounds_.accompaniment.has(n)) drawHatching(g, foot, p.accompaniment, ground);
  if (sounds_.melody.has(n)) {
    const auto colour = black ? p.melodyOnBlack : p.melody;
    g.setColour(colour);
    g.fillRect(foot.removeFromBottom(4.5f));
    drawMelodyHead(g, foot.reduced(1, 1), colour);
  }
  if (key == cursor_ && hasKeyboardFocus(false)) {
    g.setColour(black ? p.heldOnBlack : p.ink);
    g.drawRect(whole.reduced(4), 1.5f);
  }
  if (sounds_.held.has(n)) {
    const auto line = black ? p.heldOnBlack : p.ink;
    g.setColour(line);
    g.drawRect(whole.reduced(1), 2.6f);
    drawHeldHead(g, foot.reduced(2, 2), line, ground);
  }
}

int KeyboardView::keyAt(juce::Point<float> at) const {
  for (const bool black : {true, false})
    for (int key = keys_.low(); key <= keys_.high(); ++key)
      if (isBlack(key) == black && keys_.of(key).contains(at)) return key;
  return -1;
}

/// One key at a time; -1 lets go.
void KeyboardView::press(int key) {
  if (key == pressed_) return;
  if (play && pressed_ >= 0) play({static_cast<std::uint8_t>(pressed_)}, false);
  pressed_ = key;
  if (play && pressed_ >= 0) play({static_cast<std::uint8_t>(pressed_)}, true);
}

void KeyboardView::mouseDown(const juce::MouseEvent& event) { press(keyAt(event.position)); }
void KeyboardView::mouseDrag(const juce::MouseEvent& event) { press(keyAt(event.position)); }
void KeyboardView::mouseUp(const juce::MouseEvent&) { press(-1); }
void KeyboardView::focusLost(FocusChangeType cause) {
  press(-1);
  Element::focusLost(cause);
}

juce::String KeyboardView::remark() const {
  return cursor_ < 0 ? plain(words::keyboardRemark) : keyName(cursor_) + ". " + plain(words::keyboardRemark);
}

bool KeyboardView::keyPressed(const juce::KeyPress& key) {
  using juce::KeyPress;
  if (key.getModifiers().isAnyModifierKeyDown()) return false;
  const int code = key.getKeyCode();
  if (code == KeyPress::leftKey || code == KeyPress::rightKey) {
    const int from = cursor_ < 0 ? 60 - (code == KeyPress::rightKey ? 1 : -1) : cursor_;
    press(-1);
    cursor_ = std::clamp(from + (code == KeyPress::rightKey ? 1 : -1), keys_.low(), keys_.high());
    repaint();
    if (pointed) pointed(this);
    return true;
  }
  if (code != KeyPress::spaceKey || cursor_ < 0) return false;
  press(cursor_);
  return true;
}

bool KeyboardView::keyStateChanged(bool) {
  if (pressed_ < 0 || isMouseButtonDown() || juce::KeyPress::isKeyCurrentlyDown(juce::KeyPress::spaceKey)) return false;
  press(-1);
  return true;
}

}  // namespace seguente::screen
