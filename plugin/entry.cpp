// Where a format's wrapper begins.
#include "plugin/processor.h"

juce::AudioProcessor* JUCE_CALLTYPE createPluginFilter();
juce::AudioProcessor* JUCE_CALLTYPE createPluginFilter() { return new seguente::Processor(); }
