#include "tests/editor/desk.h"

#include <vector>

namespace seguente::test {
namespace {
constexpr double rate = 48000;
constexpr double tempo = 96;
}  // namespace

juce::Optional<juce::AudioPlayHead::PositionInfo> Desk::Head::getPosition() const {
  PositionInfo info;
  info.setBpm(tempo);
  info.setPpqPosition(static_cast<double>(sample) / rate * tempo / 60);
  info.setTimeSignature(meter);
  info.setIsPlaying(rolls);
  return info;
}

Desk::Desk() {
  processor_.setPlayHead(&head_);
  processor_.values().set(ParameterId::handSplit, 1);  // by key: what is pressed is then known to be chord or tune
  processor_.prepareToPlay(rate, block);
  reopen();
}

void Desk::reopen() {
  window_.reset();
  window_.reset(dynamic_cast<screen::Window*>(processor_.createEditor()));
  window_->setVisible(true);
}

void Desk::sizeTo(int width, int height) {
  const int percent = processor_.editorMemory().percent;
  window_->setSize((width * percent + 50) / 100, (height * percent + 50) / 100);
}

void Desk::press(std::initializer_list<int> keys, bool atOnce) {
  for (const int key : keys) midi_.addEvent(juce::MidiMessage::noteOn(1, key, juce::uint8{80}), 0);
  if (atOnce) play(1);
}
void Desk::letGo(std::initializer_list<int> keys, bool atOnce) {
  for (const int key : keys) midi_.addEvent(juce::MidiMessage::noteOff(1, key), 0);
  if (atOnce) play(1);
}
void Desk::control(int controller, int value) {
  midi_.addEvent(juce::MidiMessage::controllerEvent(1, controller, value), 0);
  play(1);
}

void Desk::play(int blocks) {
  for (int i = 0; i < blocks; ++i) {
    processor_.processBlock(audio_, midi_);
    for (const auto m : midi_)
      if (m.getMessage().isNoteOn()) struck_.push_back(m.getMessage().getNoteNumber());
    midi_.clear();
    if (head_.rolls) head_.sample += audio_.getNumSamples();
    if (i % 4 == 3) window_->refresh();  // some thirty times a second
  }
  window_->refresh();
}

std::vector<juce::Component*> tabOrder(juce::Component& container) {
  return juce::KeyboardFocusTraverser().getAllComponents(&container);
}

/// Shown: itself and everything that it stands in.
std::vector<screen::Element*> shownElements(Desk& desk) {
  std::vector<screen::Element*> all;
  desk.page().forEach([&](screen::Element& element) {
    bool shown = true;
    for (juce::Component* c = &element; c != nullptr; c = c->getParentComponent()) shown = shown && c->isVisible();
    if (shown) all.push_back(&element);
  });
  return all;
}

screen::ParameterControl* fieldOf(Desk& desk, ParameterId which) {
  for (auto* element : shownElements(desk))
    if (auto* field = dynamic_cast<screen::ParameterControl*>(element); field != nullptr && field->which() == which)
      return field;
  return nullptr;
}

bool pressKey(juce::Component& component, int keyCode) { return component.keyPressed(juce::KeyPress(keyCode)); }

void playWaltz(Desk& desk, int bars) {
  struct Bar {
    std::vector<int> chord;
    std::vector<std::pair<int, int>> tune;  // key, quarters
  };
  const std::vector<Bar> piece{{{48, 52, 55}, {{64, 2}, {67, 1}}}, {{48, 52, 55}, {{72, 2}, {0, 1}}},
                               {{48, 53, 57}, {{69, 1}, {72, 2}}}, {{48, 53, 57}, {{69, 1}, {68, 1}, {69, 1}}},
                               {{47, 53, 55}, {{67, 2}, {71, 1}}}, {{47, 53, 55}, {{74, 2}, {71, 1}}},
                               {{48, 52, 55}, {{72, 3}}}};
  std::vector<int> held;
  for (int b = 0; b < bars; ++b) {
    const auto& bar = piece[static_cast<std::size_t>(b) % piece.size()];
    if (held != bar.chord) {
      for (const int key : held) desk.letGo({key}, false);
      for (const int key : bar.chord) desk.press({key}, false);
      held = bar.chord;
    }
    for (const auto& [key, quarters] : bar.tune) {
      if (key > 0) desk.press({key}, false);
      if (b + 1 == bars) return desk.play(20);
      desk.play(quarters * Desk::quarterBlocks - 4);
      if (key > 0) desk.letGo({key}, false);
      desk.play(4);
    }
  }
}

HostEar::HostEar(Processor& processor) : processor_(processor) { processor_.addListener(this); }
HostEar::~HostEar() { processor_.removeListener(this); }

std::string HostEar::nameOf(int index) const { return parameterTable()[static_cast<std::size_t>(index)].id; }
void HostEar::audioProcessorParameterChanged(juce::AudioProcessor*, int index, float) {
  heard.push_back(nameOf(index));
}
void HostEar::audioProcessorParameterChangeGestureBegin(juce::AudioProcessor*, int index) {
  heard.push_back("begin " + nameOf(index));
}
void HostEar::audioProcessorParameterChangeGestureEnd(juce::AudioProcessor*, int index) {
  heard.push_back("end " + nameOf(index));
}

}  // namespace seguente::test
