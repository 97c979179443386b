// The window: a page, scaled, and the timer that looks at the sound thirty times a second.
#pragma once

#include <juce_audio_processors/juce_audio_processors.h>

#include "plugin/editor/memory.h"
#include "plugin/editor/page.h"

namespace seguente::screen {

/// [message] throughout. Reads the view, the values, the signals and the shelf; never waits for the audio thread.
class Window final : public juce::AudioProcessorEditor, public juce::FileDragAndDropTarget, private juce::Timer {
 public:
  explicit Window(Processor& plugin);
  ~Window() override;
  void refresh() { page_.refresh(); }
  void setDark(bool dark);
  /// per cent: one of `sizes`; the page keeps its width and height, the window grows or shrinks.
  void setPercent(int percent);
  Page& page() { return page_; }
  const Look& look() const { return look_; }

  /// Pattern files and running orders.
  bool isInterestedInFileDrag(const juce::StringArray& files) override;
  void filesDropped(const juce::StringArray& files, int, int) override { page_.take(files); }
  void resized() override;
  void paint(juce::Graphics& g) override { g.fillAll(look_.palette.page); }

 private:
  void timerCallback() override { refresh(); }
  void fitLimits();

  EditorMemory& memory_;
  Look look_;
  Page page_;
  bool placed_ = false;  // before that, sizes are none that anybody chose

  JUCE_DECLARE_NON_COPYABLE_WITH_LEAK_DETECTOR(Window)
};

}  // namespace seguente::screen
