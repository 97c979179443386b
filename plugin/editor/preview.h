// What the chosen idiom makes of the held chord, for all of the screen that asks: rehearsed anew when chord, idiom,
// settings, meter or key have changed, and only then.
#pragma once

#include <array>
#include <memory>

#include "plugin/editor/fingering.h"
#include "plugin/page/writer.h"
#include "plugin/rehearsal.h"

namespace seguente {
class Processor;
}

namespace seguente::screen {

/// [message] throughout.
class Preview {
 public:
  /// True when it is another one.
  bool refresh(Processor& processor);
  const Rehearsal& rehearsal() const { return rehearsal_; }
  /// The figure bar by bar: the statement, and the answer where there is one. Empty when nothing is held.
  const std::vector<page::Bar>& bars() const { return bars_; }
  /// The fingers of a lean figure at the step that sounded last and at the one after it: by key, 0 none.
  std::array<int, 128> fingersAfter(const NoteReason& last) const;
  /// The chord that it is made from, and the keys that were held.
  const Chord& chord() const { return chord_; }
  const KeySet& held() const { return held_; }
  /// Who plays: the chosen idiom, or its relative in this meter; null when nobody does.
  const Idiom* plays() const { return plays_; }
  const Idiom* chosen() const { return idiom_.get(); }
  Meter meter() const { return meter_; }

 private:
  void write();
  void findFingers(int span);

  std::shared_ptr<const Idiom> idiom_;
  const Idiom* plays_ = nullptr;
  Rehearsal rehearsal_;
  std::vector<page::Bar> bars_;
  std::vector<Grip> grips_;
  Chord chord_{};
  KeySet held_;
  Meter meter_{};
  Key key_{};
  int slot_ = -1;
  std::uint32_t values_ = 0, shelf_ = 0;
  std::vector<KeySet> chords_;
};

}  // namespace seguente::screen
