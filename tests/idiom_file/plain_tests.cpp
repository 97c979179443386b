// The quick way of reading a pattern file against the TOML library: whatever the quick way takes, both read alike.
#include <filesystem>
#include <fstream>
#include <sstream>

#include "dsp/idiom_source.h"
#include "tests/catch.h"
#include "tests/support/random.h"

using namespace seguente;
namespace fs = std::filesystem;

namespace {

std::string readAll(const fs::path& path) {
  std::stringstream text;
  text << std::ifstream(path).rdbuf();
  return text.str();
}

bool same(const SourceValue& a, const SourceValue& b) {
  if (a.kind != b.kind || a.text != b.text || a.integer != b.integer || a.truth != b.truth || a.decimal != b.decimal ||
      a.list.size() != b.list.size() || a.table.size() != b.table.size())
    return false;
  for (std::size_t i = 0; i < a.list.size(); ++i)
    if (!same(a.list[i], b.list[i])) return false;
  for (const auto& member : a.table) {
    const auto* other = b.member(member.key);
    if (other == nullptr || !same(member.value, other->value)) return false;
  }
  return true;
}

}  // namespace

TEST_CASE("Every shipped file is read the quick way, and means what the TOML library reads in it", "[idiom_file]") {
  int files = 0;
  for (const auto& file : fs::directory_iterator(SEGUENTE_PATTERNS)) {
    if (file.path().extension() != ".toml") continue;
    INFO(file.path().stem().string());
    const auto text = readAll(file.path());
    const auto quick = readPlain(text);
    std::vector<Fault> faults;
    const auto full = parseSource(text, "file", faults);
    REQUIRE((quick && full));
    CHECK(same(*quick, *full));
    ++files;
  }
  CHECK(files > 36);
}

TEST_CASE("What the quick way takes of a damaged file is what the TOML library takes, and nothing else",
          "[idiom_file]") {
  const auto whole = readAll(fs::path(SEGUENTE_PATTERNS) / "jazz-waltz.toml");
  const std::string letters = "[]{}=,.#\"'- \n\t019abE_+:";
  test::Random random(7);
  int taken = 0, given = 0;
  for (int i = 0; i < 3000; ++i) {
    std::string text = whole.substr(0, 2400);
    text.erase(text.rfind("\n]\n") + 3);
    for (auto changes = random.between(1, 3); changes > 0; --changes) {
      const auto at = static_cast<std::size_t>(random.between(0, static_cast<std::int64_t>(text.size()) - 1));
      switch (random.between(0, 2)) {
        case 0:
          text[at] = random.oneOf(letters);
          break;
        case 1:
          text.erase(at, 1);
          break;
        default:
          text.insert(at, 1, random.oneOf(letters));
      }
    }
    const auto quick = readPlain(text);
    if (!quick) {
      ++given;
      continue;
    }
    ++taken;
    std::vector<Fault> faults;
    const auto full = parseSource(text, "file", faults);
    const bool alike = full && same(*quick, *full);
    if (!alike) {
      INFO(text);
      CHECK(alike);
    }
  }
  CHECK(taken > 300);
  CHECK(given > 300);
}
