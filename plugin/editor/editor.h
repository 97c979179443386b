// The plugin's window.
#pragma once

#include <juce_audio_processors/juce_audio_processors.h>

#include <memory>

namespace seguente {

class Processor;

/// [message]
std::unique_ptr<juce::AudioProcessorEditor> makeEditor(Processor& processor);

}  // namespace seguente
