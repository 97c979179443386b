#include "plugin/standalone/home_row.h"

#include "plugin/editor/strings.h"
#include "plugin/standalone/home.h"

namespace seguente::home {

using namespace screen;

namespace {
constexpr int paceShares[] = {33, 50, 75, 100};  // per cent, as words::paces

template <std::size_t count>
juce::StringArray wordsOf(const char* const (&all)[count]) {
  juce::StringArray words;
  for (const auto* word : all) words.add(plain(word));
  return words;
}
}  // namespace

HomeRow::HomeRow(const Look& look, Home& home)
    : home_(home),
      take_(look, plain(words::record), plain(words::recordRemark)),
      tap_(look, plain(words::tap), plain(words::tapRemark)),
      pace_(look, plain(words::pace), true, wordsOf(words::paces)),
      count_(look, plain(words::countBar), true, wordsOf(words::countBars)),
      piano_(look, plain(words::pianoSound), true, wordsOf(words::pianoSounds)) {
  setTitle(plain(words::ownRow));
  int order = 1;
  forEach([&](Element& element) {
    addAndMakeVisible(element);
    element.setExplicitFocusOrder(order++);
  });
  take_.setLetter("R");
  tap_.setLetter("T");
  pace_.setHelpText(plain(words::paceRemark));
  count_.setHelpText(plain(words::countBarRemark));
  piano_.setHelpText(plain(words::pianoSoundRemark));
  take_.press = [this] { home_.record(!home_.recording()); };
  tap_.press = [this] { home_.tap(); };
  pace_.choose = [this](int word) { home_.setPace(paceShares[word]); };
  count_.choose = [this](int word) { home_.setCountIn(word == 1); };
  piano_.choose = [this](int word) { home_.setPianoSound(static_cast<PianoSound>(word)); };
  refresh();
}

void HomeRow::refresh() {
  const auto time = home_.processor().session().ownTime();
  int pace = -1;
  for (int i = 0; i < 4; ++i)
    if (paceShares[i] == time.pace) pace = i;
  pace_.setChosen(pace);
  count_.setChosen(time.countIn ? 1 : 0);
  piano_.setChosen(static_cast<int>(home_.pianoSound()));
  const bool takes = home_.recording();
  take_.setWord(plain(takes ? words::stopRecord : words::record), takes);
  if (piano_.isVisible() != home_.pianoMaySound()) resized();
}

/// As many as there is room for, the take always; the piano's own sound only where there is a piano that may have one.
void HomeRow::resized() {
  auto row = getLocalBounds();
  const auto place = [&row](Element& element, int wide, bool wanted) {
    const bool fits = wanted && wide <= row.getWidth();
    element.setVisible(fits);
    if (!fits) return;
    element.setBounds(row.removeFromLeft(wide).withSizeKeepingCentre(wide, 32));
    row.removeFromLeft(16);
  };
  place(take_, take_.widthNeeded() + 46, true);  // room for its longer word
  place(piano_, piano_.widthNeeded(), home_.pianoMaySound());
  place(tap_, tap_.widthNeeded(), true);
  place(pace_, pace_.widthNeeded(), true);
  place(count_, count_.widthNeeded(), true);
}

}  // namespace seguente::home
