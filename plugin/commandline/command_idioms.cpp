// `idioms` and `check`: what is installed, and is a pattern file good?
#include <cmath>
#include <cstdio>
#include <nlohmann/json.hpp>

#include "dsp/idiom_effort.h"
#include "dsp/idiom_file.h"
#include "plugin/commandline/commands.h"

namespace seguente {

namespace {

std::string meterText(Meter m) { return std::to_string(m.numerator) + "/" + std::to_string(m.denominator); }

/// "2 of 5: span 7, leap 5, 2.4 strokes a second" (dsp/idiom_effort.h)
std::string handText(const HandEffort& hand) {
  char text[96];
  std::snprintf(text, sizeof text, "%d of 5: span %d, leap %d, %.1f strokes a second", hand.grade, hand.span, hand.leap,
                hand.strokesASecond);
  return text;
}

void say(const std::string& text) { std::fwrite(text.data(), 1, text.size(), stdout); }

}  // namespace

int commandIdioms(bool json, const IdiomFolders& folders) {
  IdiomLibrary library(folders.folders);
  auto rows = nlohmann::ordered_json::array();
  std::string lines = "id\ttitle\tmeter\tfile\thand\n";
  int code = exitDone;
  for (const auto& entry : library.entries()) {
    std::vector<Fault> faults;
    const Idiom* idiom = library.find(entry.path.string(), faults);
    if (idiom == nullptr) {
      for (const Fault& f : faults) std::fprintf(stderr, "%s\n", f.text().c_str());
      code = exitBadInput;
      continue;
    }
    lines += entry.id + "\t" + idiom->title + "\t" + (idiom->anyMeter ? "any" : meterText(idiom->meter)) + "\t" +
             entry.path.string() + "\t" + handText(effortOf(*idiom)) + "\n";
    const HandEffort hand = effortOf(*idiom);
    rows.push_back({{"id", entry.id},
                    {"title", idiom->title},
                    {"meter", idiom->anyMeter ? "any" : meterText(idiom->meter)},
                    {"about", idiom->about},
                    {"also", idiom->also},
                    {"hand",
                     {{"grade", hand.grade},
                      {"span", hand.span},
                      {"leap", hand.leap},
                      {"strokes_a_second", std::round(hand.strokesASecond * 10) / 10}}},
                    {"file", entry.path.string()}});
  }
  if (library.entries().empty()) {
    std::string sought;
    for (const auto& folder : folders.folders) sought += (sought.empty() ? " in " : ", ") + folder.string();
    complain("no idioms found" + sought + "; name a folder by --idioms DIR");
    code = exitBadInput;
  }
  say(json ? rows.dump(2) + "\n" : lines);
  return code;
}

int commandCheck(const std::vector<std::string>& files, const IdiomFolders& folders) {
  IdiomLibrary library(folders.folders);
  int code = exitDone;
  for (const std::string& file : files) {
    if (const auto why = whyNoFile(file); !why.empty()) {
      code = complain(why);
      continue;
    }
    std::vector<Fault> faults;
    // The library takes a word without a slash for an id.
    const bool path = file.find('/') != std::string::npos || file.ends_with(".toml");
    const Idiom* idiom = library.find(path ? file : "./" + file, faults);
    for (const Fault& f : faults) std::fprintf(stderr, "%s%s\n", idiom != nullptr ? "advice: " : "", f.text().c_str());
    if (idiom == nullptr)
      code = exitBadInput;
    else
      say(file + ": good: " + idiom->title + "\n");
  }
  return code;
}

}  // namespace seguente
