#include "plugin/standalone/home.h"

#include <algorithm>
#include <cmath>

#include "plugin/editor/lettering.h"
#include "plugin/editor/strings.h"
#include "plugin/sound/instrument.h"
#include "plugin/standalone/real_midi.h"

namespace seguente::home {

using screen::plain;

namespace {

// What is remembered, by name.
constexpr const char* sessionKey = "session";
constexpr const char* cardKey = "sound card";
constexpr const char* seenKey = "first page seen";
constexpr const char* volumeKey = "volume";
constexpr const char* takeKey = "take format";
constexpr const char* pianoKey = "own sound of ";

constexpr int waltzSlot = 1;  // patterns/slots.txt
constexpr double longestTap = 2, slowestOwn = 30;
constexpr std::size_t tapsHeard = 5;
constexpr NoteNumber softKey{72};
constexpr int softLooks = 2;
constexpr int looksForCard = 6;

juce::File xdg(const char* variable, const char* otherwise) {
  const auto said = juce::SystemStats::getEnvironmentVariable(variable, {});
  if (juce::File::isAbsolutePath(said)) return juce::File(said);  // a relative one is to be ignored
  return juce::File::getSpecialLocation(juce::File::userHomeDirectory).getChildFile(otherwise);
}

}  // namespace

/// XDG Base Directory Specification 0.8; the music folder as XDG's user-dirs name it.
Surroundings realSurroundings() {
  Surroundings s;
  s.midi = realMidi();
  s.published = publishedPort();
  s.settings = xdg("XDG_CONFIG_HOME", ".config").getChildFile("seguente").getChildFile("home.settings");
  auto music = juce::File::getSpecialLocation(juce::File::userMusicDirectory);
  if (music.getFullPathName().isEmpty())
    music = juce::File::getSpecialLocation(juce::File::userHomeDirectory).getChildFile("Music");
  s.takes = music.getChildFile("Seguente");
  return s;
}

Home::Home(Surroundings surroundings)
    : surroundings_(std::move(surroundings)),
      processor_(std::make_unique<Instrument>()),
      ports_(surroundings_.midi, played_),
      live_(processor_, played_, sender_),
      takes_(processor_.take()) {
  juce::PropertiesFile::Options how;
  how.storageFormat = juce::PropertiesFile::storeAsXML;
  how.millisecondsBeforeSaving = -1;  // when we say so
  settings_ = std::make_unique<juce::PropertiesFile>(surroundings_.settings, how);
  processor_.shelf().open();
  recall();
  sender_.publish(surroundings_.published);
}

Home::~Home() {
  cards_.removeAudioCallback(&live_);
  cards_.closeAudioDevice();
  live_.keepTime(false);
  takes_.stop();
  sender_.usePiano({}, PianoSound::asItIs);
}

/// A session of before, or how one begins: a waltz, in a tempo of one's own, from the first chord.
void Home::recall() {
  juce::MemoryBlock session;
  if (session.fromBase64Encoding(settings_->getValue(sessionKey)) && session.getSize() > 0)
    processor_.setStateInformation(session.getData(), static_cast<int>(session.getSize()));
  else
    processor_.values().set(ParameterId::idiom, waltzSlot);
  if (processor_.values().get(ParameterId::time) < 1)
    processor_.values().set(ParameterId::time, 1);  // there is no host
  processor_.session().setOwnTime({.withFirstChord = true});
  setVolume(settings_->getDoubleValue(volumeKey, Instrument::standardVolume));
}

void Home::remember() {
  juce::MemoryBlock session;
  processor_.getStateInformation(session);
  settings_->setValue(sessionKey, session.toBase64Encoding());
  settings_->setValue(volumeKey, volume());
  if (const auto card = cards_.createStateXml()) settings_->setValue(cardKey, card.get());
  settings_->save();
}

void Home::start() {
  if (surroundings_.card) {
    const auto before = settings_->getXmlValue(cardKey);
    cards_.initialise(0, 2, before.get(), true);
    cards_.addAudioCallback(&live_);
  }
  lookAtSound();
  lookAtPorts();
  if (surroundings_.published) tell(words::published);
}

void Home::tell(const char* words, const juce::String& what) const {
  if (say) say(plain(words).replace("%", what));
}

void Home::look() {
  lookAtPorts();
  lookAtSound();
  lookAtTake();
  if (processor_.values().get(ParameterId::time) < 1) processor_.values().set(ParameterId::time, 1);
  if (noteLooks_ > 0 && --noteLooks_ == 0) processor_.press(softKey, false);
}

void Home::lookAtPorts() {
  for (const auto& e : ports_.look()) {
    const auto name = plain(e.name);
    switch (e.what) {
      case PortNews::found:
        tell(e.sendable ? words::pianoMaySound : words::pianoFound, name);
        break;
      case PortNews::back:
        tell(words::pianoBack, name);
        break;
      case PortNews::gone:
        tell(words::pianoGone, name);
        break;
      case PortNews::refused:
        tell(words::pianoRefused, name);
        break;
    }
  }
  const auto pair = ports_.pairedOutput();
  if (pair == pair_) return;
  pair_ = pair;
  const int before = pair ? settings_->getIntValue(pianoKey + plain(pair->name), 0) : 0;
  sender_.usePiano(pair ? ports_.open(*pair) : SendMidi(), static_cast<PianoSound>(std::clamp(before, 0, 2)));
  live_.setSilent(sender_.pianoSound() == PianoSound::playsAll);
}

void Home::setPianoSound(PianoSound sound) {
  if (!pair_ || sound == pianoSound()) return;
  sender_.usePiano(ports_.open(*pair_), sound);
  live_.setSilent(sender_.pianoSound() == PianoSound::playsAll);
  settings_->setValue(pianoKey + plain(pair_->name), static_cast<int>(sound));
}

bool Home::instrumentReady() const { return instrument_.state() == SoundState::ready; }

juce::String Home::soundFault() const {
  switch (instrument_.state()) {
    case SoundState::noSynthesiser:
      return plain(words::noSynthesiser);
    case SoundState::badRate:
      return plain(words::badRate);
    default:
      return plain(words::noSoundfont);
  }
}

/// The card went, or never came: time is kept by a thread, until one calls again. What has changed is told once.
void Home::lookAtSound() {
  auto* card = cards_.getCurrentAudioDevice();
  silentLooks_ = card == nullptr || live_.cardRuns() ? 0 : silentLooks_ + 1;
  if (silentLooks_ > looksForCard) {  // pulled: it will not call again
    cards_.closeAudioDevice();
    card = nullptr;
  }
  const bool opened = card != nullptr && card->isOpen();
  if (surroundings_.time) live_.keepTime(!opened);
  const auto now = !opened              ? plain(words::noSoundCard)
                   : !instrumentReady() ? plain(words::nothingToSoundWith).replace("%", soundFault())
                                        : plain(words::soundGoesTo).replace("%", card->getName());
  if (now == soundSaid_) return;
  soundSaid_ = now;
  if (say) say(now);
}

bool Home::recording() const { return recording_; }

void Home::record(bool on) {
  if (on == recording_) return;
  recording_ = on;
  if (on) {
    TakeWishes wishes;
    wishes.folder = surroundings_.takes.getFullPathName().toStdString();
    wishes.name = juce::Time::getCurrentTime().formatted("take %Y-%m-%d %H.%M").toStdString();
    wishes.sound = takeFormat();
    const auto fault = takes_.start(wishes);
    recording_ = fault.empty();
    return recording_ ? tell(words::takeBegins) : tell(words::takeFault, plain(fault));
  }
  const auto kept = takes_.stop();
  juce::StringArray names, said;
  for (const auto& file : kept.files) names.add(plain(file.filename().string()));
  if (!kept.fault.empty()) said.add(plain(words::takeFault).replace("%", plain(kept.fault)));
  if (!names.isEmpty())
    said.add(
        plain(words::takeKept).replace("%", surroundings_.takes.getFullPathName() + ": " + names.joinIntoString(", ")));
  if (said.isEmpty()) said.add(plain(words::takeEmpty));
  if (kept.lostFrames > 0 || kept.lostMessages > 0) said.add(plain(words::takeLost));
  if (say) say(said.joinIntoString(" "));
}

/// A full disk ends a take, and so does another sound card; what was written is kept, and said.
void Home::lookAtTake() {
  if (recording_ && !takes_.status().running) record(false);
}

SoundFormat Home::takeFormat() const {
  static constexpr SoundFormat formats[] = {SoundFormat::wav, SoundFormat::flac, SoundFormat::none};
  return formats[std::clamp(settings_->getIntValue(takeKey, 0), 0, 2)];
}

void Home::setTakeFormat(SoundFormat format) {
  settings_->setValue(takeKey, format == SoundFormat::wav ? 0 : format == SoundFormat::flac ? 1 : 2);
}

juce::String Home::status() const {
  juce::StringArray said;
  const auto pianos = ports_.connected();
  if (pianos.empty()) said.add(plain(words::noKeyboardYet));
  for (const auto& name : pianos) said.add(plain(name));
  if (!hasSound()) said.add(plain(words::noSoundOutput));
  if (recording_) {
    const auto seconds = static_cast<int>(takes_.status().seconds);
    said.add(plain(words::takeRuns) + juce::String(seconds / 60) + ":" + juce::String(seconds % 60).paddedLeft('0', 2));
  }
  return said.joinIntoString("; ");
}

void Home::setPace(int percent) {
  auto time = processor_.session().ownTime();
  time.pace = percent;
  processor_.session().setOwnTime(time);
}

void Home::setCountIn(bool on) {
  auto time = processor_.session().ownTime();
  time.countIn = on;
  processor_.session().setOwnTime(time);
}

void Home::tap() { tap(juce::Time::getMillisecondCounterHiRes() / 1000); }

/// The mean of the last beats; a pause begins anew. What is tapped is what is to be heard, so the pace is taken out.
void Home::tap(double seconds) {
  if (!taps_.empty() && (seconds - taps_.back() > longestTap || seconds <= taps_.back())) taps_.clear();
  taps_.push_back(seconds);
  if (taps_.size() > tapsHeard) taps_.pop_front();
  if (taps_.size() < 2) return;
  const double beat = (taps_.back() - taps_.front()) / static_cast<double>(taps_.size() - 1);
  const double tempo = std::round(60 / beat * 100 / processor_.session().ownTime().pace);
  auto& own = processor_.hostParameter(ParameterId::ownTempo);
  own.beginChangeGesture();
  own.setValueNotifyingHost(own.convertTo0to1(static_cast<float>(std::max(slowestOwn, tempo))));
  own.endChangeGesture();
  tell(words::tapped, juce::String(processor_.values().get(ParameterId::ownTempo), 0));
}

bool Home::firstTime() const { return !settings_->getBoolValue(seenKey); }

void Home::wasSeen() {
  settings_->setValue(seenKey, true);
  settings_->save();
}

double Home::volume() const { return instrument_.volume(); }
void Home::setVolume(double percent) { instrument_.setVolume(std::clamp(percent, 0.0, 100.0)); }

void Home::softNote() {
  if (noteLooks_ > 0) processor_.press(softKey, false);
  processor_.press(softKey, true);
  noteLooks_ = softLooks;
}

}  // namespace seguente::home
