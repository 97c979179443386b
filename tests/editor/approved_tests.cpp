// Pictures that somebody has looked at and found good (tests/editor/approved), a quarter of the size each way. With
// SEGUENTE_APPROVE set they are written anew, to be looked at again.
#include <cstdlib>

#include "tests/catch.h"
#include "tests/editor/desk.h"

using namespace seguente;
using namespace seguente::test;

namespace {

constexpr int cell = 4;
constexpr int far = 40;  // of 255: a letter that is drawn a little otherwise stays below
// Of all cells. JUCE 8 sets letters by another library.
constexpr double tolerance = JUCE_MAJOR_VERSION >= 8 ? 0.02 : 0.0012;

juce::Image seen(Desk& desk) {
  const auto whole = desk.window().createComponentSnapshot(desk.window().getLocalBounds(), true, 1);
  juce::Image small(juce::Image::RGB, whole.getWidth() / cell, whole.getHeight() / cell, true);
  for (int y = 0; y < small.getHeight(); ++y)
    for (int x = 0; x < small.getWidth(); ++x) {
      int sum[3] = {0, 0, 0};
      for (int i = 0; i < cell * cell; ++i) {
        const auto c = whole.getPixelAt(x * cell + i % cell, y * cell + i / cell);
        sum[0] += c.getRed();
        sum[1] += c.getGreen();
        sum[2] += c.getBlue();
      }
      const auto mean = [](int total) { return static_cast<juce::uint8>(total / (cell * cell)); };
      small.setPixelAt(x, y, juce::Colour(mean(sum[0]), mean(sum[1]), mean(sum[2])));
    }
  return small;
}

/// The share of cells that differ by more than a little; 1 when the sizes do.
double difference(const juce::Image& a, const juce::Image& b) {
  if (a.getBounds() != b.getBounds()) return 1;
  int count = 0;
  for (int y = 0; y < a.getHeight(); ++y)
    for (int x = 0; x < a.getWidth(); ++x) {
      const auto p = a.getPixelAt(x, y), q = b.getPixelAt(x, y);
      const auto away = [](int u, int v) { return std::abs(u - v) > far; };
      count += away(p.getRed(), q.getRed()) || away(p.getGreen(), q.getGreen()) || away(p.getBlue(), q.getBlue());
    }
  return static_cast<double>(count) / (a.getWidth() * a.getHeight());
}

juce::File fileOf(const char* name) {
  return juce::File(juce::String(SEGUENTE_TESTS))
      .getChildFile("editor/approved")
      .getChildFile(juce::String(name) + ".png");
}

void check(Desk& desk, const char* name) {
  INFO(name);
  const auto now = seen(desk);
  const auto file = fileOf(name);
  if (std::getenv("SEGUENTE_APPROVE") != nullptr) {
    file.deleteFile();
    file.getParentDirectory().createDirectory();
    juce::FileOutputStream out(file);
    CHECK(juce::PNGImageFormat().writeImageToStream(now, out));
    return;
  }
  const auto approved = juce::ImageFileFormat::loadFrom(file);
  REQUIRE(approved.isValid());
  CHECK(difference(now, approved) <= tolerance);
}

void playing(Desk& desk) {
  desk.count(3, 4);
  desk.processor().values().set(ParameterId::idiom, 1);
  desk.processor().values().set(ParameterId::density, 0);
  desk.play(1);
  playWaltz(desk, 6);
}

}  // namespace

TEST_CASE("The screen looks as it was approved: desk, stand, small, light, dark, at 75, 100 and 200 per cent") {
  Desk desk;
  playing(desk);
  check(desk, "desk-light");
  desk.window().setPercent(75);
  check(desk, "desk-75");
  desk.window().setPercent(100);
  desk.window().setDark(true);
  check(desk, "desk-dark");
  desk.page().open(screen::Opened::stand);
  desk.play(1);
  check(desk, "stand-dark");
  desk.window().setDark(false);
  desk.page().open(screen::Opened::desk);
  desk.window().setPercent(200);
  desk.sizeTo(640, 400);
  desk.play(1);
  check(desk, "small-200");
}

TEST_CASE("A control that is moved by its own height is more than the tolerance of approved pictures") {
  Desk desk;
  playing(desk);
  const auto before = seen(desk);
  CHECK(difference(before, seen(desk)) == 0);
  for (auto* element : shownElements(desk)) {
    auto* target = dynamic_cast<screen::SignalTarget*>(element);
    if (target == nullptr || target->signal() == Signal::silenceAll) continue;
    const auto place = target->getBounds();
    target->setBounds(place.translated(0, -place.getHeight()));
    INFO(target->getTitle());
    CHECK(difference(before, seen(desk)) > 0.0012);
    target->setBounds(place);
  }
}
