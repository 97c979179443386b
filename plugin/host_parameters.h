// The table of parameters as hosts want it: one object a row, which only looks at ParameterValues.
#pragma once

#include <juce_audio_processors/juce_audio_processors.h>

#include <functional>
#include <memory>

#include "plugin/parameters.h"

namespace seguente {

/// Title of the idiom in a slot, "" when it is empty. [message]
using SlotTitle = std::function<std::string(std::size_t)>;

/// The host's handle of one row. The value lives in `values`, which must outlive it.
std::unique_ptr<juce::RangedAudioParameter> makeHostParameter(const Parameter& row, ParameterValues& values,
                                                              SlotTitle title);

}  // namespace seguente
