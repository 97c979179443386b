#include "tests/host/wrapped.h"

#include <stdexcept>

namespace seguente::host {

namespace {

juce::MemoryBlock inVst3(const juce::MemoryBlock& saved, const juce::MemoryBlock& inside) {
  const auto xml = juce::AudioProcessor::getXmlFromBinary(saved.getData(), static_cast<int>(saved.getSize()));
  auto* component = xml != nullptr ? xml->getChildByName("IComponent") : nullptr;
  if (component == nullptr) throw std::runtime_error("JUCE's VST3 host saves otherwise than was known");
  component->deleteAllTextElements();
  component->addTextElement(inside.toBase64Encoding());
  juce::MemoryBlock block;
  juce::AudioProcessor::copyXmlToBinary(*xml, block);
  return block;
}

/// The host writes turtle: the property's letters stand between quotation marks.
juce::MemoryBlock inLv2(const juce::MemoryBlock& saved, const juce::MemoryBlock& inside) {
  auto text = saved.toString().toStdString();
  const auto property = text.find("StateString");
  const auto from = text.find_first_not_of('"', text.find('"', property));
  const auto to = text.find('"', from);
  if (property == std::string::npos || to == std::string::npos)
    throw std::runtime_error("JUCE's LV2 host saves otherwise than was known");
  text.replace(from, to - from, inside.toBase64Encoding().toStdString());
  return {text.data(), text.size()};
}

}  // namespace

juce::MemoryBlock savedBy(Bundle& bundle) {
  juce::MemoryBlock block;
  bundle.plugin().getStateInformation(block);
  return block;
}

juce::MemoryBlock wrapped(Bundle& bundle, const juce::MemoryBlock& inside) {
  return bundle.format() == Format::vst3 ? inVst3(savedBy(bundle), inside) : inLv2(savedBy(bundle), inside);
}

juce::MemoryBlock storedByVersion1(Format format, const std::string& text) {
  juce::MemoryBlock stored(text.data(), text.size());
  if (format == Format::lv2) return stored;
  static constexpr char behind[] =
      "\0\0\0\0\0\0\0\0JUCEPrivateData\0\1\1Bypass\0\1\1\3\0\0\0\0\0\0\0\0\0\x24\0\0\0\0\0\0\0JUCEPrivateData";
  stored.append(behind, sizeof behind - 1);
  return stored;
}

}  // namespace seguente::host
