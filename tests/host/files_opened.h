// Sees every file that this program opens, and every connection that it makes: the C library's calls for it are ours
// first. Left out of sanitizer builds, which take the same calls.
#pragma once

#include <string>
#include <vector>

namespace seguente::host {

/// While it lives, on whatever thread. [message]
class FilesOpened {
 public:
  static const bool canSee;
  FilesOpened();
  ~FilesOpened();
  FilesOpened(const FilesOpened&) = delete;
  FilesOpened& operator=(const FilesOpened&) = delete;
  std::vector<std::string> since() const;
};

}  // namespace seguente::host
