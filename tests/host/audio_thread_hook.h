// The built bundles tell this program where their audio thread's work begins and ends (plugin/processor.cpp), so that
// the guard is armed inside our processBlock alone: JUCE's wrappers lock and allocate around it.
#pragma once

namespace seguente::host {

/// What the hook is to do while one of these lives. [message]
class WatchProcessBlock {
 public:
  /// deliberate: ask for memory inside each block, to see whether the guard would notice.
  explicit WatchProcessBlock(bool deliberate = false);
  ~WatchProcessBlock();
  WatchProcessBlock(const WatchProcessBlock&) = delete;
  WatchProcessBlock& operator=(const WatchProcessBlock&) = delete;
  /// Blocks of ours that began since then.
  int blocks() const;
  /// Of those, in how many the synthesiser was let run behind the guarded part.
  int exempted() const;
};

}  // namespace seguente::host
