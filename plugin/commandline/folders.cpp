#include <unistd.h>

#include <climits>
#include <cstdio>
#include <cstdlib>

#include "plugin/commandline/commands.h"

namespace seguente {

namespace {

namespace fs = std::filesystem;

void addIfThere(std::vector<fs::path>& folders, const fs::path& folder) {
  std::error_code ignored;
  if (!folder.empty() && fs::is_directory(folder, ignored)) folders.push_back(folder);
}

/// The program's own folder.
fs::path programFolder() {
  char path[PATH_MAX];
  const ssize_t length = ::readlink("/proc/self/exe", path, sizeof path);
  return length > 0 ? fs::path(std::string(path, static_cast<std::size_t>(length))).parent_path() : fs::path{};
}

fs::path own() {
  if (const char* data = std::getenv("XDG_DATA_HOME"); data != nullptr && *data != '\0')
    return fs::path(data) / "seguente";
  const char* home = std::getenv("HOME");
  return home != nullptr ? fs::path(home) / ".local/share/seguente" : fs::path{};
}

}  // namespace

IdiomFolders idiomFolders(const std::vector<std::string>& asked) {
  IdiomFolders result;
  const fs::path program = programFolder();
  if (!program.empty()) addIfThere(result.folders, program.parent_path() / "share/seguente/patterns");
#ifdef SEGUENTE_PATTERNS_DIR
  // In a build tree nothing is installed: the shipped idioms are where they are written.
  if (result.folders.empty()) addIfThere(result.folders, SEGUENTE_PATTERNS_DIR);
#endif
  if (const fs::path folder = own(); !folder.empty()) {
    addIfThere(result.folders, folder / "patterns");
    addIfThere(result.folders, folder / "idioms");  // where the plugin looks for them (plugin/shelf.h)
  }
  if (const char* folder = std::getenv("SEGUENTE_PATTERNS"); folder != nullptr && *folder != '\0')
    addIfThere(result.folders, folder);
  for (const std::string& folder : asked) addIfThere(result.folders, folder);
  return result;
}

std::string whyNoFile(const std::string& path) {
  std::error_code error;
  const auto status = fs::status(path, error);
  if (!fs::exists(status)) return path + ": no such file";
  return fs::is_directory(status) ? path + ": is a folder" : "";
}

int complain(const std::string& line, int code) {
  std::fprintf(stderr, "seguente: %s\n", line.c_str());
  return code;
}

std::string quartersText(Ticks ticks) {
  char text[32];
  std::snprintf(text, sizeof text, "%.4f", static_cast<double>(ticks.value) / static_cast<double>(quarter.value));
  std::string s = text;
  s.erase(s.find_last_not_of('0') + 1);
  if (s.back() == '.') s.pop_back();
  return s == "-0" ? "0" : s;
}

}  // namespace seguente
