// A player's own folder that is there for one test.
#pragma once

#include <cstdlib>
#include <filesystem>
#include <fstream>
#include <iterator>
#include <string>

#include "plugin/shelf.h"

namespace seguente::test {

/// To be made before the plugin is.
class OwnHome {
 public:
  OwnHome() {
    auto name = (std::filesystem::temp_directory_path() / "seguente-own-XXXXXX").string();
    root_ = ::mkdtemp(name.data());
    if (const char* was = std::getenv("XDG_DATA_HOME")) was_ = was;
    ::setenv("XDG_DATA_HOME", root_.c_str(), 1);
    folder_ = ownIdiomsFolder();
  }
  ~OwnHome() {
    ::setenv("XDG_DATA_HOME", was_.c_str(), 1);
    std::error_code none;
    std::filesystem::remove_all(root_, none);
  }
  OwnHome(const OwnHome&) = delete;
  OwnHome& operator=(const OwnHome&) = delete;

  void write(const std::string& name, const std::string& text) const {
    std::filesystem::create_directories(folder_);
    std::ofstream(folder_ / name, std::ios::binary) << text;
  }
  std::string read(const std::string& name) const {
    std::ifstream file(folder_ / name, std::ios::binary);
    return {std::istreambuf_iterator<char>(file), {}};
  }
  int files() const {
    std::error_code none;
    int count = 0;
    for (std::filesystem::directory_iterator at(folder_, none), end; !none && at != end; ++at) ++count;
    return count;
  }

 private:
  std::filesystem::path root_, folder_;
  std::string was_;
};

}  // namespace seguente::test
