#include "plugin/standalone/sound_rows.h"

#include <algorithm>
#include <cmath>

#include "plugin/editor/strings.h"
#include "plugin/standalone/home.h"

namespace seguente::home {

using namespace screen;

namespace {
constexpr int heading = 30, row = 36, gap = 6, deviceWidth = 460, volumeWidth = 200;
juce::StringArray formatWords() {
  juce::StringArray all;
  for (const auto* word : words::takeSounds) all.add(plain(word));
  return all;
}
}  // namespace

StepField::StepField(const Look& look, const juce::String& label, const juce::String& remark)
    : Element(look, label, juce::AccessibilityRole::slider), label_(label) {
  setHelpText(remark);
  setWantsKeyboardFocus(true);
}

void StepField::setText(const juce::String& text) {
  if (show(*this, text_, text)) setTitle(label_ + ", " + text_);
}

std::vector<juce::Rectangle<int>> StepField::targets() const {
  auto area = getLocalBounds().reduced(edge);
  const auto more = area.removeFromRight(28);
  return {area.removeFromRight(28), more};
}

std::vector<PlacedText> StepField::texts() const {
  auto area = getLocalBounds().reduced(edge);
  const auto face = font(type::comment), bold = font(type::value, Weight::bold);
  const auto label = area.removeFromLeft(widthOf(face, label_) + 12);
  const auto places = targets();
  area.setRight(places[0].getX() - 4);
  return {{label_, face, label, Ink::soft},
          {shortened(bold, text_, area.getWidth()), bold, area},
          {plain("\u2212"), bold, places[0], Ink::ink, Side::middle},
          {"+", bold, places[1], Ink::ink, Side::middle}};
}

void StepField::drawMarks(juce::Graphics& g) const {
  g.setColour(palette().rule);
  const auto area = getLocalBounds().reduced(edge);
  g.fillRect(area.withTop(area.getBottom() - 1));
}

bool StepField::keyPressed(const juce::KeyPress& key) {
  using juce::KeyPress;
  const int code = key.getKeyCode();
  if (key.getModifiers().isAnyModifierKeyDown() || !step) return false;
  if (code == KeyPress::upKey || code == KeyPress::rightKey)
    step(1);
  else if (code == KeyPress::downKey || code == KeyPress::leftKey)
    step(-1);
  else if (code == KeyPress::pageUpKey)
    step(10);
  else if (code == KeyPress::pageDownKey)
    step(-10);
  else
    return false;
  return true;
}

void StepField::mouseDown(const juce::MouseEvent& event) {
  const auto places = targets();
  for (std::size_t i = 0; i < places.size(); ++i)
    if (places[i].contains(event.getPosition()) && step) step(i == 0 ? -1 : 1);
}

SoundRows::SoundRows(const Look& look, Home& home)
    : Element(look, plain(words::soundHeading), juce::AccessibilityRole::staticText),
      home_(home),
      device_(look, plain(words::device), plain(words::deviceRemark)),
      volume_(look, plain(words::volume), plain(words::volumeRemark)),
      takes_(look, plain(words::takeSound), true, formatWords()) {
  int order = 1;
  for (Element* part : std::initializer_list<Element*>{&device_, &volume_, &takes_}) {
    addAndMakeVisible(part);
    part->setExplicitFocusOrder(order++);
  }
  device_.step = [this](int by) { choose(chosen_ + (by > 0 ? 1 : -1)); };
  volume_.step = [this](int by) {
    home_.setVolume(home_.volume() + by);
    refresh();
  };
  takes_.setHelpText(plain(words::takeSoundRemark));
  takes_.choose = [this](int which) {
    static constexpr SoundFormat formats[] = {SoundFormat::wav, SoundFormat::flac, SoundFormat::none};
    home_.setTakeFormat(formats[which]);
    refresh();
  };
  refresh();
}

/// All that could be sounded with, of every kind that the machine knows (ALSA, JACK). Their lists are those of the
/// start, read again whenever this page is shown.
void SoundRows::refresh() {
  places_.clear();
  chosen_ = -1;
  auto& cards = home_.cards();
  const auto* now = cards.getCurrentAudioDevice();
  for (auto* kind : cards.getAvailableDeviceTypes())
    for (const auto& name : kind->getDeviceNames(false)) {
      if (now != nullptr && now->getTypeName() == kind->getTypeName() && now->getName() == name)
        chosen_ = static_cast<int>(places_.size());
      places_.emplace_back(kind->getTypeName(), name);
    }
  device_.setText(now == nullptr ? plain(words::noDevice) : now->getTypeName() + ", " + now->getName());
  volume_.setText(juce::String(static_cast<int>(std::lround(home_.volume()))) + plain(words::perCent));
  const auto format = home_.takeFormat();
  takes_.setChosen(format == SoundFormat::wav ? 0 : format == SoundFormat::flac ? 1 : 2);
}

void SoundRows::choose(int device) {
  if (places_.empty()) return;
  device = std::clamp(device, 0, static_cast<int>(places_.size()) - 1);
  auto& cards = home_.cards();
  const auto& [kind, name] = places_[static_cast<std::size_t>(device)];
  if (cards.getCurrentAudioDeviceType() != kind) cards.setCurrentAudioDeviceType(kind, true);
  auto setup = cards.getAudioDeviceSetup();
  setup.outputDeviceName = name;
  setup.useDefaultOutputChannels = true;
  const auto fault = cards.setAudioDeviceSetup(setup, true);
  if (fault.isNotEmpty() && home_.say) home_.say(fault);
  refresh();
}

int SoundRows::heightFor(int) const { return heading + 3 * row + 2 * gap + 24; }

void SoundRows::resized() {
  auto area = getLocalBounds().withTrimmedTop(heading);
  const auto place = [&area](juce::Component& part, int wide) {
    part.setBounds(area.removeFromTop(row).withWidth(std::min(wide, area.getWidth())));
    area.removeFromTop(gap);
  };
  place(device_, deviceWidth);
  place(volume_, volumeWidth);
  place(takes_, takes_.widthNeeded());
}

std::vector<PlacedText> SoundRows::texts() const {
  auto area = getLocalBounds();
  std::vector<PlacedText> all{
      {plain(words::soundHeading), font(type::value, Weight::bold), area.removeFromTop(heading).withTrimmedLeft(edge)}};
  const auto face = font(type::comment, Weight::italic);
  const auto line = plain(words::takesGoTo).replace("%", home_.takesFolder().getFullPathName());
  all.push_back({shortened(face, line, area.getWidth() - 2 * edge), face,
                 area.removeFromBottom(22).withTrimmedLeft(edge), Ink::soft});
  return all;
}

}  // namespace seguente::home
