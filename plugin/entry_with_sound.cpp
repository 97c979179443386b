// Where a format's wrapper begins, for the plugin that sounds.
#include "plugin/processor.h"

juce::AudioProcessor* JUCE_CALLTYPE createPluginFilter();
juce::AudioProcessor* JUCE_CALLTYPE createPluginFilter() {
  return new seguente::Processor(std::make_unique<seguente::Instrument>());
}
