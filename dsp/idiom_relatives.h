// Idioms in numbered places whose relatives are found by id among them; places may be filled anew one by one while
// the idioms of all others stay the very same objects.
//
// Idioms that name each other in a circle live and die together, in one block of memory; whoever names a block keeps it
// alive. A block that is alive therefore never holds an idiom that has been replaced: what changes takes everybody who
// names it, however far, into new blocks.
#pragma once

#include <array>
#include <cstddef>
#include <memory>
#include <vector>

#include "dsp/idiom.h"
#include "dsp/idiom_file.h"

namespace seguente {

/// A relative's bar must be one or more whole bars of the meter (4/4 is two bars of 2/4), or it would drift against it.
bool fitsMeter(const Idiom& idiom, Meter meter);

/// [message] throughout.
class RelatedIdioms {
 public:
  static constexpr std::size_t places = 128;

  /// All places as they stand in another, resolved: the very same objects, shared. Nothing may have been put yet.
  void beginWith(const RelatedIdioms& resolved) { made_ = resolved.made_; }
  /// What is to stand in a place from the next resolve() on: as compiled, relatives named only; null empties it.
  void put(std::size_t place, std::unique_ptr<Idiom> idiom);
  /// Finds every relative: the place itself if it bears the id, else the lowest that does. advice: a relative that is
  /// not there or does not fit, told once. True when any place has another idiom than before.
  bool resolve(std::vector<Fault>& advice);
  /// Keeps its relatives alive with it. Null when empty.
  std::shared_ptr<const Idiom> at(std::size_t place) const { return made_[place]; }

 private:
  struct Links;
  const Idiom* pending(std::size_t place) const;
  int placeOf(const std::string& id, std::size_t asking) const;
  void spread(Links& links) const;
  void rebuild(const Links& links);

  std::array<std::shared_ptr<const Idiom>, places> made_;
  std::array<std::unique_ptr<Idiom>, places> fresh_;
  std::array<bool, places> touched_{};
};

}  // namespace seguente
