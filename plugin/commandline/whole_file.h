// Reading a file in one piece, without streams (they cost more than the engine does).
#pragma once

#include <cstdint>
#include <string>
#include <vector>

#include "plugin/commandline/checked.h"

namespace seguente {

/// The whole content. errors: "PATH: no such file", "PATH: is a folder", "PATH: cannot be read", too large. [message]
Checked<std::vector<std::uint8_t>> readWhole(const std::string& path);

/// The same as text. [message]
Checked<std::string> readText(const std::string& path);

}  // namespace seguente
