// `idioms` and `check`: what is installed, and is a pattern file good?
#include <cstdio>
#include <nlohmann/json.hpp>

#include "dsp/idiom_file.h"
#include "plugin/commandline/commands.h"

namespace seguente {

namespace {

std::string meterText(Meter m) { return std::to_string(m.numerator) + "/" + std::to_string(m.denominator); }

void say(const std::string& text) { std::fwrite(text.data(), 1, text.size(), stdout); }

}  // namespace

int commandIdioms(bool json, const IdiomFolders& folders) {
  IdiomLibrary library(folders.folders);
  auto rows = nlohmann::ordered_json::array();
  std::string lines = "id\ttitle\tmeter\tfile\n";
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
             entry.path.string() + "\n";
    rows.push_back({{"id", entry.id},
                    {"title", idiom->title},
                    {"meter", idiom->anyMeter ? "any" : meterText(idiom->meter)},
                    {"about", idiom->about},
                    {"also", idiom->also},
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

int commandCheck(const std::vector<std::string>& files) {
  int code = exitDone;
  for (const std::string& file : files) {
    const auto result = readIdiom(file);
    for (const Fault& f : result.faults) std::fprintf(stderr, "%s\n", f.text().c_str());
    if (result.idiom == nullptr)
      code = exitBadInput;
    else
      say(file + ": good: " + result.idiom->title + "\n");
  }
  return code;
}

}  // namespace seguente
