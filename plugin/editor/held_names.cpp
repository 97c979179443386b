#include "plugin/editor/held_names.h"

#include "dsp/harmony.h"
#include "plugin/editor/lettering.h"

namespace seguente::screen {

juce::String namesOf(const KeySet& held, const Chord& chord) {
  juce::StringArray names;
  held.forEach([&](NoteNumber key) {
    SpelledPitch spelled;
    bool found = false;
    for (std::size_t i = 0; i < chord.count && !found; ++i) {
      spelled = spellTone(chord, i);
      found = spelled.pitchClass() == key.pitchClass();
    }
    if (!found) {  // a key that is no tone of the chord: by its own name
      Chord alone;
      alone.root = alone.bass = key.pitchClass();
      alone.count = 1;
      spell(alone, {});
      spelled = alone.rootSpelling;
    }
    names.add(printedSymbol(nameOf(spelled).view()));
  });
  return names.joinIntoString(" ");
}

void drawFermata(juce::Graphics& g, juce::Point<float> foot, float width) {
  juce::Path arc;  // thick above, thin at its ends, as printed
  const float half = width / 2, high = width * 0.55f;
  arc.startNewSubPath(foot.x - half, foot.y);
  arc.cubicTo(foot.x - half, foot.y - high * 1.25f, foot.x + half, foot.y - high * 1.25f, foot.x + half, foot.y);
  arc.cubicTo(foot.x + half * 0.8f, foot.y - high, foot.x - half * 0.8f, foot.y - high, foot.x - half, foot.y);
  arc.closeSubPath();
  g.fillPath(arc);
  const float dot = width * 0.16f;
  g.fillEllipse(foot.x - dot / 2, foot.y - dot, dot, dot);
}

}  // namespace seguente::screen
