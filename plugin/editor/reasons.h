// Why a note stands on the page, in a sentence: the engine's own reason, put into words.
#pragma once

#include <juce_core/juce_core.h>

#include "plugin/page/score.h"

namespace seguente::screen {

/// "D: the fifth of G7. The answer has it on one." at: of the note's event in its bar. [message]
juce::String whyOf(const page::Note& note, const page::Bar& bar, Ticks at);
/// A written note's name: "F" and its sign. [message]
juce::String nameOf(const page::Note& note);
/// "the fifth", "the flat seventh", "the root". [message]
juce::String degreeWord(Degree degree);
/// As it stands over a step: "5", "\u266D7". [message]
juce::String degreeFigure(Degree degree);
/// What a key is in a chord: its degree there, by the chord's own tones; {0, 0} when it is none of them. [message]
Degree degreeIn(const Chord& chord, NoteNumber key);
juce::String figureWord(FigureKind kind);

}  // namespace seguente::screen
