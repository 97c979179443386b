// The program: one window, until it is closed. With no display it says so and ends.
#include <dlfcn.h>
#include <juce_gui_basics/juce_gui_basics.h>

#include <csignal>
#include <cstdio>

#include "plugin/editor/strings.h"
#include "plugin/standalone/home_window.h"

namespace {

using namespace seguente;

volatile std::sig_atomic_t askedToEnd = 0;  // by a signal: a keyboard is given its own sound back all the same

/// What the framework does without a display is to crash; so we ask first, as it would.
bool hasDisplay() {
#if JUCE_LINUX || JUCE_BSD
  void* library = dlopen("libX11.so.6", RTLD_NOW | RTLD_LOCAL);
  if (library == nullptr) return false;
  const auto open = reinterpret_cast<void* (*)(const char*)>(dlsym(library, "XOpenDisplay"));
  const auto close = reinterpret_cast<int (*)(void*)>(dlsym(library, "XCloseDisplay"));
  void* display = open == nullptr ? nullptr : open(nullptr);
  if (display != nullptr && close != nullptr) close(display);
  return display != nullptr;
#else
  return true;
#endif
}

/// JACK's library complains at length where no server runs, which is usual.
void quietenJack() {
#if JUCE_LINUX
  void* library = dlopen("libjack.so.0", RTLD_NOW | RTLD_GLOBAL);
  if (library == nullptr) return;
  for (const char* name : {"jack_set_error_function", "jack_set_info_function"})
    if (const auto set = reinterpret_cast<void (*)(void (*)(const char*))>(dlsym(library, name)))
      set([](const char*) {});
#endif
}

class Frame final : public juce::DocumentWindow {
 public:
  explicit Frame(home::HomeWindow& window)
      : DocumentWindow(screen::plain(words::name), juce::Colours::white, allButtons, false), window_(window) {
    setUsingNativeTitleBar(true);
    addToDesktop();
    setContentNonOwned(&window.window(), true);
    setResizable(true, false);
    centreWithSize(getWidth(), getHeight());
    setVisible(true);
  }
  void closeButtonPressed() override { juce::JUCEApplicationBase::quit(); }
  // Keys play though nothing in the window has the focus.
  bool keyPressed(const juce::KeyPress& key) override {
    return window_.keyPressed(key, this) || window_.window().page().keyPressed(key);
  }
  bool keyStateChanged(bool down) override { return window_.keyStateChanged(down, this); }

 private:
  home::HomeWindow& window_;
};

class Program final : public juce::JUCEApplication, private juce::Timer {
 public:
  const juce::String getApplicationName() override { return screen::plain(words::name); }
  const juce::String getApplicationVersion() override { return SEGUENTE_VERSION; }
  bool moreThanOneInstanceAllowed() override { return true; }

  void initialise(const juce::String&) override {
    quietenJack();
    home_ = std::make_unique<home::Home>(home::realSurroundings());
    window_ = std::make_unique<home::HomeWindow>(*home_);
    frame_ = std::make_unique<Frame>(*window_);
    window_->tellStatus = [this](const juce::String& status) {
      frame_->setName(screen::plain(words::name) + ": " + status);
    };
    window_->begin();
    for (const int signal : {SIGTERM, SIGINT, SIGHUP}) std::signal(signal, [](int) { askedToEnd = 1; });
    startTimer(100);
  }
  void shutdown() override {
    stopTimer();
    if (home_) home_->remember();
    frame_.reset();
    window_.reset();
    home_.reset();
  }
  void systemRequestedQuit() override { quit(); }

 private:
  void timerCallback() override {
    if (askedToEnd != 0) quit();
  }
  std::unique_ptr<home::Home> home_;
  std::unique_ptr<home::HomeWindow> window_;
  std::unique_ptr<Frame> frame_;
};

juce::JUCEApplicationBase* makeProgram() { return new Program; }

}  // namespace

int main(int argc, char** argv) {
  if (!hasDisplay()) {
    std::fprintf(stderr, "%s\n", words::noDisplay);
    return 1;
  }
  juce::JUCEApplicationBase::createInstance = &makeProgram;
  return juce::JUCEApplicationBase::main(argc, const_cast<const char**>(argv));
}
