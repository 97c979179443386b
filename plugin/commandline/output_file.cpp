#include "plugin/commandline/output_file.h"

#include <sys/stat.h>
#include <unistd.h>

#include <cerrno>
#include <csignal>
#include <cstdlib>
#include <cstring>

namespace seguente {

namespace {

volatile std::sig_atomic_t stopAsked = 0;

std::string folderOf(const std::string& path) {
  const auto slash = path.rfind('/');
  return slash == std::string::npos ? "" : path.substr(0, slash + 1);
}

/// Where a link leads: the file is replaced, not the link.
std::string followed(const std::string& path) {
  char* real = ::realpath(path.c_str(), nullptr);
  if (real == nullptr) return path;
  std::string result(real);
  std::free(real);
  return result;
}

int makeTemporary(std::string& name) {
  name += ".XXXXXX";
  return ::mkstemp(name.data());
}

mode_t modeFor(const std::string& path) {
  struct stat about {};
  if (::stat(path.c_str(), &about) == 0) return about.st_mode & 07777;
  const mode_t mask = ::umask(0);
  ::umask(mask);
  return 0666 & ~mask;
}

}  // namespace

OutputFile::OutputFile(const std::string& path) : path_(path) {
  struct stat about {};
  const bool there = ::stat(path.c_str(), &about) == 0;
  if (there && S_ISDIR(about.st_mode)) {
    fault_ = path + ": is a folder";
    return;
  }
  if (there && !S_ISREG(about.st_mode)) {
    file_ = std::fopen(path.c_str(), "wb");
    if (file_ == nullptr) fail(std::strerror(errno));
    return;
  }
  if (there && ::access(path.c_str(), W_OK) != 0) {
    fail(std::strerror(errno));
    return;
  }
  path_ = followed(path);
  temporary_ = path_;
  const int descriptor = makeTemporary(temporary_);
  if (descriptor < 0) {
    temporary_.clear();
    fail(std::strerror(errno));
    return;
  }
  ::fchmod(descriptor, modeFor(path_));
  file_ = ::fdopen(descriptor, "wb");
  if (file_ == nullptr) fail(std::strerror(errno));
}

OutputFile::~OutputFile() {
  if (file_ != nullptr) std::fclose(file_);
  if (!temporary_.empty()) ::unlink(temporary_.c_str());
}

void OutputFile::fail(const char* what) {
  if (fault_.empty()) fault_ = path_ + ": cannot be written: " + what;
}

void OutputFile::write(std::span<const std::uint8_t> bytes) {
  if (!fault_.empty() || bytes.empty()) return;
  if (std::fwrite(bytes.data(), 1, bytes.size(), file_) != bytes.size()) fail(std::strerror(errno));
}

void OutputFile::write(std::string_view text) {
  write(std::span(reinterpret_cast<const std::uint8_t*>(text.data()), text.size()));
}

std::string OutputFile::commit() {
  if (!fault_.empty()) return fault_;
  if (std::fflush(file_) != 0) fail(std::strerror(errno));
  if (fault_.empty() && !temporary_.empty() && ::fsync(::fileno(file_)) != 0) fail(std::strerror(errno));
  if (std::fclose(file_) != 0) fail(std::strerror(errno));
  file_ = nullptr;
  if (fault_.empty() && !temporary_.empty()) {
    if (std::rename(temporary_.c_str(), path_.c_str()) == 0)
      temporary_.clear();
    else
      fail(std::strerror(errno));
  }
  return fault_;
}

std::FILE* scratchBeside(const std::string& path) {
  std::string name = folderOf(path) + "seguente-scratch";
  const int descriptor = makeTemporary(name);
  if (descriptor < 0) return std::tmpfile();
  ::unlink(name.c_str());
  return ::fdopen(descriptor, "w+b");
}

void catchInterrupts() {
  const auto stop = [](int signal) {
    stopAsked = 1;
    std::signal(signal, SIG_DFL);  // asked twice, it stops at once
  };
  std::signal(SIGINT, stop);
  std::signal(SIGTERM, stop);
}

bool interrupted() { return stopAsked != 0; }

}  // namespace seguente
