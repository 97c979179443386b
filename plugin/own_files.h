// Writing into the player's own folder: a new file never over another, a changed one whole or not at all.
#pragma once

#include <cstdint>
#include <filesystem>
#include <string>
#include <string_view>

namespace seguente {

/// taken: a file of that name is there already, and was left as it is.
enum class Kept : std::uint8_t { kept, taken, failed };

/// `<id>.toml` [message]
std::filesystem::path ownFile(const std::filesystem::path& folder, const std::string& id);
/// An id for a name that has neither a Latin letter nor a figure: "figure-1" and so on. [message]
std::string numberedId(int number);

/// A new file; makes the folder if it is missing. [message]
Kept keepNew(const std::filesystem::path& folder, const std::string& id, std::string_view text);
/// In the place of what is there: readers see the old text or the new one. [message]
Kept keepAgain(const std::filesystem::path& file, std::string_view text);

}  // namespace seguente
