#include "plugin/editor/window.h"

#include <algorithm>
#include <cmath>

#include "plugin/processor.h"

namespace seguente::screen {
namespace {
constexpr int refreshesASecond = 30;
constexpr int largest = 2560;  // of the page, before its size is applied
int scaled(int pixels, int percent) { return (pixels * percent + 50) / 100; }
}  // namespace

Window::Window(Processor& plugin) : AudioProcessorEditor(plugin), memory_(plugin.editorMemory()), page_(look_, plugin) {
  plugin.shelf().open();  // hosts may show a window before they prepare
  look_.palette = memory_.dark ? darkPalette() : lightPalette();
  setOpaque(true);
  addAndMakeVisible(page_);
  page_.chooseDark = [this](bool dark) { setDark(dark); };
  page_.chooseSize = [this](int percent) { setPercent(percent); };
  page_.chooseReducedMotion = [this](bool reduced) {
    memory_.reducedMotion = reduced;
    page_.showWindow(memory_.dark, memory_.percent, reduced);
  };
  page_.recolour();
  page_.showWindow(memory_.dark, memory_.percent, memory_.reducedMotion);
  setResizable(true, true);
  fitLimits();
  placed_ = true;
  setSize(scaled(memory_.width, memory_.percent), scaled(memory_.height, memory_.percent));
  refresh();
  startTimerHz(refreshesASecond);
}

Window::~Window() { stopTimer(); }

bool Window::isInterestedInFileDrag(const juce::StringArray& files) {
  return std::any_of(files.begin(), files.end(),
                     [](const juce::String& name) { return mayBeOurs(name.toStdString()); });
}

void Window::setDark(bool dark) {
  memory_.dark = dark;
  look_.palette = dark ? darkPalette() : lightPalette();
  page_.showWindow(memory_.dark, memory_.percent, memory_.reducedMotion);
  page_.recolour();
  repaint();
}

void Window::setPercent(int percent) {
  const int width = memory_.width, height = memory_.height;
  memory_.percent = percent;
  placed_ = false;
  fitLimits();
  placed_ = true;
  setSize(scaled(width, percent), scaled(height, percent));
  resized();  // the same size may have been asked for by the limits
  page_.showWindow(memory_.dark, memory_.percent, memory_.reducedMotion);
}

void Window::fitLimits() {
  setResizeLimits(scaled(smallestWidth, memory_.percent), scaled(smallestHeight, memory_.percent),
                  scaled(largest, memory_.percent), scaled(largest, memory_.percent));
}

void Window::resized() {
  const int percent = memory_.percent;
  const int width = std::max(smallestWidth, (getWidth() * 100 + percent / 2) / percent);
  const int height = std::max(smallestHeight, (getHeight() * 100 + percent / 2) / percent);
  page_.setTransform(juce::AffineTransform::scale(static_cast<float>(percent) / 100));
  page_.setBounds(0, 0, width, height);
  if (!placed_) return;
  memory_.width = width;
  memory_.height = height;
}

}  // namespace seguente::screen
