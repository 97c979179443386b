// The main function of the host tests: JUCE's message thread is this one, no display is opened, and the player's own
// idioms are looked for in an empty folder of this run.
#include <juce_gui_basics/juce_gui_basics.h>

#define CATCH_CONFIG_RUNNER
#if __has_include(<catch2/catch_session.hpp>)
#include <catch2/catch_session.hpp>
#else
#include <catch2/catch.hpp>
#endif

#include <cstdlib>

#include "tests/host/empty_home.h"

int main(int argc, char** argv) {
  unsetenv("DISPLAY");
  const seguente::host::EmptyHome home;
  const juce::ScopedJuceInitialiser_GUI juceRuns;
  return Catch::Session().run(argc, argv);
}
