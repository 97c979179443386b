// The main function of the host tests: JUCE's message thread is this one, no display is opened, and the player's own
// idioms are looked for in an empty folder of this run.
#include <juce_gui_basics/juce_gui_basics.h>

#ifdef SEGUENTE_SANITIZED
#include <dlfcn.h>
#endif

#include <cstdlib>

#include "tests/host/bundle.h"
#include "tests/host/empty_home.h"
#include "tests/runner.h"

int main(int argc, char** argv) {
  unsetenv("DISPLAY");
  const seguente::host::EmptyHome home;
#ifdef SEGUENTE_SANITIZED
  // A bundle that is unloaded and loaded again has no names any more in a sanitizer's report, nor for its suppressions.
  for (const auto format : seguente::host::formats)
    dlopen(seguente::host::libraryOf(format).c_str(), RTLD_NOW | RTLD_LOCAL | RTLD_NODELETE);
#endif
  const juce::ScopedJuceInitialiser_GUI juceRuns;
  return seguente::test::runTests(argc, argv);
}
