#include "plugin/own_files.h"

#include <cstdio>
#include <memory>
#include <system_error>

namespace seguente {

namespace fs = std::filesystem;

namespace {

struct Close {
  void operator()(std::FILE* file) const { std::fclose(file); }
};
using File = std::unique_ptr<std::FILE, Close>;

bool write(File file, std::string_view text) {
  if (!file) return false;
  const bool all = std::fwrite(text.data(), 1, text.size(), file.get()) == text.size();
  return std::fclose(file.release()) == 0 && all;
}

}  // namespace

fs::path ownFile(const fs::path& folder, const std::string& id) { return folder / (id + ".toml"); }
std::string numberedId(int number) { return "figure-" + std::to_string(number); }

Kept keepNew(const fs::path& folder, const std::string& id, std::string_view text) {
  std::error_code error;
  if (folder.empty()) return Kept::failed;
  fs::create_directories(folder, error);
  const auto path = ownFile(folder, id);
  File file(std::fopen(path.c_str(), "wx"));  // C11: fails where there is one
  if (!file) return fs::exists(path, error) ? Kept::taken : Kept::failed;
  if (write(std::move(file), text)) return Kept::kept;
  fs::remove(path, error);
  return Kept::failed;
}

Kept keepAgain(const fs::path& file, std::string_view text) {
  auto beside = file;
  beside += ".part";
  std::error_code error;
  if (!write(File(std::fopen(beside.c_str(), "w")), text)) {
    fs::remove(beside, error);
    return Kept::failed;
  }
  fs::rename(beside, file, error);
  if (!error) return Kept::kept;
  fs::remove(beside, error);
  return Kept::failed;
}

}  // namespace seguente
