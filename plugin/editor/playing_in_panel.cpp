#include "plugin/editor/playing_in_panel.h"

#include <algorithm>
#include <cmath>

#include "dsp/harmony.h"
#include "plugin/editor/strings.h"

namespace seguente::screen {
namespace {

constexpr int targetHeight = 32;
constexpr int lineHeight = 18;
constexpr int mostLines = 4;

juce::String barsText(int bars) {
  return bars == 1 ? plain(words::oneBar) : plain(words::manyBars).replace("%", juce::String(bars));
}

}  // namespace

PlayingInPanel::Told::Told(const Look& look) : Element(look, {}, juce::AccessibilityRole::staticText) {}

void PlayingInPanel::Told::tell(const juce::String& words) {
  if (!show(*this, words_, words)) return;
  setTitle(words_);
}

int PlayingInPanel::Told::heightFor(int width) const {
  if (words_.isEmpty()) return 0;
  const auto lines = broken(font(type::comment, Weight::italic), words_, width - 2 * edge, mostLines);
  return static_cast<int>(lines.size()) * lineHeight + 6;
}

std::vector<PlacedText> PlayingInPanel::Told::texts() const {
  auto area = getLocalBounds().reduced(edge, 3);
  std::vector<PlacedText> all;
  const auto face = font(type::comment, Weight::italic);
  if (words_.isEmpty()) return all;
  for (const auto& line : broken(face, words_, area.getWidth(), mostLines))
    if (area.getHeight() >= lineHeight) all.push_back({line, face, area.removeFromTop(lineHeight)});
  return all;
}

PlayingInPanel::PlayingInPanel(const Look& look, Processor& processor)
    : model_(processor),
      told_(look),
      name_(look, plain(words::nameOfFigure), plain(words::nameOfFigureRemark)),
      over_(look, plain(words::overChord), plain(words::overChordRemark)),
      go_(look, plain(words::playOneIn), plain(words::playOneInRemark)),
      forget_(look, plain(words::forgetIt), plain(words::forgetItRemark)) {
  int order = 1;
  for (auto* part : std::initializer_list<juce::Component*>{&told_, &name_, &over_, &go_, &forget_}) {
    addChildComponent(part);
    part->setExplicitFocusOrder(order++);
  }
  go_.press = [this] { press(); };
  forget_.press = [this] { forget(); };
  name_.done = over_.done = [this] { keep(); };
  name_.leave = over_.leave = [this] { forget(); };
  over_.typed = [this](const juce::String& symbol) {
    model_.readOver(symbol.trim().toStdString());
    tell();
  };
  place();
}

void PlayingInPanel::press() {
  if (model_.stage() == PlayingInStage::rests) {
    model_.begin();
  } else if (model_.stage() == PlayingInStage::listens) {
    model_.done();
    name_.set({});
    const auto& figure = model_.figure();
    over_.set(figure.unread == notate::Unread::no ? plain(symbolOf(figure.chord).view()) : juce::String());
  } else {
    return keep();
  }
  tell();
  if (model_.stage() != PlayingInStage::asks) return;
  auto& first = model_.figure().unread == notate::Unread::noChord ? over_ : name_;
  if (first.isShowing()) first.grabKeyboardFocus();
}

void PlayingInPanel::forget() {
  model_.forget();
  tell();
  if (go_.isShowing()) go_.grabKeyboardFocus();
}

void PlayingInPanel::keep() {
  const bool kept = model_.keep(name_.words().toStdString());
  tell();
  if (kept && go_.isShowing()) go_.grabKeyboardFocus();
}

void PlayingInPanel::refresh() {
  if (model_.stage() != PlayingInStage::listens) return;
  model_.listen();
  tell();
}

juce::String PlayingInPanel::sentence() const {
  if (!model_.fault().empty()) return plain(model_.fault());
  if (model_.stage() == PlayingInStage::rests) return {};
  if (model_.stage() == PlayingInStage::listens) {
    if (const int bars = model_.bars(); bars > 0) return plain(words::listensInBar).replace("%", juce::String(bars));
    return plain(model_.hasNotes() ? words::listensOn : words::listensNow);
  }
  const auto& figure = model_.figure();
  juce::String said = juce::String(figure.meter.numerator) + "/" + juce::String(figure.meter.denominator) + ", " +
                      juce::String(std::lround(figure.quartersPerMinute)) + plain(words::toTheMinute) +
                      barsText(figure.bars);
  if (!figure.answer.empty()) said << plain(words::andAnswer);
  if (!figure.lift.empty()) said << plain(words::andLift);
  if (figure.grid.swing > 1) said << plain(words::feltLongShort) << juce::String(figure.grid.swing, 1);
  return said + ".";
}

void PlayingInPanel::tell() {
  const int before = heightFor(getWidth());
  told_.tell(sentence());
  const auto stage = model_.stage();
  const bool other = shown_ != stage;
  shown_ = stage;
  go_.setWord(plain(stage == PlayingInStage::rests     ? words::playOneIn
                    : stage == PlayingInStage::listens ? words::playedInDone
                                                       : words::keepIt),
              stage == PlayingInStage::listens);
  place();
  if ((other || heightFor(getWidth()) != before) && grown) grown();
  resized();
}

void PlayingInPanel::place() {
  const auto stage = model_.stage();
  told_.setVisible(told_.tells());
  name_.setVisible(stage == PlayingInStage::asks);
  over_.setVisible(stage == PlayingInStage::asks);
  go_.setVisible(true);
  forget_.setVisible(stage != PlayingInStage::rests);
}

int PlayingInPanel::heightFor(int width) const {
  return targetHeight + told_.heightFor(width) + (shown_ == PlayingInStage::asks ? 2 * TypedLine::height : 0);
}

void PlayingInPanel::resized() {
  auto area = getLocalBounds();
  if (told_.isVisible()) told_.setBounds(area.removeFromTop(told_.heightFor(getWidth())));
  for (auto* line : {&name_, &over_})
    if (line->isVisible()) line->setBounds(area.removeFromTop(TypedLine::height));
  area = area.withHeight(targetHeight);
  go_.setBounds(area.removeFromLeft(std::min(area.getWidth(), go_.widthNeeded())));
  if (!forget_.isVisible()) return;
  area.removeFromLeft(8);
  forget_.setBounds(area.removeFromLeft(std::min(area.getWidth(), forget_.widthNeeded())));
}

}  // namespace seguente::screen
