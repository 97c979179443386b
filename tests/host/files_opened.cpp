#include "tests/host/files_opened.h"

#include <mutex>

namespace {

std::mutex mutex;
bool watching = false;
std::vector<std::string> names;

[[maybe_unused]] void notice(const char* name) {
  const std::scoped_lock lock(mutex);
  // A look at our own threads is the test's, not the plugin's.
  if (watching && std::string(name) != "/proc/self/task") names.emplace_back(name);
}

}  // namespace

namespace seguente::host {

FilesOpened::FilesOpened() {
  const std::scoped_lock lock(mutex);
  names.clear();
  watching = true;
}
FilesOpened::~FilesOpened() {
  const std::scoped_lock lock(mutex);
  watching = false;
}
std::vector<std::string> FilesOpened::since() const {
  const std::scoped_lock lock(mutex);
  return names;
}

}  // namespace seguente::host

#ifdef SEGUENTE_SANITIZED

const bool seguente::host::FilesOpened::canSee = false;

#else

#include <dirent.h>
#include <dlfcn.h>
#include <sys/socket.h>

#include <cstdarg>
#include <cstdio>

const bool seguente::host::FilesOpened::canSee = true;

namespace {

template <class Function>
Function* next(const char* name) {
  return reinterpret_cast<Function*>(dlsym(RTLD_NEXT, name));
}

}  // namespace

extern "C" {

int open(const char* name, int flags, ...) {
  va_list more;
  va_start(more, flags);
  const auto mode = va_arg(more, unsigned int);
  va_end(more);
  notice(name);
  return next<int(const char*, int, ...)>("open")(name, flags, mode);
}

int open64(const char* name, int flags, ...) {
  va_list more;
  va_start(more, flags);
  const auto mode = va_arg(more, unsigned int);
  va_end(more);
  notice(name);
  return next<int(const char*, int, ...)>("open64")(name, flags, mode);
}

int openat(int folder, const char* name, int flags, ...) {
  va_list more;
  va_start(more, flags);
  const auto mode = va_arg(more, unsigned int);
  va_end(more);
  notice(name);
  return next<int(int, const char*, int, ...)>("openat")(folder, name, flags, mode);
}

FILE* fopen(const char* name, const char* mode) {
  notice(name);
  return next<FILE*(const char*, const char*)>("fopen")(name, mode);
}

FILE* fopen64(const char* name, const char* mode) {
  notice(name);
  return next<FILE*(const char*, const char*)>("fopen64")(name, mode);
}

DIR* opendir(const char* name) {
  notice(name);
  return next<DIR*(const char*)>("opendir")(name);
}

int connect(int socket, const sockaddr* address, socklen_t length) {
  notice("a connection");
  return next<int(int, const sockaddr*, socklen_t)>("connect")(socket, address, length);
}

}  // extern "C"

#endif
