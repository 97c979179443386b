#include "tests/train/hand_school.h"

#include <array>
#include <cstdio>
#include <memory>

#include "tests/performances/listener.h"

namespace seguente::test {

namespace {

/// Answers with the truth, now and then wrongly, or with a net; writes every question down.
struct Teacher {
  const TwoHands* played = nullptr;
  const HandNets* nets = nullptr;  // null: the truth
  Random random{1};
  Lessons first, again;

  static int odds(void* context, const HandFeatures& features, const HeardNote& note, bool again) {
    auto& t = *static_cast<Teacher*>(context);
    const bool right = t.played->notes[note.id].hand == Hand::melody;
    auto& lessons = again ? t.again : t.first;
    lessons.features.push_back(features);
    lessons.right.push_back(right ? 1 : 0);
    if (t.nets != nullptr) return rightOdds(again ? t.nets->again : t.nets->first, features);
    const bool believed = t.random.oneIn(30) ? !right : right;
    return static_cast<int>(t.random.between(20, 400)) * (believed ? 1 : -1);
  }
};

/// The school's own, so that the engine's may be tuned without another table. A learner looks again at more.
HandBounds schoolBounds() {
  HandBounds bounds;
  bounds.pass = 400;
  bounds.take = 0;
  bounds.withdraw = -26;
  bounds.withdrawEarly = -90;
  bounds.leaveChord = 100;
  bounds.giveBack = 400;
  bounds.certain = bounds.certainChord = 400;
  return bounds;
}

Group groupOf(std::uint64_t number) {
  // Two in five are free two-hand playing: the most varied, and the hardest. Of the rest the hard ones come oftener.
  constexpr Group others[] = {Group::plain,   Group::close,      Group::dipping, Group::moving, Group::close,
                              Group::wide,    Group::inversions, Group::dipping, Group::pedal,  Group::close,
                              Group::learner, Group::slips,      Group::rubato,  Group::swapped};
  return number % 5 < 2 ? Group::free : others[(number / 5 * 3 + number % 5) % 14];
}

}  // namespace

HandNets goToSchool(const SchoolPlan& plan, const std::function<void(const std::string&)>& say) {
  HandNets nets;
  auto first = std::make_unique<NetTrainer>(plan.seed * 2 + 1);
  auto again = std::make_unique<NetTrainer>(plan.seed * 2 + 2);
  std::uint64_t number = 0;
  for (std::size_t round = 0; round < plan.performances.size(); ++round) {
    Teacher teacher;
    teacher.random = Random(plan.seed + 100 + round);
    const HandBounds bounds = schoolBounds();
    for (int i = 0; i < plan.performances[round]; ++i, ++number) {
      const auto played = performanceOf(groupOf(number), Half::learn, plan.seed * 1000003 + number);
      teacher.played = &played;
      teacher.nets = round == 0 || teacher.random.oneIn(6) ? nullptr : &nets;
      const auto draw = teacher.random.between(0, 9);
      listen(played, {&teacher, Teacher::odds}, bounds,
             draw < 6   ? ClockKind::right
             : draw < 8 ? ClockKind::wrong
                        : ClockKind::none,
             teacher.random.oneIn(5));
    }
    TrainingPlan t;
    t.epochs = plan.epochs[round];
    t.seed = plan.seed + round;
    t.firstRate = round == 0 ? 0.003F : 0.002F;
    const double a = first->teach(teacher.first, t), b = again->teach(teacher.again, t);
    nets = {first->rounded(), again->rounded()};
    say("round " + std::to_string(round) + ": " + std::to_string(teacher.first.count()) + " notes, " +
        std::to_string(teacher.again.count()) + " looked at again, cross-entropy " + std::to_string(a) + ", " +
        std::to_string(b));
  }
  return nets;
}

std::uint64_t recipeOf(const SchoolPlan& plan) {
  std::uint64_t hash = 0xCBF29CE484222325u;  // FNV-1a, 64 bits
  const auto stir = [&](std::int64_t value) {
    for (int i = 0; i < 8; ++i) hash = (hash ^ (static_cast<std::uint64_t>(value) >> (8 * i) & 0xFF)) * 0x100000001B3u;
  };
  for (const int n : plan.performances) stir(n);
  for (const int n : plan.epochs) stir(n);
  stir(static_cast<std::int64_t>(plan.seed));
  Teacher teacher;
  for (std::uint64_t number = 0; number < 60; ++number) {
    const auto played = performanceOf(groupOf(number), Half::learn, plan.seed * 1000003 + number);
    teacher.played = &played;
    listen(played, {&teacher, Teacher::odds}, schoolBounds(), ClockKind::right, number % 5 == 0);
  }
  for (const auto* lessons : {&teacher.first, &teacher.again})
    for (const auto& features : lessons->features)
      for (const auto f : features) stir(f);
  return hash;
}

std::string tableOf(const HandNets& nets, std::uint64_t recipe) {
  std::string out;
  const auto row = [&](const auto& numbers) {
    std::string line;
    for (const auto v : numbers) {
      const auto text = std::to_string(v) + ",";
      if (line.size() + text.size() > 118) {
        out += line + "\n";
        line.clear();
      }
      line += text;
    }
    out += line + "\n";
  };
  const auto net = [&](const HandNet& n, const char* name) {
    out += std::string("// ") + name + ": weights of the first layer, a unit at a time\n";
    for (const auto& unit : n.weights1) row(unit);
    out += "// its biases\n";
    row(n.biases1);
    out += "// weights of the second layer, a unit at a time\n";
    for (const auto& unit : n.weights2) row(unit);
    out += "// its biases; then the last unit's weights and bias\n";
    row(n.biases2);
    row(n.weights3);
    out += std::to_string(n.bias3) + ",\n";
  };
  out += "// Which hand played a note: made by ./run train hands, not by hand. Weights in 64ths, biases in 4096ths.\n";
  std::array<char, 32> number{};
  std::snprintf(number.data(), number.size(), "%016llx", static_cast<unsigned long long>(recipe));
  out += std::string("// recipe ") + number.data() + "\n";
  net(nets.first, "at the note-on");
  net(nets.again, "looking again");
  return out;
}

}  // namespace seguente::test
