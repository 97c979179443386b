#include "plugin/commandline/rows.h"

#include <nlohmann/json.hpp>

#include "dsp/harmony.h"
#include "plugin/commandline/commands.h"
#include "plugin/commandline/words.h"

namespace seguente {

namespace {

using Json = nlohmann::ordered_json;

std::string text(const ShortText& t) { return std::string(t.view()); }

double quarters(Ticks t) { return static_cast<double>(t.value) / static_cast<double>(quarter.value); }

const char* handName(Hand hand) { return hand == Hand::melody ? "melody" : "chord"; }

const char* reasonName(HandReason reason) {
  switch (reason) {
    case HandReason::aboveSplit:
      return "above the split";
    case HandReason::belowSplit:
      return "below the split";
    case HandReason::channel:
      return "by channel";
    case HandReason::noMelodyAsked:
      return "no melody asked";
  }
  return "";
}

Ticks beatOf(const Performance& p, const HandRow& row) { return p.time.engineTick(row.fileTick); }

std::string lines(const Json& rows) { return rows.dump(2) + "\n"; }

}  // namespace

std::string chordRowsTsv(const Rendering& r) {
  std::string all = "start\tend\tsymbol\troot\tquality\tbass\tnumeral\n";
  for (const HeardRow& row : r.chords) {
    all += quartersText(row.from) + "\t" + quartersText(row.to) + "\t" + text(symbolOf(row.chord)) + "\t" +
           text(nameOf(row.chord.rootSpelling)) + "\t" + std::string(qualityOf(row.chord)) + "\t" +
           text(nameOf(row.chord.bassSpelling)) + "\t" + text(numeralOf(row.chord, row.key)) + "\n";
  }
  return all;
}

std::string chordRowsJson(const Rendering& r) {
  Json rows = Json::array();
  for (const HeardRow& row : r.chords) {
    Json others = Json::array();
    for (std::size_t i = 1; i < row.readingCount; ++i) others.push_back(text(symbolOf(row.readings[i])));
    rows.push_back({{"start", quarters(row.from)},
                    {"end", quarters(row.to)},
                    {"symbol", text(symbolOf(row.chord))},
                    {"root", text(nameOf(row.chord.rootSpelling))},
                    {"quality", qualityOf(row.chord)},
                    {"bass", text(nameOf(row.chord.bassSpelling))},
                    {"numeral", text(numeralOf(row.chord, row.key))},
                    {"key", text(nameOf(row.key))},
                    {"otherReadings", others}});
  }
  return lines(rows);
}

std::string handRowsTsv(const Performance& p, const Rendering& r) {
  std::string all = "beat\tkey\tvelocity\thand\tdecided\n";
  for (const HandRow& row : r.hands)
    all += quartersText(beatOf(p, row)) + "\t" + noteName(row.note) + "\t" + std::to_string(row.velocity.value) + "\t" +
           handName(row.hand) + "\t" + reasonName(row.reason) + "\n";
  return all;
}

std::string handRowsJson(const Performance& p, const Rendering& r) {
  Json rows = Json::array();
  for (const HandRow& row : r.hands)
    rows.push_back({{"beat", quarters(beatOf(p, row))},
                    {"key", noteName(row.note)},
                    {"number", row.note.value},
                    {"velocity", row.velocity.value},
                    {"hand", handName(row.hand)},
                    {"decided", reasonName(row.reason)}});
  return lines(rows);
}

}  // namespace seguente
