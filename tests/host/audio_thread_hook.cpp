#include "tests/host/audio_thread_hook.h"

#include <atomic>
#include <cstdlib>
#include <optional>

#include "tests/guard/audio_thread.h"

namespace {

std::atomic<bool> watching{false}, culprit{false};
std::atomic<int> begun{0};
thread_local std::optional<seguente::guard::AudioThread> armed;
void* volatile witness = nullptr;

}  // namespace

extern "C" void seguente_audio_begin() {
  if (!watching) return;
  ++begun;
  armed.emplace();
  if (!culprit) return;
  witness = std::malloc(16);
  std::free(witness);
}
extern "C" void seguente_audio_end() { armed.reset(); }

namespace seguente::host {

WatchProcessBlock::WatchProcessBlock(bool deliberate) {
  guard::violations();
  begun = 0;
  culprit = deliberate;
  watching = true;
}
WatchProcessBlock::~WatchProcessBlock() { watching = culprit = false; }
int WatchProcessBlock::blocks() const { return begun; }

}  // namespace seguente::host
