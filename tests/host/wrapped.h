// A session as each format wraps the plugin's own text: hosts keep it so, and hand it back so.
#pragma once

#include <string>

#include "tests/host/bundle.h"

namespace seguente::host {

/// As JUCE's host of the format saves this instance. [message]
juce::MemoryBlock savedBy(Bundle& bundle);
/// The same, but with this in the place of what the plugin had stored. [message]
juce::MemoryBlock wrapped(Bundle& bundle, const juce::MemoryBlock& inside);
/// The plugin's text, as the formats' wrappers of the first version stored it: the letters that they put behind it in
/// VST3 included. [any]
juce::MemoryBlock storedByVersion1(Format format, const std::string& text);

inline void load(juce::AudioProcessor& plugin, const juce::MemoryBlock& block) {
  plugin.setStateInformation(block.getData(), static_cast<int>(block.getSize()));
}

}  // namespace seguente::host
