#include "plugin/editor/playing_in.h"

#include "dsp/harmony.h"
#include "plugin/editor/keep_own.h"
#include "plugin/editor/lettering.h"
#include "plugin/editor/strings.h"
#include "plugin/processor.h"
#include "plugin/sound/take.h"

namespace seguente::screen {
namespace {

const char* sentenceFor(notate::Unread why) {
  switch (why) {
    case notate::Unread::empty:
      return words::nothingPlayedIn;
    case notate::Unread::noChord:
      return words::overWhichChord;
    case notate::Unread::noBeat:
      return words::noBeatPlayedIn;
    case notate::Unread::tooShort:
      return words::tooShortPlayedIn;
    case notate::Unread::no:
    case notate::Unread::other:
      break;
  }
  return words::unreadPlayedIn;
}

}  // namespace

void PlayingIn::begin() {
  auto& take = processor_.playedIn();
  if (stage_ == PlayingInStage::listens || !take.rests()) return;
  const auto& view = processor_.score().view();
  KeySet held = view.held;
  view.tune.forEach([&](NoteNumber key) { held.add(key); });
  before_ = view.hasChord ? std::optional(view.chord) : std::nullopt;
  take.start(false);
  played_.emplace(take.rate(), held);
  figure_ = {};
  fault_.clear();
  stage_ = PlayingInStage::listens;
}

void PlayingIn::listen() {
  if (stage_ != PlayingInStage::listens) return;
  for (TakenEvent event; processor_.playedIn().takeEvent(event);) played_->hear(event);
  if (!processor_.playedIn().on()) done();  // the host has prepared another rate
}

void PlayingIn::stop() {
  if (stage_ == PlayingInStage::listens) processor_.playedIn().stop();
}

void PlayingIn::done() {
  if (stage_ != PlayingInStage::listens) return;
  stop();
  for (TakenEvent event; processor_.playedIn().takeEvent(event);) played_->hear(event);
  const auto source = static_cast<TimeSource>(static_cast<int>(processor_.values().get(ParameterId::time)));
  take_ = played_->take(source == TimeSource::host);
  if (source == TimeSource::hands) take_.quarterSeconds = 0;  // that beat was found in this very figure
  stage_ = PlayingInStage::asks;
  read(std::nullopt);
  if (figure_.unread == notate::Unread::noChord && before_) read(before_);
  if (!played_->hasNotes()) {
    figure_.unread = notate::Unread::empty;
    fault_ = sentenceFor(figure_.unread);
  }
  if (figure_.unread != notate::Unread::no && figure_.unread != notate::Unread::noChord) stage_ = PlayingInStage::rests;
}

void PlayingIn::read(const std::optional<Chord>& chord) {
  notate::Wishes wishes;
  wishes.chord = chord;
  figure_ = notate::notate(take_, wishes);
  fault_ = figure_.unread == notate::Unread::no ? std::string() : sentenceFor(figure_.unread);
}

void PlayingIn::readOver(const std::string& symbol) {
  if (stage_ != PlayingInStage::asks) return;
  if (symbol.empty()) return read(std::nullopt);
  const auto chord = parseSymbol(symbol);
  if (!chord || chord->none()) {
    figure_.unread = notate::Unread::noChord;
    fault_ = words::noSuchChord;
    return;
  }
  read(*chord);
}

void PlayingIn::forget() {
  stop();
  stage_ = PlayingInStage::rests;
  played_.reset();
  fault_.clear();
}

bool PlayingIn::keep(const std::string& name) {
  if (stage_ != PlayingInStage::asks || figure_.unread != notate::Unread::no) return false;
  fault_ = keepOwn(processor_, name, [&](const std::string& id, const std::string& title) {
    return notate::patternText(figure_, {id, title, words::playedAtDesk});
  });
  if (!fault_.empty()) return false;
  stage_ = PlayingInStage::rests;
  return true;
}

}  // namespace seguente::screen
