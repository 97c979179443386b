#include "plugin/commandline/command_line.h"

int main(int argc, char** argv) { return seguente::runCommandLine(argc, argv); }
