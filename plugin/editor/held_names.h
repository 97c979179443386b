// What a hand holds, by the names that its chord gives; and the fermata.
#pragma once

#include <juce_gui_basics/juce_gui_basics.h>

#include "dsp/chord.h"

namespace seguente::screen {

/// The keys that a hand holds by the names that they have in its chord: "B F G". [message]
juce::String namesOf(const KeySet& held, const Chord& chord);

/// A fermata: an arc over a dot, `width` wide, standing on `foot`.
void drawFermata(juce::Graphics& g, juce::Point<float> foot, float width);

}  // namespace seguente::screen
