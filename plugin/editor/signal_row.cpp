#include "plugin/editor/signal_row.h"

#include <algorithm>

#include "plugin/editor/held_names.h"
#include "plugin/editor/strings.h"
#include "plugin/editor/time_view.h"
#include "plugin/processor.h"

namespace seguente::screen {
namespace {

constexpr int targetHeight = 44;
constexpr int signRoom = 36;
constexpr int gap = 4;
constexpr int signalHeight = 80;
constexpr int narrowestSignal = 140;

/// What is changed while playing; all rows of the table stand under Settings.
constexpr ParameterId whilePlaying[] = {ParameterId::ownTempo, ParameterId::time, ParameterId::waitForChord,
                                        ParameterId::keep};
constexpr int fieldWidths[] = {140, 206, 124, 88};

bool pressed(const juce::KeyPress& key) {
  return !key.getModifiers().isAnyModifierKeyDown() &&
         (key.getKeyCode() == juce::KeyPress::returnKey || key.getKeyCode() == juce::KeyPress::spaceKey);
}

constexpr float largeType = 50;

/// The signs that a score has for them: fermata, a note after a bar line, the final bar line, the repeat.
void drawSign(juce::Graphics& g, Signal signal, juce::Point<float> middle, float scale) {
  const auto box = [&](float x, float y, float wide, float high) {
    g.fillRect(middle.x + x * scale, middle.y + y * scale, wide * scale, high * scale);
  };
  if (signal == Signal::hold) drawFermata(g, middle.translated(0, 6 * scale), 22 * scale);
  if (signal == Signal::goOn) {
    box(-9, -10, 1.2f, 20);
    drawQuarter(g, middle.translated(-3 * scale, 9 * scale), 18 * scale);
  }
  if (signal == Signal::end) {
    box(-5, -10, 1.2f, 20);
    box(-1, -10, 4.5f, 20);
  }
  if (signal == Signal::round) {
    for (const float y : {-5.5f, 1.5f}) g.fillEllipse(middle.x - 8 * scale, middle.y + y * scale, 4 * scale, 4 * scale);
    box(-1, -10, 1.2f, 20);
    box(3, -10, 4.5f, 20);
  }
}

}  // namespace

SignalTarget::SignalTarget(const Look& look, Session& session, Signal signal)
    : Element(look, plain(nameOf(signal)), juce::AccessibilityRole::button), session_(session), signal_(signal) {
  setHelpText(plain(words::signalRemarks[static_cast<std::size_t>(signal)]));
  setWantsKeyboardFocus(true);
}

void SignalTarget::refresh(const View& view) {
  const bool on = signal_ == Signal::hold ? view.holding : signal_ == Signal::round && view.round;
  if (show(*this, on_, on)) setTitle(word());
  show(*this, usable_, !hasSign() || view.hasChord || !view.ours.empty());
}

juce::String SignalTarget::word() const {
  if (!on_) return plain(nameOf(signal_));
  return plain(signal_ == Signal::round ? words::roundOn : words::holding);
}

/// Of the sign before the word; where there is little room the word goes alone.
int SignalTarget::signWidth() const {
  if (!large_) return signRoom;
  return getWidth() < 170 ? 0 : getWidth() < 250 ? 56 : 104;
}

int SignalTarget::widthNeeded() const {
  return widthOf(font(type::body, Weight::bold), word()) + (hasSign() ? signRoom : 0) + 4 * edge;
}

/// The word; under it the letter that gives it, where there is one.
std::vector<PlacedText> SignalTarget::texts() const {
  auto area = getLocalBounds().reduced(edge + 2, edge);
  if (large_) area.removeFromRight(2 * edge);
  if (hasSign()) area.removeFromLeft(signWidth());
  const auto ink = on_ ? Ink::reversed : usable_ ? Ink::ink : Ink::coming;
  const auto side = hasSign() || large_ ? Side::left : Side::middle;
  if (large_ && !hasSign()) area.removeFromLeft(4 * edge);
  auto face = font(large_ ? largeType : type::value, Weight::bold);
  // As the rest of the stand, smaller in a smaller window.
  const float leastType = type::stand * std::clamp(static_cast<float>(getParentWidth()) / 1248, 0.55f, 1.0f);
  const auto least = font(leastType, Weight::bold);
  if (!hasSign() && !large_) face = font(type::body);
  if (letter_.isEmpty() || large_) {
    auto said = detail_.isEmpty() ? word() : word() + ": " + detail_;
    if (constexpr int line = 46; large_ && detail_.isNotEmpty() && area.getHeight() >= 2 * line &&
                                 widthOf(least, said) > area.getWidth()) {  // what it brings goes under the word
      auto both = area.withSizeKeepingCentre(area.getWidth(), 2 * line);
      return {{word(), font(leastType), both.removeFromTop(line), ink, side},
              {shortened(least, detail_, area.getWidth()), least, both, ink, side}};
    }
    if (large_ && widthOf(least, said) > area.getWidth()) said = word();
    if (const int wide = widthOf(face, said); large_ && wide > area.getWidth())
      face = font(std::max(leastType, largeType * static_cast<float>(area.getWidth()) / static_cast<float>(wide + 1)),
                  Weight::bold);
    return {{shortened(face, said, area.getWidth()), face, area, ink, side}};
  }
  const auto small = font(type::small);
  area = area.withSizeKeepingCentre(area.getWidth(), 36);
  return {{word(), face, area.removeFromTop(20), ink, side},
          {plain(words::letterKey) + letter_, small, area,
           on_       ? Ink::reversed
           : usable_ ? Ink::soft
                     : Ink::coming,
           side}};
}

void SignalTarget::drawMarks(juce::Graphics& g) const {
  const auto frame = getLocalBounds().reduced(edge);
  const auto& p = palette();
  if (!hasSign() && !large_) {  // a word on a line
    g.setColour(p.rule);
    g.fillRect(frame.withTop(frame.getBottom() - 1));
    return;
  }
  g.setColour(usable_ || on_ ? p.ink : p.coming);
  if (on_) {
    g.fillRect(frame);
  } else if (usable_) {
    g.drawRect(frame, 1);
    if (isMouseOver()) g.fillRect(frame.withTop(frame.getBottom() - 3));
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
  const auto room = static_cast<float>(signWidth());
  if (room < 1) return;
  drawSign(g, signal_, {static_cast<float>(frame.getX()) + room / 2 + 1, static_cast<float>(frame.getCentreY())},
           large_ ? room / 34 : 1.0f);
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
  const auto face = font(type::small, shown_.listens ? Weight::bold : Weight::roman);
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

PlayRow::PlayRow(const Look& look, Processor& processor) {
  int order = 1;
  const auto add = [&](Element& element) {
    addAndMakeVisible(element);
    element.setExplicitFocusOrder(order++);
  };
  for (const auto which : whilePlaying)
    add(*fields_.emplace_back(std::make_unique<ParameterControl>(look, processor, which)));
  for (const auto signal : {Signal::hold, Signal::goOn, Signal::end, Signal::round, Signal::silenceAll})
    add(*targets_.emplace_back(std::make_unique<SignalTarget>(look, processor.session(), signal)));
}

void PlayRow::refresh(const View& view) {
  for (auto& target : targets_) target->refresh(view);
}

void PlayRow::refreshValues() {
  for (auto& field : fields_) field->refresh();
}

/// Signals to the right, never smaller; as many fields to their left as there is room for, the rest under Settings.
void PlayRow::resized() {
  auto row = getLocalBounds();
  const int high = std::min(targetHeight + 2 * edge, getHeight());
  auto& silenceAll = *targets_.back();
  const int silence = silenceAll.widthNeeded();
  silenceAll.setBounds(row.removeFromRight(silence).withSizeKeepingCentre(silence, smallestTarget + 2 * edge));
  const bool roomy = getWidth() > 1060;
  const int wide = roomy ? 110 + 2 * edge : std::clamp((row.getWidth() - 4) / 5, 96, 124);
  row.removeFromRight(roomy ? 24 : 6);
  for (std::size_t i = targets_.size() - 1; i-- > 0;) {
    targets_[i]->setBounds(row.removeFromRight(wide).withSizeKeepingCentre(wide, high));
    row.removeFromRight(roomy ? 6 : 0);
  }
  row.removeFromRight(12);
  for (std::size_t i = 0; i < fields_.size(); ++i) {
    const int need = fieldWidths[i];
    const bool fits = need <= row.getWidth();
    fields_[i]->setVisible(fits);
    if (fits) fields_[i]->setBounds(row.removeFromLeft(need).withSizeKeepingCentre(need, ParameterControl::height));
    row.removeFromLeft(8);
  }
}

SignalRows::SignalRows(const Look& look, Session& session, SignalMap& map) {
  setTitle(plain(words::signals));
  for (std::size_t i = 0; i < signalCount; ++i) {
    const auto signal = static_cast<Signal>(i);
    addAndMakeVisible(*(targets_[i] = std::make_unique<SignalTarget>(look, session, signal)));
    addAndMakeVisible(*(givers_[i] = std::make_unique<GiverTarget>(look, map, signal)));
    targets_[i]->setExplicitFocusOrder(static_cast<int>(2 * i) + 1);
    givers_[i]->setExplicitFocusOrder(static_cast<int>(2 * i) + 2);
  }
}

void SignalRows::refresh(const View& view) {
  for (auto& target : targets_) target->refresh(view);
  for (auto& giver : givers_) giver->refresh();
}

int SignalRows::heightFor(int width) const {
  const int columns = std::max(1, width / narrowestSignal);
  return (static_cast<int>(signalCount) + columns - 1) / columns * signalHeight;
}

void SignalRows::resized() {
  const int columns = std::max(1, getWidth() / narrowestSignal);
  const int whole = getWidth() / columns;
  for (std::size_t i = 0; i < signalCount; ++i) {
    const int at = static_cast<int>(i);
    juce::Rectangle<int> column((at % columns) * whole, (at / columns) * signalHeight, whole - gap, signalHeight);
    targets_[i]->setBounds(column.removeFromTop(targetHeight));
    givers_[i]->setBounds(column.removeFromTop(smallestTarget + 4));
  }
}

}  // namespace seguente::screen
