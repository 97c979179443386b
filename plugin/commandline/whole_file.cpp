#include "plugin/commandline/whole_file.h"

#include <sys/stat.h>

#include <cerrno>
#include <cstdio>

namespace seguente {

namespace {
// A MIDI file or chart beyond this is a mistake (the longest opera is some megabytes). Common practice, no source.
constexpr std::size_t largest = std::size_t{256} * 1024 * 1024;

template <class Container>
Checked<Container> read(const std::string& path) {
  struct stat about {};
  if (::stat(path.c_str(), &about) != 0)
    return bad<Container>(path + (errno == ENOENT || errno == ENOTDIR ? ": no such file" : ": cannot be read"));
  if (S_ISDIR(about.st_mode)) return bad<Container>(path + ": is a folder");
  std::FILE* file = std::fopen(path.c_str(), "rb");
  if (file == nullptr) return bad<Container>(path + ": cannot be read");
  Container content;
  content.resize(about.st_size > 0 && static_cast<std::size_t>(about.st_size) <= largest
                     ? static_cast<std::size_t>(about.st_size) + 1
                     : std::size_t{64} * 1024);
  std::size_t length = 0;
  for (;;) {  // a pipe has no size: read until nothing comes
    const std::size_t got = std::fread(content.data() + length, 1, content.size() - length, file);
    length += got;
    if (got == 0 || length > largest) break;
    if (length == content.size()) content.resize(content.size() * 2);
  }
  const bool failed = std::ferror(file) != 0;
  std::fclose(file);
  if (failed) return bad<Container>(path + ": cannot be read");
  if (length > largest) return bad<Container>(path + ": is larger than 256 MiB");
  content.resize(length);
  return good(std::move(content));
}
}  // namespace

Checked<std::vector<std::uint8_t>> readWhole(const std::string& path) { return read<std::vector<std::uint8_t>>(path); }

Checked<std::string> readText(const std::string& path) { return read<std::string>(path); }

}  // namespace seguente
