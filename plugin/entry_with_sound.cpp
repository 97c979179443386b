// Where a format's wrapper begins, for the plugin that sounds.
#include "plugin/processor.h"
#include "plugin/sound/instrument.h"

juce::AudioProcessor* JUCE_CALLTYPE createPluginFilter();
juce::AudioProcessor* JUCE_CALLTYPE createPluginFilter() {
  auto instrument = std::make_unique<seguente::Instrument>();
  // A mixer follows: the demo tunes come out at -23 LUFS, which programmes have (EBU R 128, 2020), not at the quieter
  // level with which a player by himself begins.
  instrument->setVolume(80);
  return new seguente::Processor(std::move(instrument));
}
