// Of the editor's tests and the home window's. Needs no display: components are laid out, pressed and drawn without a
// window.
#include <juce_gui_basics/juce_gui_basics.h>

#include <cstdlib>

#include "tests/runner.h"

int main(int argc, char** argv) {
  setenv("XDG_DATA_HOME", SEGUENTE_TESTS "/no-such-folder", 1);  // nobody's own idioms
  const juce::ScopedJuceInitialiser_GUI gui;
  return seguente::test::runTests(argc, argv);
}
