#include "tests/host/bundle.h"

#include <stdexcept>

namespace seguente::host {

namespace {

juce::VST3PluginFormat& vst3() {
  static juce::VST3PluginFormat format;
  return format;
}

/// LV2 finds nothing unless the same object has looked through the folder before.
juce::LV2PluginFormat& lv2() {
  static auto format = [] {
    auto made = std::make_unique<juce::LV2PluginFormat>();
    made->searchPathsForPlugins(juce::FileSearchPath(juce::File(SEGUENTE_LV2_FOLDER).getFullPathName()), true, false);
    return made;
  }();
  return *format;
}

juce::AudioPluginFormat& formatOf(Format format) {
  if (format == Format::vst3) return vst3();
  return lv2();
}

}  // namespace

const char* nameOf(Format format) { return format == Format::vst3 ? "VST3" : "LV2"; }

std::string libraryOf(Format format) { return format == Format::vst3 ? SEGUENTE_VST3_LIBRARY : SEGUENTE_LV2_LIBRARY; }

juce::PluginDescription descriptionOf(Format format) {
  juce::OwnedArray<juce::PluginDescription> found;
  formatOf(format).findAllTypesForFile(found, format == Format::vst3
                                                  ? juce::File(SEGUENTE_VST3_BUNDLE).getFullPathName()
                                                  : juce::String(SEGUENTE_LV2_URI));
  if (found.size() != 1)
    throw std::runtime_error(std::string(nameOf(format)) + ": " + std::to_string(found.size()) + " plugins found");
  return *found[0];
}

Bundle::Bundle(Format format) : format_(format) {
  static const juce::PluginDescription descriptions[] = {descriptionOf(Format::vst3), descriptionOf(Format::lv2)};
  juce::String error;
  plugin_ =
      formatOf(format).createInstanceFromDescription(descriptions[format == Format::vst3 ? 0 : 1], 48000, 1024, error);
  if (plugin_ == nullptr) throw std::runtime_error(error.toStdString());
  plugin_->enableAllBuses();
}

juce::AudioProcessorParameter& Bundle::parameter(ParameterId which) {
  if (which == ParameterId::bypass)
    if (auto* bypass = plugin_->getBypassParameter()) return *bypass;
  const juce::String name = juce::String::fromUTF8(seguente::parameter(which).name);
  for (auto* p : plugin_->getParameters())
    if (p->getName(100) == name) return *p;
  throw std::runtime_error(std::string("no parameter ") + seguente::parameter(which).name);
}

float normal(ParameterId which, double plain) {
  const auto& row = seguente::parameter(which);
  return static_cast<float>((allowed(row, plain) - row.low) / (row.high - row.low));
}

void Bundle::set(ParameterId which, double plain) { parameter(which).setValue(normal(which, plain)); }

}  // namespace seguente::host
