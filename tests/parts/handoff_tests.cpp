// An idiom is lent, played, let go of, and only then freed, on the thread that made it.
#include <atomic>
#include <memory>
#include <thread>

#include "dsp/handoff.h"
#include "dsp/idiom.h"
#include "tests/catch.h"

using namespace seguente;

namespace {
std::shared_ptr<Idiom> idiomNamed(const char* id) {
  auto idiom = std::make_shared<Idiom>();
  idiom->id = id;
  return idiom;
}
}  // namespace

TEST_CASE("an idiom in use is kept, one that was let go of is freed", "[handoff]") {
  Handoff<Idiom> handoff;
  auto waltz = idiomNamed("waltz");
  std::weak_ptr<Idiom> watch = waltz;
  const auto first = handoff.publish(waltz.get(), waltz);
  waltz.reset();
  Lent<Idiom> taken;
  REQUIRE(handoff.take(taken));
  CHECK(taken.generation == first);
  CHECK_FALSE(handoff.take(taken));
  auto bossa = idiomNamed("bossa");
  handoff.publish(bossa.get(), bossa);
  REQUIRE(handoff.take(taken));
  handoff.collect();
  CHECK_FALSE(watch.expired());  // the player has not said that it let go
  handoff.acknowledge(first);
  handoff.collect();
  CHECK(watch.expired());
  CHECK(handoff.kept() == 1);
}

TEST_CASE("what was published and passed over is freed with what came before the next", "[handoff]") {
  Handoff<Idiom> handoff;
  Lent<Idiom> taken;
  for (int i = 0; i < 20; ++i) {
    auto idiom = idiomNamed("x");
    handoff.publish(idiom.get(), idiom);
  }
  REQUIRE(handoff.take(taken));
  CHECK(taken.generation == 20);
  handoff.acknowledge(19);
  handoff.collect();
  CHECK(handoff.kept() == 1);
}

TEST_CASE("publishing and taking at once never gives a pointer of another generation", "[handoff]") {
  // Each idiom carries its own number; a torn hand-off would show two that disagree.
  Handoff<Idiom> handoff;
  std::atomic<bool> done{false};
  std::uint32_t wrong = 0;
  std::thread audio([&] {
    Lent<Idiom> current;
    Lent<Idiom> next;
    while (!done.load(std::memory_order_acquire)) {
      if (!handoff.take(next)) continue;
      if (next.value->swingPermille != static_cast<std::int32_t>(next.generation)) ++wrong;
      if (current.generation != 0) handoff.acknowledge(current.generation);
      current = next;
    }
  });
  for (std::uint32_t n = 1; n <= 20000; ++n) {
    auto idiom = std::make_shared<Idiom>();
    idiom->swingPermille = static_cast<std::int32_t>(n);
    handoff.publish(idiom.get(), idiom);
    if (n % 16 == 0) handoff.collect();
  }
  done.store(true, std::memory_order_release);
  audio.join();
  CHECK(wrong == 0);
}
