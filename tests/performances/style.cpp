#include "tests/performances/style.h"

namespace seguente::test {

const char* groupName(Group group) {
  constexpr const char* names[groupCount] = {
      "plain",      "dipping melody", "close hands",     "wide hands", "both hands moving",
      "inversions", "pedal",          "slips and drops", "learner",    "rubato",
      "free",       "swapped"};
  return names[static_cast<std::size_t>(group)];
}

LeftFigure anyFigure(Random& random) { return static_cast<LeftFigure>(random.between(0, 12)); }

RightTexture anyTexture(Random& random) {
  return random.oneIn(3) ? RightTexture::line : static_cast<RightTexture>(random.between(0, 8));
}

RightTexture fullTexture(Random& random) {
  const std::vector<RightTexture> full = {RightTexture::thirds, RightTexture::sixths,    RightTexture::chords,
                                          RightTexture::inner,  RightTexture::twoVoices, RightTexture::chorale};
  return random.oneOf(full);
}

namespace {

int between(Random& random, int low, int high) { return static_cast<int>(random.between(low, high)); }

void registers(Style& s, Group group, Random& random) {
  switch (group) {
    case Group::dipping:  // the tune goes under C4, the left hand may climb to it
      s.tuneLow = between(random, 52, 59);
      s.leftCentre = s.tuneLow - between(random, 5, 11);
      s.leftLowest = 36;
      break;
    case Group::close:
      s.tuneLow = between(random, 58, 67);
      s.leftCentre = s.tuneLow - between(random, 2, 6);
      s.hugging = true;
      break;
    case Group::wide:
      s.tuneLow = between(random, 65, 76);
      s.leftCentre = between(random, 40, 48);
      s.figure = random.oneIn(2) ? LeftFigure::open : LeftFigure::held;
      break;
    case Group::moving:
      s.tuneLow = between(random, 57, 68);
      s.leftCentre = s.tuneLow - between(random, 6, 14);
      s.drift = between(random, 4, 12);
      break;
    case Group::free:
      s.tuneLow = between(random, 48, 78);
      s.leftCentre = s.tuneLow - between(random, 1, 22);
      s.leftLowest = between(random, 28, 40);
      s.drift = between(random, 0, 12);
      if (random.oneIn(2)) {  // four or five voices close together, as in a hymn or a song without words
        s.hugging = true;
        s.leftCentre = s.tuneLow - between(random, 1, 9);
        s.drift = between(random, 0, 3);
      }
      break;
    default:
      s.tuneLow = between(random, 60, 66);
      s.leftCentre = between(random, 49, 55);
  }
  if (s.leftCentre - 8 < s.leftLowest) s.leftLowest = static_cast<int>(s.leftCentre) - 8;
}

void loudness(Style& s, Random& random) {
  s.rightVelocity = between(random, 50, 100);
  const auto draw = random.between(0, 9);
  const int under = draw < 6 ? between(random, 4, 24) : draw < 8 ? between(random, -4, 4) : -between(random, 4, 20);
  s.leftVelocity = s.rightVelocity - under;
  s.velocitySpread = between(random, 3, 12);
  s.tuneOverInner = between(random, 0, 16);
  s.flat = random.oneIn(4);
}

void wildly(Style& s, Group group, Random& random) {
  if (random.oneIn(7)) s.leftEnters = between(random, 1, 8);
  if (random.oneIn(10)) s.rightEnters = between(random, 1, 8);
  if (random.oneIn(16)) s.leftEnters = 1000;
  if (random.oneIn(25)) s.rightEnters = 1000;
  if (random.oneIn(3)) s.introBars = between(random, 1, 4);
  if (random.oneIn(3)) s.leftRests = unsigned(random.between(1, 3)) * 0.1;
  if (random.oneIn(4)) s.rightRests = unsigned(random.between(1, 3)) * 0.1;
  if (random.oneIn(4)) s.bassAlone = unsigned(random.between(1, 4)) * 0.15;
  if (random.oneIn(3)) s.texture = anyTexture(random);
  if (random.oneIn(3)) s.leftCentre += between(random, -7, 5);
  if (random.oneIn(4)) s.drift = between(random, 2, 12);
  if (random.oneIn(4)) s.interleaved = 0.06;
  if (random.oneIn(3)) s.detached = 0.4;
  if (random.oneIn(4)) s.rolled = 0.1;
  if (random.oneIn(4)) s.heldOver = 0.7;
  if (random.oneIn(12)) s.grid = true;
  s.leftFirst = random.oneIn(2);
  if (random.oneIn(3)) s.rubato = 0.01 * static_cast<double>(random.between(1, 20));
  if (random.oneIn(5)) s.slips = 0.03;
  if (random.oneIn(5)) s.pedal = true;
  if (group != Group::free && random.oneIn(8)) s.figure = anyFigure(random);
  if (random.oneIn(3)) s.changeEachPhrase = 0.5;
}

}  // namespace

Style styleOf(Group group, Random& random, bool wilder) {
  Style s;
  registers(s, group, random);
  loudness(s, random);
  s.nearest = group == Group::inversions || !random.oneIn(3);
  s.heldOver = random.oneIn(2) ? 0.25 : 0;
  switch (group) {
    case Group::pedal:
      s.pedal = true;
      break;
    case Group::slips:
      s.slips = 0.04;
      break;
    case Group::learner:
      s.learner = true;
      s.slips = 0.01;
      break;
    case Group::rubato:
      s.rubato = 0.08 + 0.01 * static_cast<double>(random.between(0, 12));
      break;
    case Group::free:
      s.figure = anyFigure(random);
      s.texture = s.hugging ? fullTexture(random) : anyTexture(random);
      s.changeEachPhrase = 0.4;
      s.introBars = random.oneIn(3) ? 1 : 0;
      s.leftRests = 0.06;
      s.rightRests = 0.04;
      s.pedal = random.oneIn(2);
      s.rubato = 0.06;
      s.rolled = 0.04;
      s.interleaved = 0.08;
      s.detached = 0.3;
      break;
    case Group::swapped:
      s.swapped = 0.6;
      break;
    default:
      break;
  }
  if (wilder) wildly(s, group, random);
  return s;
}

}  // namespace seguente::test
