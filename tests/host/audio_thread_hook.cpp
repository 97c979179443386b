#include "tests/host/audio_thread_hook.h"

#include <atomic>
#include <cstdlib>
#include <optional>

#include "tests/guard/audio_thread.h"

namespace {

std::atomic<bool> watching{false}, culprit{false};
std::atomic<int> begun{0}, synthesised{0};
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
// The one exemption from the guard: behind the guarded part of a block, or it would hide what is in there.
extern "C" void seguente_synthesiser_runs() {
  if (watching && !armed) ++synthesised;
}

namespace seguente::host {

WatchProcessBlock::WatchProcessBlock(bool deliberate) {
  guard::violations();
  begun = synthesised = 0;
  culprit = deliberate;
  watching = true;
}
WatchProcessBlock::~WatchProcessBlock() { watching = culprit = false; }
int WatchProcessBlock::blocks() const { return begun; }
int WatchProcessBlock::exempted() const { return synthesised; }

}  // namespace seguente::host
