#include "plugin/editor/signal_row.h"

#include "plugin/editor/chord_view.h"
#include "plugin/editor/strings.h"

namespace seguente::screen {
namespace {

constexpr int targetHeight = 44;
constexpr int signRoom = 36;
constexpr int gap = 4;

bool pressed(const juce::KeyPress& key) {
  return !key.getModifiers().isAnyModifierKeyDown() &&
         (key.getKeyCode() == juce::KeyPress::returnKey || key.getKeyCode() == juce::KeyPress::spaceKey);
}

/// The signs that a score has for them: fermata, a note after a bar line, the final bar line.
void drawSign(juce::Graphics& g, Signal signal, juce::Point<float> middle) {
  if (signal == Signal::hold) drawFermata(g, middle.translated(0, 6), 22);
  if (signal == Signal::goOn) {
    g.fillRect(middle.x - 9, middle.y - 9, 1.5f, 18.0f);
    g.fillRect(middle.x + 5, middle.y - 9, 1.5f, 15.0f);
    g.fillEllipse(middle.x - 2, middle.y + 3, 8, 6);
  }
  if (signal == Signal::end) {
    g.fillRect(middle.x - 5, middle.y - 9, 1.5f, 18.0f);
    g.fillRect(middle.x - 1, middle.y - 9, 5.0f, 18.0f);
  }
}

}  // namespace

SignalTarget::SignalTarget(const Look& look, Session& session, Signal signal)
    : Element(look, plain(nameOf(signal)), juce::AccessibilityRole::button), session_(session), signal_(signal) {
  setHelpText(plain(words::signalRemarks[static_cast<std::size_t>(signal)]));
  setWantsKeyboardFocus(true);
}

void SignalTarget::refresh(const View& view) {
  const bool on = signal_ == Signal::hold && view.holding;
  if (show(*this, on_, on)) setTitle(word());
  show(*this, usable_, !hasSign() || view.hasChord || !view.ours.empty());
}

juce::String SignalTarget::word() const { return plain(on_ ? words::holding : nameOf(signal_)); }

std::vector<PlacedText> SignalTarget::texts() const {
  auto area = getLocalBounds().reduced(edge + 2, edge);
  if (hasSign()) area.removeFromLeft(signRoom);
  const auto ink = on_ ? Ink::reversed : usable_ ? Ink::ink : Ink::coming;
  return {{word(), font(type::body, Weight::bold), area, ink, hasSign() ? Side::left : Side::middle}};
}

void SignalTarget::drawMarks(juce::Graphics& g) const {
  const auto frame = getLocalBounds().reduced(edge);
  const auto& p = palette();
  g.setColour(usable_ || on_ ? p.ink : p.coming);
  if (on_) {
    g.fillRect(frame);
  } else if (usable_) {
    g.drawRect(frame, 1);
  } else {
    const auto f = frame.toFloat().reduced(0.5f);
    const float dashes[] = {4, 3};
    for (const auto& line : {juce::Line<float>(f.getTopLeft(), f.getTopRight()),
                             {f.getTopRight(), f.getBottomRight()},
                             {f.getBottomLeft(), f.getBottomRight()},
                             {f.getTopLeft(), f.getBottomLeft()}})
      g.drawDashedLine(line, dashes, 2);
  }
  if (!hasSign()) return;
  g.setColour(on_ ? p.page : usable_ ? p.ink : p.coming);
  drawSign(g, signal_, {static_cast<float>(frame.getX() + signRoom / 2 + 1), static_cast<float>(frame.getCentreY())});
}

bool SignalTarget::keyPressed(const juce::KeyPress& key) {
  if (!pressed(key)) return false;
  act();
  return true;
}

GiverTarget::GiverTarget(const Look& look, SignalMap& map, Signal signal)
    : Element(look, {}, juce::AccessibilityRole::button), map_(map), signal_(signal) {
  setWantsKeyboardFocus(true);
  say();
}

void GiverTarget::refresh() {
  const bool was = shown_.listens;
  if (!show(*this, shown_, {map_.get(signal_), map_.learning() == signal_})) return;
  say();
  if (was != shown_.listens && pointed) pointed(this);  // what it listens for is said at once
}

void GiverTarget::say() {
  const auto name = plain(nameOf(signal_)) + ": ";
  const bool given = shown_.giver.kind != GiverKind::nothing;
  setTitle(name + (shown_.listens ? plain(words::press) + ", " + plain(words::cancel)
                   : given        ? plain(words::givenBy) + plain(textOf(shown_.giver))
                                  : plain(words::giveIt)));
}

juce::String GiverTarget::remark() const {
  const auto name = plain(nameOf(signal_));
  if (shown_.listens) return plain(words::listens).replace("%", name);
  if (shown_.giver.kind == GiverKind::nothing) return name + ": " + plain(words::giveIt) + ".";
  return name + ": " + plain(words::givenBy) + plain(textOf(shown_.giver)) + plain(words::takesAway);
}

/// While it listens and something is given already: none, and cancel. Else the whole.
std::vector<juce::Rectangle<int>> GiverTarget::targets() const {
  auto all = getLocalBounds().reduced(edge, 1);
  if (!shown_.listens || shown_.giver.kind == GiverKind::nothing) return {all};
  const auto none = all.removeFromLeft(all.getWidth() * 2 / 5);
  return {none.withTrimmedRight(2), all.withTrimmedLeft(2)};
}

std::vector<PlacedText> GiverTarget::texts() const {
  const auto face = font(type::small, shown_.listens ? Weight::bold : Weight::roman, Face::music);
  const auto places = targets();
  if (places.size() == 2)
    return {{plain(words::takeAway), face, places[0], Ink::ink, Side::middle},
            {plain(words::cancel), face, places[1], Ink::ink, Side::middle}};
  if (shown_.listens) return {{plain(words::cancel), face, places[0], Ink::ink, Side::middle}};
  if (shown_.giver.kind == GiverKind::nothing)
    return {{plain(words::pedalOrKey), face, places[0], Ink::soft, Side::middle}};
  const auto given =
      plain(textOf(shown_.giver)).upToFirstOccurrenceOf(",", false, false);  // the channel: in the remark
  return {{shortened(face, given, places[0].getWidth()), face, places[0], Ink::ink, Side::middle}};
}

void GiverTarget::drawMarks(juce::Graphics& g) const {
  for (const auto& place : targets()) {
    g.setColour(shown_.listens ? palette().ink : palette().rule);
    g.fillRect(place.withTop(place.getBottom() - (shown_.listens ? 3 : 1)).reduced(2, 0));
  }
}

void GiverTarget::act() {
  map_.learn(shown_.listens ? std::nullopt : std::optional(signal_));
  refresh();
}

void GiverTarget::takeAway() {
  map_.learn(std::nullopt);
  map_.set(signal_, {});
  refresh();
}

bool GiverTarget::keyPressed(const juce::KeyPress& key) {
  const int code = key.getKeyCode();
  if (pressed(key) || (code == juce::KeyPress::escapeKey && shown_.listens))
    act();
  else if (code == juce::KeyPress::deleteKey || code == juce::KeyPress::backspaceKey)
    takeAway();
  else
    return false;
  return true;
}

void GiverTarget::mouseDown(const juce::MouseEvent& event) {
  const auto places = targets();
  if (places.size() == 2 && places[0].contains(event.getPosition()))
    takeAway();
  else
    act();
}

SignalRow::SignalRow(const Look& look, Session& session, SignalMap& map) {
  setTitle(plain(words::signals));
  for (std::size_t i = 0; i < signalCount; ++i) {
    const auto signal = static_cast<Signal>(i);
    addAndMakeVisible(*(targets_[i] = std::make_unique<SignalTarget>(look, session, signal)));
    addAndMakeVisible(*(givers_[i] = std::make_unique<GiverTarget>(look, map, signal)));
  }
}

void SignalRow::refresh(const View& view) {
  for (auto& target : targets_) target->refresh(view);
  for (auto& giver : givers_) giver->refresh();
}

void SignalRow::resized() {
  const auto row = getLocalBounds();
  const int count = static_cast<int>(signalCount), whole = row.getWidth() + gap;
  for (std::size_t i = 0; i < signalCount; ++i) {
    const int at = static_cast<int>(i);
    auto column = row.withLeft(whole * at / count).withRight(whole * (at + 1) / count - gap);
    targets_[i]->setBounds(column.removeFromTop(targetHeight));
    givers_[i]->setBounds(column.removeFromTop(smallestTarget + 4));
  }
}

}  // namespace seguente::screen
