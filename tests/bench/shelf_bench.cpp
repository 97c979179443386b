// The shelf in full: each idiom at each density over many made-up progressions, in every key, kind of chord and meter.
// seguente_shelf_bench [progressions]: 1,000 unless said; ends with 1 when a share that must be whole is not.
#include <array>
#include <cstdio>
#include <cstdlib>

#include "dsp/idiom_steps.h"
#include "tests/shelf/course.h"
#include "tests/shelf/room.h"

using namespace seguente;
using namespace seguente::test;

namespace {

constexpr std::array<const char*, 10> meters{"2/4", "3/4", "4/4", "2/2", "5/4", "3/8", "6/8", "7/8", "9/8", "12/8"};

void tell(const char* what, const Share& share) {
  std::printf("%-44s %8.3f %% of %d\n", what, share.percent(), share.all);
}

/// Each idiom at each density under every reference tune.
Room rooms() {
  Room all;
  const auto tunes = referenceTunes();
  for (const auto& id : idiomIds())
    for (std::size_t t = 0; t < tunes.size(); ++t)
      for (int density = 0; density < 3; ++density)
        all.add(accompany(id, static_cast<Density>(density), tunes[t], t + static_cast<std::size_t>(density)));
  std::printf("\nunder %zu tunes\n", tunes.size());
  tell("no stroke over the tune within an octave", all.over);
  tell("no stroke on the tune's key", all.doubled);
  tell("nothing sounds on where the tune comes down", all.under);
  tell("no held semitone that the chord has not", all.clash);
  tell("bass on the root at a chord's first attack", all.root);
  tell("third within the first bar", all.third);
  for (const auto& fault : all.first)
    if (!fault.empty()) std::printf("first: %s\n", fault.c_str());
  if (!all.contract.empty()) std::printf("contract: %s\n", all.contract.c_str());
  return all;
}

}  // namespace

int main(int count, char** words) {
  const int progressions = count > 1 ? std::atoi(words[1]) : 1000;
  Found all;
  int courses = 0;
  for (const auto& id : idiomIds()) {
    Found one;
    for (int n = 0; n < progressions; ++n)
      for (int density = 0; density < 3; ++density) {
        Course c;
        c.id = id;
        c.density = static_cast<Density>(density);
        c.key = n % 12;
        c.chords = static_cast<Chords>(n % chordKinds);
        // Every other progression in the idiom's own meter.
        const Meter own = idiom(id).anyMeter ? Meter{4, 4} : idiom(id).meter;
        c.meter = n % 2 == 0 ? own : *parseMeter(meters[static_cast<std::size_t>(n / 2) % meters.size()]);
        c.seed = 7000 + static_cast<std::uint64_t>(n);
        one.add(run(c));
        ++courses;
      }
    const std::array<const Share*, 7> whole{&one.third, &one.root,   &one.low,   &one.hand,
                                            &one.leap,  &one.ending, &one.strong};
    for (std::size_t i = 0; i < whole.size(); ++i)
      if (!whole[i]->whole()) tell(id.c_str(), *whole[i]);
    all.add(one);
  }
  std::printf("\n%d courses\n", courses);
  tell("third within the first bar", all.third);
  tell("bass on the root at a chord's first attack", all.root);
  tell("chord tones on strong beats", all.strong);
  std::printf("%-44s %d blue, %d sixths, %d leading, %d anticipated\n", "  beside them", all.blue, all.sixth,
              all.leading, all.anticipated);
  tell("low-interval limits", all.low);
  tell("lean: one hand's span", all.hand);
  tell("lean: leaps within a chord", all.leap);
  tell("lean: leaps from chord to chord", all.change);
  tell("the ending", all.ending);
  for (const auto& fault : all.first)
    if (!fault.empty()) std::printf("first: %s\n", fault.c_str());
  if (!all.contract.empty()) std::printf("contract: %s\n", all.contract.c_str());
  const Room room = rooms();
  const bool roomy = room.contract.empty() && room.over.whole() && room.doubled.whole() && room.under.whole() &&
                     room.clash.whole() && room.root.whole();
  // A suspended chord's tenth is an eleventh: of some hundred thousand strokes a few leap or lie a little further.
  const bool good = all.contract.empty() && all.strong.percent() >= 99 && all.third.whole() && all.root.whole() &&
                    all.low.percent() >= 99.99 && all.hand.whole() && all.leap.percent() >= 99.99 && all.ending.whole();
  return good && roomy ? 0 : 1;
}
