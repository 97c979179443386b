// A home of this run alone: no idiom, setting or cache of the person who runs the tests is read or changed.
#pragma once

#include <cstdlib>
#include <filesystem>
#include <string>

namespace seguente::host {

/// While it lives, HOME and the XDG folders lie in a new folder, which goes with it. [message]
class EmptyHome {
 public:
  EmptyHome() {
    std::string name = (std::filesystem::temp_directory_path() / "seguente-host-XXXXXX").string();
    if (mkdtemp(name.data()) == nullptr) std::abort();
    folder_ = name;
    setenv("HOME", name.c_str(), 1);
    setenv("XDG_DATA_HOME", (name + "/data").c_str(), 1);
    setenv("XDG_CONFIG_HOME", (name + "/config").c_str(), 1);
    setenv("XDG_CACHE_HOME", (name + "/cache").c_str(), 1);
  }
  ~EmptyHome() {
    std::error_code ignored;
    std::filesystem::remove_all(folder_, ignored);
  }
  EmptyHome(const EmptyHome&) = delete;
  EmptyHome& operator=(const EmptyHome&) = delete;

 private:
  std::filesystem::path folder_;
};

}  // namespace seguente::host
