// The program's words, their help, and which command they mean.
#pragma once

namespace seguente {

/// Runs the program and returns its exit code: 0 done, 1 the input is bad, 2 the words are off. [message]
int runCommandLine(int argc, char** argv);

}  // namespace seguente
