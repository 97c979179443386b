#include "plugin/editor/edit_band.h"

#include <algorithm>

#include "dsp/idiom_steps.h"
#include "plugin/editor/reasons.h"
#include "plugin/editor/strings.h"

namespace seguente::screen {
namespace {

constexpr int lineHeight = 32;
constexpr int gap = 2;
constexpr int playsWidth = 150, nameWidth = 300;

juce::String beats(Ticks t, Ticks beat) { return plain(textOf(Fraction{t.value, beat.value})); }

}  // namespace

void EditBand::Told::tell(const juce::String& words) {
  if (show(*this, words_, words)) setTitle(words_);
}

std::vector<PlacedText> EditBand::Told::texts() const {
  if (words_.isEmpty()) return {};
  const auto face = font(type::comment, Weight::italic);
  const auto area = getLocalBounds().reduced(edge, 2);
  return {{shortened(face, words_, area.getWidth()), face, area}};
}

EditBand::EditBand(const Look& look, Processor& processor)
    : model_(processor),
      told_(look),
      name_(look, plain(words::nameOfCopy), plain(words::nameOfCopyRemark)),
      plays_(look, plain(words::playsWhat), plain(words::playsWhatRemark)),
      keep_(look, plain(words::keepIt), plain(words::nameOfCopyRemark)),
      leave_(look, plain(words::editDone), plain(words::editDoneRemark)) {
  int order = 1;
  const auto add = [&](juce::Component& part) {
    addChildComponent(part);
    part.setExplicitFocusOrder(order++);
  };
  add(told_);
  add(name_);
  for (std::size_t i = 0; i < editActs; ++i) {
    targets_[i] = std::make_unique<WordTarget>(look, plain(words::editActs[i]), plain(words::editActRemarks[i]));
    targets_[i]->press = [this, i] { act(static_cast<EditAct>(i)); };
    add(*targets_[i]);
  }
  add(plays_);
  add(keep_);
  add(leave_);
  name_.done = [this] { copy(); };
  name_.leave = [this] { close(); };
  keep_.press = [this] { copy(); };
  leave_.press = [this] { close(); };
  plays_.done = [this] {
    model_.play(plays_.words().trim().toStdString());
    tell();
  };
  plays_.leave = [this] { tell(); };
}

void EditBand::press() {
  if (opened()) return close();
  asks_ = !model_.begin();
  name_.set({});
  tell();
  if (grown) grown();
  if (asks_ && name_.isShowing()) name_.grabKeyboardFocus();
}

void EditBand::close() {
  asks_ = false;
  model_.end();
  tell();
  if (grown) grown();
}

void EditBand::copy() {
  if (model_.beginCopy(name_.words().toStdString())) asks_ = false;
  tell();
  if (!asks_ && grown) grown();
}

void EditBand::choose(FigureKind figure, std::size_t row) {
  model_.choose(figure, row);
  tell();
}

void EditBand::act(EditAct act) {
  model_.does(act);
  tell();
}

bool EditBand::key(const juce::KeyPress& key) {
  using juce::KeyPress;
  if (!model_.on()) return false;
  const int code = key.getKeyCode();
  const auto modifiers = key.getModifiers();
  const auto letter = key.getTextCharacter();
  const bool shift = modifiers.isShiftDown();
  if (modifiers.isAltDown()) return false;
  if (modifiers.isCommandDown()) {
    if (code != 'Z' && code != 'z' && code != 'Y' && code != 'y') return false;
    act(code == 'Y' || code == 'y' || shift ? EditAct::redo : EditAct::undo);
    return true;
  }
  if (code == KeyPress::leftKey)
    act(shift ? EditAct::earlier : EditAct::back);
  else if (code == KeyPress::rightKey)
    act(shift ? EditAct::later : EditAct::on);
  else if (code == KeyPress::upKey)
    act(shift ? EditAct::longer : EditAct::higher);
  else if (code == KeyPress::downKey)
    act(shift ? EditAct::shorter : EditAct::lower);
  else if (letter == '+')
    act(EditAct::heavier);
  else if (letter == '-')
    act(EditAct::lighter);
  else if (code == KeyPress::insertKey)
    act(EditAct::add);
  else if (code == KeyPress::deleteKey || code == KeyPress::backspaceKey)
    act(EditAct::remove);
  else
    return false;
  return true;
}

void EditBand::refresh() {
  const bool was = opened();
  if (!model_.refresh()) return;
  tell();
  if (was != opened() && grown) grown();
}

/// "statement, beat 2 1/2: bass plays 5, 1/2 long, stress 1".
juce::String EditBand::sentence() const {
  if (!model_.fault().empty()) return plain(model_.fault());
  if (asks_) return plain(words::notYourOwn);
  const auto* row = model_.chosen();
  if (row == nullptr) return {};
  const auto beat = model_.meter().beat();
  juce::String said = figureWord(row->figure.figure) + ", " + plain(words::beat) + beats(row->step.at + beat, beat) +
                      ": " + plain(row->step.part) + plain(words::stepPlays) + plain(row->step.play) + ", " +
                      plain(words::stepLong) + beats(row->step.length, beat);
  if (row->step.stress != 0) said << plain(words::stepStress) << juce::String(row->step.stress);
  return said;
}

void EditBand::tell() {
  told_.tell(sentence());
  if (const auto* row = model_.chosen()) plays_.set(plain(row->step.play));
  const bool on = model_.on();
  for (std::size_t i = 0; i < editActs; ++i) targets_[i]->setVisible(on);
  if (on)
    targets_[static_cast<std::size_t>(EditAct::grid)]->setWord(
        plain(words::editActs[static_cast<std::size_t>(EditAct::grid)]) +
        (model_.gridPart() == 1 ? juce::String("1") : "1/" + juce::String(model_.gridPart())));
  told_.setVisible(opened());
  name_.setVisible(asks_);
  keep_.setVisible(asks_);
  plays_.setVisible(on);
  leave_.setVisible(opened());
  leave_.setWord(plain(asks_ ? words::forgetIt : words::editDone));
  resized();
  if (changed) changed();
}

/// Lines of words, from left to right; put is told each and where it stands. The height of all.
template <class Put>
int EditBand::walk(int width, Put&& put) const {
  int x = 0, y = lineHeight;
  const auto next = [&](const juce::Component& part, int wide) {
    wide = std::min(wide, width);
    if (x > 0 && x + wide > width) x = 0, y += lineHeight;
    put(part, juce::Rectangle<int>(x, y, wide, lineHeight));
    x += wide + gap;
  };
  if (asks_) {
    next(name_, nameWidth);
    next(keep_, keep_.widthNeeded());
  } else {
    for (const auto& target : targets_) next(*target, target->widthNeeded());
    next(plays_, playsWidth);
  }
  next(leave_, leave_.widthNeeded());
  return y + lineHeight;
}

int EditBand::heightFor(int width) const {
  return opened() ? walk(width, [](const juce::Component&, juce::Rectangle<int>) {}) : 0;
}

void EditBand::resized() {
  if (!opened()) return;
  told_.setBounds(0, 0, getWidth(), lineHeight);
  walk(getWidth(), [this](const juce::Component& part, juce::Rectangle<int> area) {
    for (auto* child : getChildren())
      if (child == &part) child->setBounds(area);
  });
}

}  // namespace seguente::screen
