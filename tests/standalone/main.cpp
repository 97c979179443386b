// Needs no display: components are laid out, pressed and drawn without a window, and blocks are played by hand.
#include <juce_gui_basics/juce_gui_basics.h>

#include <cstdlib>

#if __has_include(<catch2/catch_session.hpp>)
#include <catch2/catch_session.hpp>
#else
#define CATCH_CONFIG_RUNNER
#include <catch2/catch.hpp>
#endif

int main(int argc, char** argv) {
  setenv("XDG_DATA_HOME", SEGUENTE_TESTS "/no-such-folder", 1);  // nobody's own idioms
  const juce::ScopedJuceInitialiser_GUI gui;
  return Catch::Session().run(argc, argv);
}
