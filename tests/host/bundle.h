// The plugin as it was built, loaded from its bundle by JUCE's own host of that format.
#pragma once

#include <juce_audio_processors/juce_audio_processors.h>

#include <memory>
#include <string>

#include "plugin/parameters.h"

namespace seguente::host {

enum class Format { vst3, lv2 };
inline constexpr Format formats[] = {Format::vst3, Format::lv2};
const char* nameOf(Format format);

/// The file that the format's dlopen gets. [any]
std::string libraryOf(Format format);
/// As the host found it by scanning the bundle. Fails the test when there is not exactly one plugin. [message]
juce::PluginDescription descriptionOf(Format format);

/// One instance. [message] but for process.
class Bundle {
 public:
  explicit Bundle(Format format);
  juce::AudioPluginInstance& plugin() { return *plugin_; }
  Format format() const { return format_; }
  /// The host's handle of a row, found by its name: ids are each format's own.
  juce::AudioProcessorParameter& parameter(ParameterId which);
  void set(ParameterId which, double plain);

 private:
  Format format_;
  std::unique_ptr<juce::AudioPluginInstance> plugin_;
};

/// 0..1 as formats carry it. [any]
float normal(ParameterId which, double plain);

}  // namespace seguente::host
