// Catch2's runner, for a program whose main must set something up first.
#pragma once

namespace seguente::test {

/// Runs the tests of this program as the arguments ask. Its exit code.
int runTests(int argc, char** argv);

}  // namespace seguente::test
