// The main function of every test program, alone in its file: with Catch2 2 it takes seconds to compile.
#if __has_include(<catch2/catch_session.hpp>)
#include <catch2/catch_session.hpp>
int main(int argc, char** argv) { return Catch::Session().run(argc, argv); }
#else
#define CATCH_CONFIG_MAIN
#include <catch2/catch.hpp>
#endif
