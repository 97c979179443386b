#include "plugin/editor/editor.h"

#include "plugin/editor/window.h"
#include "plugin/processor.h"

namespace seguente {

std::unique_ptr<juce::AudioProcessorEditor> makeEditor(Processor& processor) {
  return std::make_unique<screen::Window>(processor);
}

}  // namespace seguente
