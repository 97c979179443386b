// A guard that nobody has seen fire is no guard: each culprit here is deliberate.
#include <cstdlib>
#include <memory>
#include <mutex>
#include <new>
#include <vector>

#include "tests/catch.h"
#include "tests/guard/audio_thread.h"

using seguente::guard::AudioThread;
using seguente::guard::violations;

namespace {

/// Runs the work as if on the audio thread and says how many forbidden calls it made.
template <class Work>
int violationsOf(Work&& work) {
  violations();
  {
    const AudioThread thread;
    work();
  }
  return violations();
}

// The compiler may leave out a new and delete whose memory nobody sees.
void* volatile witness = nullptr;

}  // namespace

TEST_CASE("The guard is quiet while nothing forbidden happens", "[guard]") {
  int sum = 0;
  CHECK(violationsOf([&] { sum += 1; }) == 0);
  CHECK(sum == 1);
}

TEST_CASE("The guard sees an int made and thrown away", "[guard]") {
  CHECK(violationsOf([] {
          auto* number = new int(7);
          witness = number;
          delete number;
        }) == 2);
}

TEST_CASE("The guard sees memory of a wide alignment", "[guard]") {
  struct alignas(256) Wide {
    char bytes[256];
  };
  CHECK(violationsOf([] {
          auto* wide = new Wide;
          witness = wide;
          delete wide;
        }) == 2);
}

TEST_CASE("The guard sees a list that grows", "[guard]") {
  std::vector<int> list;
  list.reserve(4);
  CHECK(violationsOf([&] { list.push_back(1); }) == 0);
  list.shrink_to_fit();
  CHECK(violationsOf([&] { list.push_back(2); }) == 2);  // the new memory taken, the old given back
}

TEST_CASE("The guard sees each of the C library's ways to memory", "[guard]") {
  CHECK(violationsOf([] { witness = std::malloc(8); }) == 1);
  CHECK(violationsOf([] { witness = std::realloc(witness, 4096); }) == 1);
  CHECK(violationsOf([] { std::free(witness); }) == 1);
  CHECK(violationsOf([] { witness = std::calloc(2, 8); }) == 1);
  std::free(witness);
  CHECK(violationsOf([] { witness = std::aligned_alloc(64, 64); }) == 1);
  std::free(witness);
}

TEST_CASE("The guard sees a lock that is free to take", "[guard]") {
  std::mutex mutex;
  CHECK(violationsOf([&] { const std::lock_guard<std::mutex> lock(mutex); }) == 1);
}

TEST_CASE("What another place does before and after is not counted", "[guard]") {
  violations();
  const auto before = std::make_unique<int>(1);
  {
    const AudioThread outer;
    { const AudioThread inner; }
  }
  const auto after = std::make_unique<int>(*before);
  CHECK(violations() == 0);
  CHECK(*after == 1);
}
