// Chord symbols out of MusicXML 4.0 (partwise): root, kind, bass, degrees, divisions, offsets.
// Kind values and their symbols: REFERENCES section 2, the MusicXML 4.0 schema.
#include <algorithm>
#include <array>
#include <cstdlib>
#include <pugixml.hpp>
#include <string>

#include "dsp/harmony.h"
#include "plugin/commandline/chart_file.h"

namespace seguente {

namespace {

struct KindSymbol {
  std::string_view kind;
  std::string_view suffix;
};

constexpr std::array kinds{
    KindSymbol{"major", ""},
    KindSymbol{"minor", "m"},
    KindSymbol{"augmented", "aug"},
    KindSymbol{"diminished", "dim"},
    KindSymbol{"dominant", "7"},
    KindSymbol{"major-seventh", "maj7"},
    KindSymbol{"minor-seventh", "m7"},
    KindSymbol{"diminished-seventh", "dim7"},
    KindSymbol{"augmented-seventh", "7#5"},
    KindSymbol{"half-diminished", "m7b5"},
    KindSymbol{"major-minor", "mMaj7"},
    KindSymbol{"major-sixth", "6"},
    KindSymbol{"minor-sixth", "m6"},
    KindSymbol{"dominant-ninth", "9"},
    KindSymbol{"major-ninth", "maj9"},
    KindSymbol{"minor-ninth", "m9"},
    KindSymbol{"dominant-11th", "11"},
    KindSymbol{"major-11th", "maj9"},  // no name of its own in our table: the ninth chord within it
    KindSymbol{"minor-11th", "m11"},
    KindSymbol{"dominant-13th", "13"},
    KindSymbol{"major-13th", "maj13"},
    KindSymbol{"minor-13th", "m13"},
    KindSymbol{"suspended-second", "sus2"},
    KindSymbol{"suspended-fourth", "sus4"},
    KindSymbol{"power", "5"},
    KindSymbol{"Neapolitan", ""},
    KindSymbol{"Italian", "7"},
    KindSymbol{"French", "7b5"},
    KindSymbol{"German", "7"},
};

/// Suffixes that a kind and its degrees make together (REFERENCES section 2, the second column).
constexpr std::array together{
    KindSymbol{"suspended-fourth addb7", "7sus4"},
    KindSymbol{"suspended-fourth addb7 add9", "9sus4"},
    KindSymbol{"suspended-fourth addb7 add9 add13", "13sus4"},
    KindSymbol{"major-sixth add9", "6/9"},
    KindSymbol{"minor-sixth add9", "m6/9"},
    KindSymbol{"major-minor add9", "mMaj9"},
    KindSymbol{"major-seventh alter#5", "maj7#5"},
    KindSymbol{"dominant alter#5", "7#5"},
    KindSymbol{"dominant alterb5", "7b5"},
};

template <std::size_t n>
const std::string_view* find(const std::array<KindSymbol, n>& table, std::string_view kind) {
  const auto row = std::find_if(table.begin(), table.end(), [&](const KindSymbol& r) { return r.kind == kind; });
  return row == table.end() ? nullptr : &row->suffix;
}

std::string accidental(const char* alter) {
  const int value = std::atoi(alter);
  if (value == 0 || std::abs(value) > 2) return {};
  return std::string(static_cast<std::size_t>(std::abs(value)), value > 0 ? '#' : 'b');
}

/// "add9", "addb9", "alter#5": one a degree; subtract is what an omitted note would be, and changes no name.
std::string degreesOf(pugi::xml_node harmony, std::string_view separator) {
  std::string all;
  for (const auto degree : harmony.children("degree")) {
    const std::string type = degree.child_value("degree-type");
    if (type == "subtract") continue;
    const std::string altered = accidental(degree.child_value("degree-alter")) + degree.child_value("degree-value");
    const bool plain = separator.empty() && (type == "alter" || altered[0] == '#' || altered[0] == 'b');
    all += std::string(separator) + (plain ? "" : type) + altered;
  }
  return all;
}

/// The symbol as a lead sheet would write it; "" when the kind is one we cannot name.
std::string symbolFor(pugi::xml_node harmony) {
  const std::string kind = harmony.child_value("kind");
  if (kind == "none") return "N.C.";
  const auto root = harmony.child("root");
  if (!root) return {};
  const std::string name = root.child_value("root-step") + accidental(root.child_value("root-alter"));
  const auto bass = harmony.child("bass");
  const std::string under =
      bass ? std::string("/") + bass.child_value("bass-step") + accidental(bass.child_value("bass-alter")) : "";
  const std::string degrees = degreesOf(harmony, " ");
  if (const auto* suffix = find(together, kind + degrees)) return name + std::string(*suffix) + under;
  const auto* suffix = find(kinds, kind);
  if (suffix == nullptr) return {};
  const std::string whole = name + std::string(*suffix) + degreesOf(harmony, "") + under;
  return parseSymbol(whole) ? whole : name + std::string(*suffix) + under;
}

class MusicXmlReader {
 public:
  Checked<Chart> read(pugi::xml_node part);

 private:
  void measure(pugi::xml_node node, bool first);
  void harmony(pugi::xml_node node);
  void note(pugi::xml_node node);
  void attributes(pugi::xml_node node);
  void barline(pugi::xml_node node);
  void words(pugi::xml_node sound);
  void signsAtEnd(Ticks end);
  Ticks ticks(double divisions) const {
    return {static_cast<std::int64_t>(divisions * ticksPerDivision_ + (divisions < 0 ? -0.5 : 0.5))};
  }
  Ticks duration(pugi::xml_node node) const {
    const double d = node.child("duration").text().as_double();
    return d > 0 && d < 1e6 ? ticks(d) : Ticks{};
  }

  double ticksPerDivision_ = static_cast<double>(quarter.value);
  Ticks bar_{quarter.value * 4};
  Ticks start_{};  // of the measure
  Ticks now_{};
  Ticks furthest_{};
  std::string fault_;
  std::vector<RepeatSign> signs_, atEnd_;  // the latter count at the end of the measure that is read
  Chart chart_;
};

/// Left: where it is gone back to, and where an ending begins; right: where it goes back, and where an ending stops.
void MusicXmlReader::barline(pugi::xml_node node) {
  using Kind = RepeatSign::Kind;
  const auto repeat = node.child("repeat");
  const auto ending = node.child("ending");
  const std::string_view direction = repeat.attribute("direction").value();
  const std::string_view type = ending.attribute("type").value();
  if (direction == "forward") signs_.push_back({start_.value, Kind::forward, 2, 0});
  if (type == "start") {
    const auto numbers = endingNumbers(ending.attribute("number").value());
    if (numbers == 0) fault_ = "an ending numbered \"" + std::string(ending.attribute("number").value()) + "\"";
    signs_.push_back({start_.value, Kind::ending, 2, numbers});
  }
  if (direction == "backward")
    atEnd_.push_back({0, Kind::backward, std::clamp(repeat.attribute("times").as_int(2), 2, 100), 0});
  else if (type == "stop" || type == "discontinue")
    atEnd_.push_back({0, Kind::endingStops, 2, 0});
}

void MusicXmlReader::words(pugi::xml_node sound) {
  using Kind = RepeatSign::Kind;
  if (sound.attribute("segno")) signs_.push_back({start_.value, Kind::segno, 2, 0});
  if (sound.attribute("fine")) atEnd_.push_back({0, Kind::fine, 2, 0});
  if (sound.attribute("dacapo")) atEnd_.push_back({0, Kind::daCapo, 2, 0});
  if (sound.attribute("dalsegno")) atEnd_.push_back({0, Kind::dalSegno, 2, 0});
}

void MusicXmlReader::signsAtEnd(Ticks end) {
  for (RepeatSign sign : atEnd_) {
    sign.at = end.value;
    signs_.push_back(sign);
  }
  atEnd_.clear();
}

void MusicXmlReader::attributes(pugi::xml_node node) {
  const double divisions = node.child("divisions").text().as_double();
  if (divisions >= 1 && divisions <= 1e6) ticksPerDivision_ = static_cast<double>(quarter.value) / divisions;
  const auto time = node.child("time");
  const int beats = time.child("beats").text().as_int();
  const int type = time.child("beat-type").text().as_int();
  if (beats < 1 || beats > 32 || type < 1 || type > 32) return;
  const Meter meter{static_cast<std::uint8_t>(beats), static_cast<std::uint8_t>(type)};
  if (meter.valid()) bar_ = meter.bar();
}

void MusicXmlReader::harmony(pugi::xml_node node) {
  const std::string symbol = symbolFor(node);
  const auto chord = parseSymbol(symbol);
  const double offset = node.child("offset").text().as_double();
  const Ticks at = now_ + (offset > -1e6 && offset < 1e6 ? ticks(offset) : Ticks{});
  if (!chord) {
    fault_ = "measure " + std::string(node.parent().attribute("number").value()) + ": a harmony of kind \"" +
             node.child_value("kind") + "\" that cannot be read";
    return;
  }
  chart_.chords.push_back({at, {std::int64_t{1} << 50}, *chord, false, false});
  chart_.symbols.push_back(symbol);
}

void MusicXmlReader::note(pugi::xml_node node) {
  if (node.child("grace")) return;
  const bool fermata = !node.child("notations").child("fermata").empty();
  if (fermata && !chart_.chords.empty()) chart_.chords.back().hold = true;
  if (!node.child("chord")) now_ = now_ + duration(node);
}

void MusicXmlReader::measure(pugi::xml_node measureNode, bool first) {
  now_ = furthest_ = start_;
  for (const auto node : measureNode.children()) {
    const std::string_view name = node.name();
    if (name == "attributes") attributes(node);
    if (name == "harmony") harmony(node);
    if (name == "note") note(node);
    if (name == "forward") now_ = now_ + duration(node);
    if (name == "backup") now_ = std::max(start_, now_ - duration(node));
    const auto sound = name == "direction" ? node.child("sound") : name == "sound" ? node : pugi::xml_node{};
    if (sound.attribute("fine") && !chart_.chords.empty()) chart_.chords.back().end = true;
    if (name == "barline") barline(node);
    words(sound);
    furthest_ = std::max(furthest_, now_);
  }
  const bool implicit = std::string_view(measureNode.attribute("implicit").value()) == "yes";
  Ticks end = furthest_;
  if (!implicit && end - start_ < bar_ && !(first && end > start_))
    end = start_ + bar_;  // an empty measure is a whole one
  if (first && end - start_ < bar_) chart_.pickup = end - start_;
  signsAtEnd(end);
  start_ = end;
}

Checked<Chart> MusicXmlReader::read(pugi::xml_node part) {
  chart_.ownBars = true;
  bool first = true;
  for (const auto node : part.children("measure")) {
    measure(node, first);
    first = false;
    if (!fault_.empty()) return bad<Chart>(fault_);
    if (start_.value > (std::int64_t{1} << 48)) return bad<Chart>("too long a piece");
  }
  std::vector<std::size_t> order(chart_.chords.size());
  for (std::size_t i = 0; i < order.size(); ++i) order[i] = i;
  std::stable_sort(order.begin(), order.end(),
                   [&](auto a, auto b) { return chart_.chords[a].from < chart_.chords[b].from; });
  Chart sorted{{}, chart_.pickup, true, {}};
  for (const std::size_t i : order) {
    const Expectation& e = chart_.chords[i];
    if (!sorted.chords.empty()) sorted.chords.back().to = std::min(sorted.chords.back().to, e.from);
    sorted.chords.push_back({e.from, start_, e.chord, e.hold, e.end});
    sorted.symbols.push_back(chart_.symbols[i]);
  }
  for (std::size_t i = sorted.chords.size(); i-- > 0;)
    if (sorted.chords[i].chord.none() || sorted.chords[i].to <= sorted.chords[i].from) {
      sorted.chords.erase(sorted.chords.begin() + static_cast<std::ptrdiff_t>(i));
      sorted.symbols.erase(sorted.symbols.begin() + static_cast<std::ptrdiff_t>(i));
    }
  if (signs_.empty()) return good(std::move(sorted));
  return playedOut(sorted, signs_, start_);
}

}  // namespace

Checked<Chart> parseMusicXmlChart(std::string_view text) {
  pugi::xml_document document;
  const auto parsed = document.load_buffer(text.data(), text.size());
  if (!parsed) return bad<Chart>("is no good XML: " + std::string(parsed.description()));
  const auto score = document.child("score-partwise");
  if (!score) return bad<Chart>("is no partwise MusicXML score");
  for (const auto part : score.children("part"))
    for (const auto measure : part.children("measure"))
      if (measure.child("harmony")) return MusicXmlReader().read(part);
  return bad<Chart>("has no chord symbols (harmony)");
}

}  // namespace seguente
