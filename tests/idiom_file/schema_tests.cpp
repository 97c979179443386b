// The format is described twice, for people's editors and in the checker: here the two are held against each other.
#include <fstream>
#include <nlohmann/json.hpp>
#include <set>

#include "dsp/idiom_file.h"
#include "dsp/idiom_keys.h"
#include "dsp/limits.h"
#include "tests/catch.h"

using namespace seguente;
using nlohmann::json;

namespace {

json schema() {
  std::ifstream stream(SEGUENTE_PATTERNS "/pattern.schema.json");
  return json::parse(stream);
}

std::set<std::string> keysOf(const json& object) {
  CHECK(object["additionalProperties"] == false);  // no unknown keys
  std::set<std::string> keys;
  for (const auto& [key, value] : object["properties"].items()) keys.insert(key);
  return keys;
}

template <class Keys>
std::set<std::string> setOf(const Keys& keys) {
  return {keys.begin(), keys.end()};
}

}  // namespace

TEST_CASE("The schema names the very keys that the checker knows", "[idiom_file]") {
  const auto all = schema();
  const auto& definitions = all["definitions"];
  CHECK(keysOf(all) == setOf(idiomKeys::top));
  CHECK(keysOf(definitions["part"]) == setOf(idiomKeys::part));
  CHECK(keysOf(definitions["density"]) == setOf(idiomKeys::density));
  CHECK(keysOf(definitions["figure"]["anyOf"][1]) == setOf(idiomKeys::figure));
  CHECK(keysOf(definitions["short"]) == setOf(idiomKeys::shortForm));
  CHECK(keysOf(definitions["step"]) == setOf(idiomKeys::step));
  std::set<std::string> kinds;
  for (const auto& kind : definitions["part"]["properties"]["kind"]["enum"]) kinds.insert(kind);
  CHECK(kinds == setOf(idiomKeys::partKinds));
}

TEST_CASE("The schema's caps are those of limits.h", "[idiom_file]") {
  const auto all = schema();
  const auto& definitions = all["definitions"];
  CHECK(all["properties"]["parts"]["maxProperties"] == limits::parts);
  CHECK(all["properties"]["relatives"]["maxProperties"] == limits::relatives);
  CHECK(definitions["name"]["maxLength"] == limits::textLength);
  CHECK(definitions["steps"]["maxItems"] == limits::stepsPerFigure);
  CHECK(definitions["density"]["properties"]["short"]["maxItems"] == limits::shortForms);
  CHECK(definitions["figure"]["anyOf"][1]["properties"]["bars"]["maximum"] == limits::barsPerFigure);
}

TEST_CASE("The guide's worked example is a good pattern file", "[idiom_file]") {
  std::ifstream stream(SEGUENTE_PATTERNS "/README.md");
  const std::string page((std::istreambuf_iterator<char>(stream)), {});
  const std::string opening = "```toml\n# march.toml";
  const auto begin = page.find(opening);
  REQUIRE(begin != std::string::npos);
  const auto from = begin + std::string("```toml\n").size();
  const auto result = compileIdiom(page.substr(from, page.find("```", from) - from), "march.toml");
  for (const auto& fault : result.faults) CHECK(fault.text().empty());
  CHECK(result.idiom != nullptr);
}
