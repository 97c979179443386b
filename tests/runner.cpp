// Alone in its file, and compiled once: with Catch2 2 this is the dearest source of all.
#include "tests/runner.h"

#if __has_include(<catch2/catch_session.hpp>)
#include <catch2/catch_session.hpp>
#else
#define CATCH_CONFIG_RUNNER
#include <catch2/catch.hpp>
#endif

namespace seguente::test {

int runTests(int argc, char** argv) { return Catch::Session().run(argc, argv); }

}  // namespace seguente::test
