// How much of each shipped figure comes back when its own playing is read: ./run bench notate [takes by hand]
#include <cstdio>
#include <cstdlib>
#include <cstring>

#include "dsp/harmony.h"
#include "tests/notate/takes.h"

using namespace seguente;
using namespace seguente::test;

int main(int count, char** words) {
  const int hands = count > 1 ? std::atoi(words[1]) : 4;
  const char* only = count > 2 ? words[2] : nullptr;
  const Touch touch;
  Agreement exact, exactOther, human, freely, rightTempi;
  constexpr const char* names[] = {"lean", "medium", "full"};
  std::printf("%-20s %-7s %7s %7s %7s %8s  read as\n", "idiom", "density", "exact", "over Am", "by hand", "no click");
  for (const auto& id : idiomIds()) {
    const Idiom& ours = idiom(id);
    if (ours.anyMeter || (only != nullptr && id != only)) continue;  // held chords are no figure
    for (int d = 0; d < 3; ++d) {
      const auto density = static_cast<Density>(d);
      if (!ours.at(density).written) continue;
      const auto take = takeOf(playedBy(ours, density, "C3 E3 G3", 6), ours, 6);
      notate::Wishes wishes;
      wishes.chord = parseSymbol("C");
      const auto read = readBack(take, ours, density, wishes);
      Agreement byHands;
      Random random(900 + static_cast<std::uint64_t>(d));
      for (int n = 0; n < hands; ++n) {
        const auto again = readBack(byHand(take, d == 0, touch, random), ours, density, wishes);
        byHands.same += again.same.same;
        byHands.all += again.fault.empty() ? again.same.all : read.same.all;
        if (only && n == 0 && again.same.same < again.same.all) std::printf("%s\n", again.text.c_str());
      }
      Agreement free;
      int tempi = 0;
      for (int n = 0; n < hands; ++n) {
        notate::Wishes said = wishes;
        said.meter = ours.meter;
        const auto loose = withoutClick(byHand(take, d == 0, touch, random), random);
        const double found = notate::notate(loose, said).quartersPerMinute * take.quarterSeconds / 60;
        tempi += found > 0.96 && found < 1.04;
        said.quartersPerMinute = 60 / take.quarterSeconds * (0.85 + 0.3 * unit(random));
        const auto again = readBack(loose, ours, density, said);
        free.same += again.same.same;
        free.all += again.fault.empty() ? again.same.all : read.same.all;
        if (only && n == 0) std::printf("no click: %s at %.1f\n", again.fault.c_str(), again.figure.quartersPerMinute);
      }
      rightTempi.same += tempi, rightTempi.all += hands;
      std::printf("%-20s %-7s %7.1f %7.1f %7.1f %8.1f  %d/%d %d bar%s%s, %d parts, swing %.2f %s\n", id.c_str(),
                  names[d], read.same.percent(), read.other.percent(), byHands.percent(), free.percent(),
                  read.figure.meter.numerator, read.figure.meter.denominator, read.figure.bars,
                  read.figure.bars > 1 ? "s" : "", read.figure.answer.empty() ? "" : " and answer",
                  static_cast<int>(read.figure.parts.size()), read.figure.grid.swing, read.fault.c_str());
      if (only) std::printf("%s\n", read.text.c_str());
      const auto add = [](Agreement& to, const Agreement& what) { to.same += what.same, to.all += what.all; };
      add(exact, read.same);
      add(exactOther, read.other);
      add(human, byHands);
      add(freely, free);
    }
  }
  std::printf("%-28s %7.1f %7.1f %7.1f %8.1f  (tempo found with none said: %.1f %%)\n", "all steps", exact.percent(),
              exactOther.percent(), human.percent(), freely.percent(), rightTempi.percent());
  return 0;
}
