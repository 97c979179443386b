// The main function of the host tests: JUCE's message thread is this one, no display is opened, and the player's own
// idioms are looked for in an empty folder of this run.
#include <juce_gui_basics/juce_gui_basics.h>

#define CATCH_CONFIG_RUNNER
#if __has_include(<catch2/catch_session.hpp>)
#include <catch2/catch_session.hpp>
#else
#include <catch2/catch.hpp>
#endif

#ifdef SEGUENTE_SANITIZED
#include <dlfcn.h>
#endif

#include <cstdlib>

#include "tests/host/bundle.h"
#include "tests/host/empty_home.h"

int main(int argc, char** argv) {
  unsetenv("DISPLAY");
  const seguente::host::EmptyHome home;
#ifdef SEGUENTE_SANITIZED
  // A bundle that is unloaded and loaded again has no names any more in a sanitizer's report, nor for its suppressions.
  for (const auto format : seguente::host::formats)
    dlopen(seguente::host::libraryOf(format).c_str(), RTLD_NOW | RTLD_LOCAL | RTLD_NODELETE);
#endif
  const juce::ScopedJuceInitialiser_GUI juceRuns;
  return Catch::Session().run(argc, argv);
}
