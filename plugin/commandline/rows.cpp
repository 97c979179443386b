#include "plugin/commandline/rows.h"

#include <algorithm>
#include <nlohmann/json.hpp>

#include "dsp/harmony.h"
#include "plugin/commandline/commands.h"
#include "plugin/commandline/words.h"
#include "plugin/page/spelling.h"

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
    case HandReason::landsTogether:
      return "with the chord";
    case HandReason::sameKeys:
      return "a key of the chord before";
    case HandReason::whereChordWas:
      return "where the chord hand was";
    case HandReason::overChord:
      return "over the chord";
    case HandReason::whereTuneWas:
      return "where the tune was";
    case HandReason::registerAlone:
      return "by its register";
    case HandReason::joinedChord:
      return "joined the chord";
    case HandReason::stayedWithTune:
      return "stayed with the tune";
    case HandReason::wasTune:
      return "was the tune's";
  }
  return "";
}

const char* verdictName(Verdict verdict) {
  return verdict == Verdict::pass ? "pass" : verdict == Verdict::take ? "take" : "lend";
}

/// What came of looking at it again: "", "kept", "withdrawn", "sent late" or "left out of the chord".
const char* outcomeOf(const HandRow& row) {
  if (!row.revised) return "";
  if (row.revisedTo == Verdict::take) return row.verdict == Verdict::lend ? "withdrawn" : "left out of the chord";
  return row.verdict == Verdict::lend ? "kept" : "sent late";
}

/// The key that notes are named in: the last that was heard, else the file's signature.
Key keyForNames(const Performance& p, const Rendering& r) {
  if (r.key.known) return r.key;
  for (const MidiTrack& t : p.file.tracks)
    for (const MidiEvent& e : t.events) {
      const auto signature = metaContent(p.file.bytesOf(e), metaKey);
      if (signature.size() < 2) continue;
      const auto sharps = static_cast<std::int8_t>(signature[0]);
      const bool minor = signature[1] == 1;
      if (sharps >= -7 && sharps <= 7 && signature[1] <= 1) return page::keyOfSignature(sharps, minor);
    }
  return {};
}

Ticks beatOf(const Performance& p, const HandRow& row) { return p.time.engineTick(row.fileTick); }

/// A note's name in a key, with its octave: "Bb3", "B#3" for key 60; sharps when the key is unknown.
std::string noteNameIn(NoteNumber note, const Key& key) {
  if (!key.known) return noteName(note);
  const page::Place place = page::placeOf(note, key);
  const auto octave = floorDivide(place.step, 7);
  std::string name(1, "CDEFGAB"[place.step - 7 * octave]);
  name.append(static_cast<std::size_t>(std::abs(place.alteration)), place.alteration > 0 ? '#' : 'b');
  return name + std::to_string(octave + 4);
}

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
  std::string all = "beat\tkey\tvelocity\thand\tdecided\tverdict\toutcome\tbecause\n";
  const Key key = keyForNames(p, r);
  for (const HandRow& row : r.hands)
    all += quartersText(beatOf(p, row)) + "\t" + noteNameIn(row.note, key) + "\t" + std::to_string(row.velocity.value) +
           "\t" + handName(row.hand) + "\t" + reasonName(row.reason) + "\t" + verdictName(row.verdict) + "\t" +
           outcomeOf(row) + "\t" + (row.revised ? reasonName(row.revisedFor) : "") + "\n";
  return all;
}

std::string handRowsJson(const Performance& p, const Rendering& r) {
  Json rows = Json::array();
  const Key key = keyForNames(p, r);
  for (const HandRow& row : r.hands)
    rows.push_back({{"beat", quarters(beatOf(p, row))},
                    {"key", noteNameIn(row.note, key)},
                    {"number", row.note.value},
                    {"velocity", row.velocity.value},
                    {"hand", handName(row.hand)},
                    {"decided", reasonName(row.reason)},
                    {"verdict", verdictName(row.verdict)},
                    {"outcome", outcomeOf(row)},
                    {"because", row.revised ? reasonName(row.revisedFor) : ""}});
  return lines(rows);
}

std::string noChordsText(const Rendering& r, const HearingOptions& options) {
  if (!r.chords.empty()) return {};
  const Settings& s = options.settings;
  if (s.handRule == HandRule::byChannel) return "no chords were heard from the left hand's channel; see --hands";
  const auto lowest = std::min_element(r.hands.begin(), r.hands.end(),
                                       [](const HandRow& a, const HandRow& b) { return a.note < b.note; });
  const std::string where = lowest == r.hands.end() ? "" : " (the lowest note is " + noteName(lowest->note) + ")";
  if (s.handRule == HandRule::automatic)
    return "no chords were heard: all was taken for the tune" + where + "; see --split and --hands";
  return "no chords were heard below " + noteName(s.split) + where + "; see --split and --hands";
}

}  // namespace seguente
