// Works with glibc (2.36 and 2.41 tried), which offers its allocator under second names.
#include "tests/guard/audio_thread.h"

#ifdef SEGUENTE_SANITIZED

namespace seguente::guard {
AudioThread::AudioThread() = default;
AudioThread::~AudioThread() = default;
int violations() { return 0; }
const void* culprit(int) { return nullptr; }
}  // namespace seguente::guard

#else

#include <dlfcn.h>
#include <pthread.h>

#include <array>
#include <atomic>
#include <cerrno>
#include <cstddef>
#include <cstdlib>

namespace {

thread_local int depth = 0;  // in the program itself, so reading it never allocates
std::atomic<int> seen{0};
std::array<std::atomic<const void*>, 256> callers{};

void notice(const void* caller) {
  if (depth == 0) return;
  const auto n = static_cast<std::size_t>(seen.fetch_add(1, std::memory_order_relaxed));
  if (n < callers.size()) callers[n].store(caller, std::memory_order_relaxed);
}

using Lock = int (*)(pthread_mutex_t*);
std::atomic<Lock> systemLock{nullptr};

}  // namespace

namespace seguente::guard {
AudioThread::AudioThread() { ++depth; }
AudioThread::~AudioThread() { --depth; }
int violations() {
  for (auto& caller : callers) caller.store(nullptr, std::memory_order_relaxed);
  return seen.exchange(0);
}
const void* culprit(int n) {
  return n >= 0 && static_cast<std::size_t>(n) < callers.size() ? callers[static_cast<std::size_t>(n)].load() : nullptr;
}
}  // namespace seguente::guard

extern "C" {

void* __libc_malloc(std::size_t);
void* __libc_calloc(std::size_t, std::size_t);
void* __libc_realloc(void*, std::size_t);
void* __libc_memalign(std::size_t, std::size_t);
void __libc_free(void*);

void* malloc(std::size_t size) noexcept {
  notice(__builtin_return_address(0));
  return __libc_malloc(size);
}

void* calloc(std::size_t count, std::size_t size) noexcept {
  notice(__builtin_return_address(0));
  return __libc_calloc(count, size);
}

void* realloc(void* old, std::size_t size) noexcept {
  notice(__builtin_return_address(0));
  return __libc_realloc(old, size);
}

void* memalign(std::size_t alignment, std::size_t size) noexcept {
  notice(__builtin_return_address(0));
  return __libc_memalign(alignment, size);
}

void* aligned_alloc(std::size_t alignment, std::size_t size) noexcept {
  notice(__builtin_return_address(0));
  return __libc_memalign(alignment, size);
}

int posix_memalign(void** result, std::size_t alignment, std::size_t size) noexcept {
  notice(__builtin_return_address(0));
  *result = __libc_memalign(alignment, size);
  return *result == nullptr ? ENOMEM : 0;
}

void free(void* memory) noexcept {
  if (memory != nullptr) notice(__builtin_return_address(0));
  __libc_free(memory);
}

int pthread_mutex_lock(pthread_mutex_t* mutex) noexcept {
  notice(__builtin_return_address(0));
  auto lock = systemLock.load(std::memory_order_acquire);
  if (lock == nullptr) {
    lock = reinterpret_cast<Lock>(dlsym(RTLD_NEXT, "pthread_mutex_lock"));
    systemLock.store(lock, std::memory_order_release);
  }
  return lock(mutex);
}

}  // extern "C"

#endif
