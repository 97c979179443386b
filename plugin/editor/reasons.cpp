#include "plugin/editor/reasons.h"

#include <algorithm>
#include <array>

#include "dsp/chord_types.h"
#include "dsp/harmony.h"
#include "plugin/editor/lettering.h"
#include "plugin/editor/strings.h"
#include "plugin/page/writer.h"

namespace seguente::screen {
namespace {

const page::ChordMark* chordOf(const page::Note& note, const page::Bar& bar, Ticks at) {
  const page::ChordMark* found = nullptr;
  for (const auto& mark : bar.chords)
    if (mark.id == note.reason.chordId && note.source != page::Source::melody)
      return &mark;
    else if (mark.at <= at)
      found = &mark;
  return found;
}

juce::String beatWord(Ticks at, const page::Bar& bar) {
  const Ticks place = at + bar.before, beat = bar.meter.beat();
  const auto number = place.value / beat.value;
  const bool on = place.value % beat.value == 0;
  const auto word = number < static_cast<std::int64_t>(std::size(words::beats))
                        ? plain(words::beats[number])
                        : juce::String(static_cast<int>(number) + 1);
  return plain(on ? words::onBeat : words::afterBeat) + word;
}

/// How the step was said in the idiom's file.
juce::String playWord(const page::Note& note, const Chord* chord) {
  const auto& r = note.reason;
  switch (r.play) {
    case PlayKind::nextBass:
    case PlayKind::approach:
      return plain(words::leadsOn);
    case PlayKind::heldLowest:
    case PlayKind::heldUpper:
    case PlayKind::heldAll:
    case PlayKind::heldTop:
    case PlayKind::heldNth:
      return plain(words::asYourHand);
    case PlayKind::percussion:
      return {};
    case PlayKind::degrees:
    case PlayKind::upper:
    case PlayKind::line:
      break;
  }
  if (chord == nullptr) return {};
  auto degree = degreeIn(*chord, note.key);
  if (degree.number == 0) degree = r.degree;
  const auto of = plain(words::ofChord) + plain(page::printedSymbol(*chord));
  return degreeWord(degree) + of;
}

const char* stateWord(const NoteReason& r) {
  switch (r.reason) {
    case Reason::join:
      return words::whyJoin;
    case Reason::correction:
      return words::whyCorrection;
    case Reason::hold:
      return words::whyHold;
    case Reason::cadence:
      return words::whyCadence;
    case Reason::asHeld:
    case Reason::step:
      break;
  }
  return "";
}

const char* delayWord(DelayCause cause) {
  switch (cause) {
    case DelayCause::handLate:
      return words::waitedForHand;
    case DelayCause::started:
      return words::cameWithStart;
    case DelayCause::jumped:
      return words::cameWithJump;
    case DelayCause::none:
      break;
  }
  return "";
}

}  // namespace

Degree degreeIn(const Chord& chord, NoteNumber key) {
  const int above = ((key.value % 12) - chord.root.value + 12) % 12;
  for (std::size_t i = 0; i < chord.count; ++i) {
    if (chord.tones[i] % 12 != above) continue;
    // The chord's own spelling says which degree a tone is: a third is three letters away.
    const auto tone = spellTone(chord, i);
    static constexpr std::array<int, 7> natural{0, 2, 4, 5, 7, 9, 11};  // of the steps C to B
    const int step = (tone.step - chord.rootSpelling.step + 7) % 7;
    const int major = natural[static_cast<std::size_t>(step)];
    int alteration = above - major;
    if (alteration > 6) alteration -= 12;
    const bool high = chord.tones[i] >= 12;
    return {static_cast<std::uint8_t>(step + (high ? 8 : 1)), static_cast<std::int8_t>(alteration)};
  }
  return {0, 0};
}

juce::String degreeFigure(Degree degree) {
  if (degree.number == 0) return {};
  juce::String text;
  for (int i = 0; i < degree.alteration; ++i) text << plain("\u266F");
  for (int i = 0; i > degree.alteration; --i) text << plain("\u266D");
  return text + juce::String(static_cast<int>(degree.number));
}

juce::String degreeWord(Degree degree) {
  if (degree.number == 0 || degree.number > std::size(words::degrees)) return plain(words::aTone);
  const auto word = plain(words::degrees[degree.number - 1u]);
  if (degree.number == 3 || degree.alteration == 0) return plain(words::theDegree) + word;
  return plain(words::theDegree) + plain(degree.alteration < 0 ? words::flat : words::sharp) + word;
}

juce::String figureWord(FigureKind kind) { return plain(words::figures[static_cast<std::size_t>(kind)]); }

juce::String nameOf(const page::Note& note) {
  static constexpr const char* letters = "CDEFGAB";
  juce::String name = juce::String::charToString(
      static_cast<juce::juce_wchar>(letters[static_cast<std::size_t>(((note.step % 7) + 7) % 7)]));
  for (int i = 0; i < note.alteration; ++i) name << plain("\u266F");
  for (int i = 0; i > note.alteration; --i) name << plain("\u266D");
  return name;
}

juce::String whyOf(const page::Note& note, const page::Bar& bar, Ticks at) {
  const auto* mark = chordOf(note, bar, at);
  const Chord* chord = mark == nullptr ? nullptr : &mark->chord;
  auto text = nameOf(note) + ": ";
  if (note.source == page::Source::melody) {
    text << plain(words::yourTune);
    if (chord != nullptr)
      if (const auto degree = degreeIn(*chord, note.key); degree.number != 0)
        text << ", " << degreeWord(degree) << plain(words::ofChord) << plain(page::printedSymbol(*chord));
    return text + ", " + beatWord(at, bar) + ".";
  }
  if (note.source == page::Source::percussion) text = {};
  const auto played = playWord(note, chord);
  if (played.isNotEmpty()) text << played << ". ";
  text << plain(words::figureHas).replace("%f", figureWord(note.reason.figure)).replace("%b", beatWord(at, bar));
  for (const auto* more : {stateWord(note.reason), delayWord(note.reason.cause)})
    if (*more != 0) text << " " << plain(more);
  if (note.coming) text << " " << plain(words::notYet);
  return text;
}

}  // namespace seguente::screen
