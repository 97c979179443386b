#include "plugin/standalone/sound_rows.h"

#include <algorithm>
#include <cmath>

#include "plugin/editor/strings.h"
#include "plugin/sound/instrument.h"
#include "plugin/standalone/home.h"

namespace seguente::home {

using namespace screen;

namespace {
constexpr int heading = 30, row = 36, gap = 6, longestName = 26;
juce::StringArray formatWords() {
  juce::StringArray all;
  for (const auto* word : words::takeSounds) all.add(plain(word));
  return all;
}
}  // namespace

VolumeField::VolumeField(const Look& look, Home& home)
    : Element(look, plain(words::volume), juce::AccessibilityRole::slider), home_(home) {
  setHelpText(plain(words::volumeRemark) +
              plain(words::values).fromFirstOccurrenceOf(" ", true, false).upToFirstOccurrenceOf(",", false, false) +
              ".");
  setWantsKeyboardFocus(true);
  refresh();
}

void VolumeField::refresh() {
  if (show(*this, shown_, static_cast<int>(std::lround(home_.volume()))))
    setTitle(plain(words::volume) + ", " + juce::String(shown_) + plain(words::perCent));
}

std::vector<juce::Rectangle<int>> VolumeField::targets() const {
  auto area = getLocalBounds().reduced(edge);
  const auto more = area.removeFromRight(28);
  return {area.removeFromRight(28), more};
}

std::vector<PlacedText> VolumeField::texts() const {
  auto area = getLocalBounds().reduced(edge);
  const auto face = font(type::comment), bold = font(type::value, Weight::bold);
  const int label = widthOf(face, plain(words::volume)) + 12;
  const auto places = targets();
  return {{plain(words::volume), face, area.removeFromLeft(label), Ink::soft},
          {juce::String(shown_) + plain(words::perCent), bold, area.withTrimmedRight(60)},
          {plain("\u2212"), bold, places[0], Ink::ink, Side::middle},
          {"+", bold, places[1], Ink::ink, Side::middle}};
}

void VolumeField::drawMarks(juce::Graphics& g) const {
  g.setColour(palette().rule);
  const auto area = getLocalBounds().reduced(edge);
  g.fillRect(area.withTop(area.getBottom() - 1));
}

void VolumeField::step(double by) {
  home_.setVolume(home_.volume() + by);
  refresh();
}

bool VolumeField::keyPressed(const juce::KeyPress& key) {
  using juce::KeyPress;
  if (key.getModifiers().isAnyModifierKeyDown()) return false;
  const int code = key.getKeyCode();
  if (code == KeyPress::upKey || code == KeyPress::rightKey)
    step(1);
  else if (code == KeyPress::downKey || code == KeyPress::leftKey)
    step(-1);
  else if (code == KeyPress::pageUpKey)
    step(10);
  else if (code == KeyPress::pageDownKey)
    step(-10);
  else if (code == KeyPress::deleteKey || code == KeyPress::backspaceKey)
    step(Instrument::standardVolume - home_.volume());
  else
    return false;
  return true;
}

void VolumeField::mouseDown(const juce::MouseEvent& event) {
  const auto places = targets();
  for (std::size_t i = 0; i < 2; ++i)
    if (places[i].contains(event.getPosition())) step(i == 0 ? -2 : 2);
}

SoundRows::SoundRows(const Look& look, Home& home)
    : Element(look, plain(words::soundHeading), juce::AccessibilityRole::group),
      home_(home),
      device_(look, plain(words::device), true, {}),
      volume_(look, home),
      takes_(look, plain(words::takeSound), true, formatWords()) {
  int order = 1;
  for (Element* part : std::initializer_list<Element*>{&device_, &volume_, &takes_}) {
    addAndMakeVisible(part);
    part->setExplicitFocusOrder(order++);
  }
  device_.setHelpText(plain(words::deviceRemark));
  device_.choose = [this](int which) { choose(which); };
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
  names_.clear();
  auto& cards = home_.cards();
  for (auto* kind : cards.getAvailableDeviceTypes())
    for (const auto& name : kind->getDeviceNames(false)) {
      places_.emplace_back(kind->getTypeName(), name);
      names_.add((kind->getTypeName() + ": " + name).substring(0, longestName));
    }
  int chosen = -1;
  if (const auto* now = cards.getCurrentAudioDevice(); now != nullptr)
    for (std::size_t i = 0; i < places_.size(); ++i)
      if (places_[i].first == now->getTypeName() && places_[i].second == now->getName()) chosen = static_cast<int>(i);
  if (names_.isEmpty()) {
    names_.add(plain(words::noDevice));
    chosen = 0;
  }
  device_.setWords(names_);
  device_.setChosen(chosen);
  const auto format = home_.takeFormat();
  takes_.setChosen(format == SoundFormat::wav ? 0 : format == SoundFormat::flac ? 1 : 2);
  volume_.refresh();
}

void SoundRows::choose(int device) {
  if (device < 0 || static_cast<std::size_t>(device) >= places_.size()) return;
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
  place(device_, device_.widthNeeded());
  place(volume_, VolumeField::wide);
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
