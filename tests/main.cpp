// The main function of every test program that has nothing to set up, where Catch2's own is not to be had.
#include "tests/runner.h"

int main(int argc, char** argv) { return seguente::test::runTests(argc, argv); }
