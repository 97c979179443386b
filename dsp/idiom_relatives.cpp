#include "dsp/idiom_relatives.h"

#include <bitset>
#include <utility>

#include "dsp/idiom_steps.h"

namespace seguente {

using Places = std::bitset<RelatedIdioms::places>;

/// Who names whom, and which places need a new idiom.
struct RelatedIdioms::Links {
  std::array<std::vector<int>, places> target;  // of each relative: its place, or -1
  std::array<Places, places> names;             // the same as a set
  Places changed;

  /// Who is named by whom, however far.
  std::array<Places, places> reach() const {
    auto far = names;
    for (std::size_t via = 0; via < places; ++via)
      for (auto& from : far)
        if (from[via]) from |= far[via];
    return far;
  }
};

namespace {

/// Idioms that name each other in a circle, most often a circle of one.
struct Block {
  std::vector<std::unique_ptr<Idiom>> members;
  std::vector<std::shared_ptr<const void>> keeps;  // other blocks that its members name
};

}  // namespace

bool fitsMeter(const Idiom& idiom, Meter meter) {
  return idiom.anyMeter || idiom.meter.bar().value % meter.bar().value == 0;
}

void RelatedIdioms::put(std::size_t place, std::unique_ptr<Idiom> idiom) {
  fresh_[place] = std::move(idiom);
  touched_[place] = true;
}

const Idiom* RelatedIdioms::pending(std::size_t place) const {
  return touched_[place] ? fresh_[place].get() : made_[place].get();
}

int RelatedIdioms::placeOf(const std::string& id, std::size_t asking) const {
  if (pending(asking)->id == id) return static_cast<int>(asking);
  for (std::size_t place = 0; place < places; ++place)
    if (const auto* idiom = pending(place); idiom != nullptr && idiom->id == id) return static_cast<int>(place);
  return -1;
}

bool RelatedIdioms::resolve(std::vector<Fault>& advice) {
  Links links;
  for (std::size_t place = 0; place < places; ++place) {
    links.changed[place] = touched_[place];
    const auto* idiom = pending(place);
    if (idiom == nullptr) continue;
    for (const auto& relative : idiom->relatives) {
      const int found = placeOf(relative.id, place);
      const bool fits = found >= 0 && fitsMeter(*pending(static_cast<std::size_t>(found)), relative.meter);
      const int target = fits ? found : -1;
      const auto* now = target < 0 ? nullptr : made_[static_cast<std::size_t>(target)].get();
      links.target[place].push_back(target);
      if (target >= 0) links.names[place].set(static_cast<std::size_t>(target));
      if (target < 0 && (touched_[place] || relative.idiom != nullptr))
        advice.push_back({idiom->id, 1, 1, "relative " + textOf(relative.meter) + " = \"" + relative.id + "\"",
                          found < 0 ? "an installed idiom without faults"
                                    : "an idiom whose bar is a whole number of bars of " + textOf(relative.meter)});
      if (relative.idiom != now) links.changed.set(place);
    }
  }
  if (links.changed.none()) return false;
  spread(links);
  rebuild(links);
  return true;
}

/// Who names a place that changes, changes too.
void RelatedIdioms::spread(Links& links) const {
  for (bool more = true; more;) {
    more = false;
    for (std::size_t place = 0; place < places; ++place) {
      if (links.changed[place] || (links.names[place] & links.changed).none()) continue;
      links.changed.set(place);
      more = true;
    }
  }
}

void RelatedIdioms::rebuild(const Links& links) {
  const auto reach = links.reach();
  std::array<std::shared_ptr<Block>, places> blocks;
  std::array<Idiom*, places> idioms{};
  for (std::size_t place = 0; place < places; ++place) {
    if (!links.changed[place]) continue;
    auto idiom = touched_[place] ? std::move(fresh_[place]) : std::make_unique<Idiom>(*made_[place]);
    touched_[place] = false;
    made_[place] = nullptr;
    if (!idiom) continue;
    for (std::size_t other = 0; other < place && !blocks[place]; ++other)
      if (blocks[other] && reach[place][other] && reach[other][place]) blocks[place] = blocks[other];
    if (!blocks[place]) blocks[place] = std::make_shared<Block>();
    idioms[place] = blocks[place]->members.emplace_back(std::move(idiom)).get();
    made_[place] = std::shared_ptr<const Idiom>(blocks[place], idioms[place]);
  }
  for (std::size_t place = 0; place < places; ++place) {
    if (idioms[place] == nullptr) continue;
    for (std::size_t i = 0; i < links.target[place].size(); ++i) {
      const int target = links.target[place][i];
      idioms[place]->relatives[i].idiom = target < 0 ? nullptr : made_[static_cast<std::size_t>(target)].get();
      if (target >= 0 && blocks[static_cast<std::size_t>(target)] != blocks[place])
        blocks[place]->keeps.push_back(made_[static_cast<std::size_t>(target)]);
    }
  }
}

}  // namespace seguente
