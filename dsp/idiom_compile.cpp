// Checks a pattern file's tree and compiles it to an Idiom: here the head (names, meter, parts), in idiom_figures.h the
// figures of each density. Every fault is noted and the reading goes on, so that one run shows them all.
#include <algorithm>
#include <array>
#include <cmath>
#include <filesystem>
#include <functional>
#include <memory>

#include "dsp/idiom_draft.h"
#include "dsp/idiom_figures.h"
#include "dsp/idiom_file.h"
#include "dsp/idiom_keys.h"
#include "dsp/idiom_steps.h"

namespace seguente {
namespace {

std::int32_t permille(double ratio) { return static_cast<std::int32_t>(std::lround(ratio * 1000.0)); }

class Head {
 public:
  Head(IdiomDraft& draft, const SourceValue& root, std::string_view file)
      : draft_(draft), idiom_(draft.idiom), check_(draft.check), root_(root), file_(file) {}

  void compile() {
    check_.onlyKeys(root_, idiomKeys::top);
    names();
    meter();
    tempo();
    swing();
    rejoin();
    crush();
    if (const auto* m = root_.member("lean_span"))
      if (const auto span = check_.integer(m->value, 5, 24, "semitones of one hand"))
        idiom_.leanSpan = static_cast<std::uint8_t>(*span);
    relatives();
    parts();
  }

 private:
  void names() {
    if (const auto* v = check_.required(root_, "format", "format = 1"))
      if (v->kind != SourceKind::integer || v->integer != 1) check_.fault(v->place, described(*v), "format = 1");
    if (const auto* v = check_.required(root_, "id", "id = \"...\", the file's name without .toml")) id(*v);
    if (const auto* v = check_.required(root_, "title", "title = \"...\", as a list shows it"))
      if (const auto text = check_.text(*v, "a title", limits::textLength)) idiom_.title = *text;
    if (const auto* v = check_.required(root_, "about", "about = \"...\", one line on what it is for"))
      if (const auto text = check_.text(*v, "one line of text", 240)) idiom_.about = *text;
    const auto* also = root_.member("also");
    if (also == nullptr || !check_.isList(also->value, "a list of other names, as in [\"boogie\"]")) return;
    for (const auto& item : also->value.list)
      if (const auto text = check_.text(item, "a name", limits::textLength)) idiom_.also.push_back(*text);
  }

  void id(const SourceValue& value) {
    const auto text = check_.text(value, "small letters, digits and hyphens", limits::textLength);
    if (!text) return;
    if (text->find_first_not_of("abcdefghijklmnopqrstuvwxyz0123456789-") != std::string::npos) {
      check_.fault(value.place, quotedText(*text), "small letters, digits and hyphens");
      return;
    }
    idiom_.id = *text;
    const std::filesystem::path path{std::string(file_)};
    if (path.extension() == ".toml" && path.stem().string() != *text)
      check_.fault(value.place, "id " + quotedText(*text),
                   quotedText(path.stem().string()) + ", as the file is called");
  }

  void meter() {
    const auto* v = check_.required(root_, "meter", "meter = \"3/4\", or \"any\"");
    draft_.headGood = false;
    if (v == nullptr) return;
    const auto meter = v->kind == SourceKind::text ? parseMeter(v->text) : std::nullopt;
    idiom_.anyMeter = v->kind == SourceKind::text && v->text == "any";
    if (meter) idiom_.meter = *meter;
    draft_.headGood = meter || idiom_.anyMeter;
    if (!draft_.headGood) check_.fault(v->place, described(*v), "a meter such as \"3/4\" or \"6/8\", or \"any\"");
  }

  void tempo() {
    const auto* v = check_.required(root_, "tempo", "tempo = [low, high] in quarter notes a minute");
    if (v == nullptr) return;
    const auto range = pair(*v, 10, 600, "quarter notes a minute");
    if (!range) return;
    idiom_.tempoLow = range->first;
    idiom_.tempoHigh = range->second;
  }

  /// Two numbers, the lower first.
  std::optional<std::pair<double, double>> pair(const SourceValue& v, double low, double high, std::string_view unit) {
    if (v.kind != SourceKind::list || v.list.size() != 2) {
      check_.fault(v.place, described(v), "[low, high] in " + std::string(unit));
      return std::nullopt;
    }
    const auto a = check_.number(v.list[0], low, high, unit);
    const auto b = check_.number(v.list[1], low, high, unit);
    if (!a || !b) return std::nullopt;
    if (*a <= *b) return std::pair(*a, *b);
    check_.fault(v.place, described(v.list[0]) + " before " + described(v.list[1]), "the lower number first");
    return std::nullopt;
  }

  void swing() {
    constexpr double straight = 1.0, longest = 4.0;  // measured solo swing reaches 3.5 (Friberg & Sundstroem 2002)
    constexpr std::string_view unit = "long : short";
    if (const auto* m = root_.member("swing"))
      if (const auto ratio = check_.number(m->value, straight, longest, unit)) idiom_.swingPermille = permille(*ratio);
    idiom_.swingLow = idiom_.swingHigh = idiom_.swingPermille;
    if (const auto* m = root_.member("swing_range"))
      if (const auto range = pair(m->value, straight, longest, unit)) {
        idiom_.swingLow = permille(range->first);
        idiom_.swingHigh = permille(range->second);
        if (idiom_.swingPermille < idiom_.swingLow || idiom_.swingPermille > idiom_.swingHigh)
          check_.fault(m->value.place, "a range without the idiom's own swing", "a range around it");
      }
    const auto* m = root_.member("swing_pair");
    if (m == nullptr || !draft_.headGood) return;
    const auto beats = check_.beats(m->value);
    const auto ticks = beats ? check_.ticks(*beats, idiom_.meter.beat()) : std::nullopt;
    if (!ticks) return;
    if (ticks->value > 0 && ticks->value % 2 == 0)
      idiom_.swingPair = *ticks;
    else
      check_.fault(m->value.place, described(m->value), "beats within which one long and one short note fall");
  }

  void rejoin() {
    idiom_.rejoin = {Ticks{0}};
    const auto* m = root_.member("rejoin");
    if (m == nullptr || !draft_.headGood || !check_.isList(m->value, "a list of beats, as in [1, 3]")) return;
    std::vector<Ticks> places;
    bool good = true;
    for (const auto& item : m->value.list) {
      const auto beats = check_.beats(item);
      const auto ticks = beats ? check_.ticks(*beats, idiom_.meter.beat()) : std::nullopt;
      good = good && ticks;
      if (ticks) places.push_back(*ticks - idiom_.meter.beat());
    }
    if (!good) return;
    const bool ascending = std::adjacent_find(places.begin(), places.end(), std::greater_equal<>{}) == places.end();
    if (places.empty() || places.front() != Ticks{0} || !ascending || places.back() >= idiom_.meter.bar())
      check_.fault(m->value.place, described(m->value), "beats of the bar in ascending order, beginning with 1");
    else
      idiom_.rejoin = places;
  }

  void crush() {
    const auto* m = root_.member("crush");
    if (m == nullptr) return;
    const auto beats = check_.beats(m->value);
    if (!beats) return;
    if (beats->fraction.numerator == 0 || beats->fraction.numerator * 2 > beats->fraction.denominator)
      check_.fault(m->value.place, described(m->value), "a part of a beat, up to \"1/2\"");
    else if (check_.ticks(*beats, idiom_.meter.beat()))
      draft_.crush = beats->fraction;
  }

  void relatives() {
    const auto* m = root_.member("relatives");
    if (m == nullptr || !check_.isTable(m->value, "a table of meters, as in \"3/4\" = \"waltz\"")) return;
    if (m->value.table.size() > limits::relatives)
      check_.fault(m->place, std::to_string(m->value.table.size()) + " relatives",
                   "at most " + std::to_string(limits::relatives) + " (the cap relatives)");
    for (const auto& [key, place, value] : m->value.table) {
      const auto meter = parseMeter(key);
      if (!meter) check_.fault(place, "relative for " + quotedText(key), "a meter such as \"3/4\"");
      const auto id = check_.text(value, "an idiom's id", limits::textLength);
      if (!meter || !id) continue;
      if (draft_.headGood && (idiom_.anyMeter || *meter == idiom_.meter))
        check_.fault(place, "a relative for the idiom's own meter " + textOf(*meter), "another meter");
      const bool twice = std::any_of(idiom_.relatives.begin(), idiom_.relatives.end(),
                                     [&](const Relative& r) { return r.meter == *meter; });
      if (twice) check_.fault(place, "a second relative for " + textOf(*meter), "one for each meter");
      idiom_.relatives.push_back({*meter, nullptr, *id});
    }
  }

  void parts() {
    const auto* v = check_.required(root_, "parts", "a table [parts.NAME] for each part");
    if (v == nullptr || !check_.isTable(*v, "a table [parts.NAME] for each part")) return;
    if (v->table.empty()) check_.fault(v->place, "no part", "at least one table [parts.NAME]");
    if (v->table.size() > limits::parts)
      check_.fault(v->table[limits::parts].place, std::to_string(v->table.size()) + " parts",
                   "at most " + std::to_string(limits::parts) + " (the cap parts)");
    for (const auto& member : v->table) {
      draft_.partNames.push_back(member.key);
      const auto part = this->part(member);
      draft_.partIndex.push_back(part ? static_cast<int>(idiom_.parts.size()) : -1);
      if (part) idiom_.parts.push_back(*part);
    }
  }

  std::optional<Part> part(const SourceMember& member) {
    const auto& value = member.value;
    if (!check_.isTable(value, "a table with kind and register")) return std::nullopt;
    check_.onlyKeys(value, idiomKeys::part);
    Part part;
    part.name = member.key;
    if (member.key.empty() || member.key.size() > limits::textLength)
      check_.fault(member.place, "part name " + quotedText(member.key), "a name of 1 to 64 bytes");
    const auto kind = this->kind(value);
    if (!kind) return std::nullopt;
    part.kind = *kind;
    registerOf(value, part);
    if (part.kind == PartKind::percussion) part.enabledByDefault = false;
    if (const auto* m = value.member("program"))
      if (const auto n = check_.integer(m->value, 0, 127, "a General MIDI program counted from 0"))
        part.program = static_cast<std::uint8_t>(*n);
    if (const auto* m = value.member("level"))
      if (const auto n = check_.integer(m->value, 1, 127, "a velocity")) part.level = static_cast<std::uint8_t>(*n);
    if (const auto* m = value.member("pedal"))
      if (const auto t = check_.truth(m->value)) part.pedal = *t;
    if (const auto* m = value.member("fifth_below"))
      if (const auto t = check_.truth(m->value)) part.fifthBelow = *t;
    if (const auto* m = value.member("no_parallels"))
      if (const auto t = check_.truth(m->value)) {
        part.noParallels = *t;
        if (part.kind != PartKind::counterLine)
          check_.fault(m->place, "key \"no_parallels\" in a part that is no counter-line", "it in a counter-line only");
      }
    if (const auto* m = value.member("off"))
      if (const auto t = check_.truth(m->value)) part.enabledByDefault = !*t;
    return part;
  }

  std::optional<PartKind> kind(const SourceValue& part) {
    const auto* v = check_.required(part, "kind", "kind = \"bass\", \"chords\", \"counter-line\" or \"percussion\"");
    if (v == nullptr) return std::nullopt;
    const auto& kinds = idiomKeys::partKinds;
    const auto found = v->kind == SourceKind::text ? std::find(kinds.begin(), kinds.end(), v->text) : kinds.end();
    if (found != kinds.end()) return static_cast<PartKind>(found - kinds.begin());
    const auto nearest = v->kind == SourceKind::text ? nearestWord(v->text, kinds) : std::string{};
    check_.fault(v->place, described(*v),
                 nearest.empty() ? "one of bass, chords, counter-line, percussion" : quotedText(nearest));
    return std::nullopt;
  }

  void registerOf(const SourceValue& value, Part& part) {
    const auto* m = value.member("register");
    if (m == nullptr) {
      if (part.kind != PartKind::percussion)
        check_.fault(value.place, "no key \"register\"", "register = [\"C2\", \"C4\"], the lowest and highest note");
      return;
    }
    const auto& v = m->value;
    constexpr std::string_view wanted = "two notes, the lower first, as in [\"C2\", \"C4\"] (C4 is middle C)";
    if (v.kind != SourceKind::list || v.list.size() != 2)
      return check_.fault(v.place, described(v), std::string(wanted));
    std::array<std::optional<NoteNumber>, 2> ends;
    for (std::size_t i = 0; i < 2; ++i) {
      if (v.list[i].kind == SourceKind::text) ends[i] = parseNoteName(v.list[i].text);
      if (!ends[i]) check_.fault(v.list[i].place, described(v.list[i]), "a note such as \"C2\", \"F#3\" or \"Bb1\"");
    }
    if (!ends[0] || !ends[1]) return;
    part.low = *ends[0];
    part.high = *ends[1];
    if (part.low > part.high)
      check_.fault(v.place, "a register that runs down from " + v.list[0].text + " to " + v.list[1].text,
                   "the lower note first");
    else if (part.high.value - part.low.value < 11)  // else some root has no place in it
      check_.fault(v.place, "a register of " + std::to_string(part.high.value - part.low.value + 1) + " keys",
                   "at least 12, so that each root has its place");
  }

  IdiomDraft& draft_;
  Idiom& idiom_;
  Checker& check_;
  const SourceValue& root_;
  std::string_view file_;
};

}  // namespace

namespace {

IdiomResult compileTree(const SourceValue& root, std::string_view text, std::string_view name) {
  IdiomResult result;
  auto idiom = std::make_unique<Idiom>();
  Checker check(name, result.faults);
  IdiomDraft draft{*idiom, check, {}, {}, {1, 12}, true, {}, {}};
  Head(draft, root, name).compile();
  compileFigures(draft, root);
  if (!result.faults.empty()) return result;
  idiom->text = text;
  result.idiom = std::move(idiom);
  return result;
}

}  // namespace

IdiomResult compileIdiom(std::string_view text, std::string_view name) {
  // The plain way knows no places, so a file with a fault is read again by the library, which does.
  if (text.size() <= limits::fileBytes)
    if (const auto plain = readPlain(text))
      if (auto result = compileTree(*plain, text, name); result.idiom != nullptr) return result;
  std::vector<Fault> faults;
  const auto root = parseSource(text, name, faults);
  if (!root) return {nullptr, std::move(faults)};
  auto result = compileTree(*root, text, name);
  std::stable_sort(result.faults.begin(), result.faults.end(), [](const Fault& a, const Fault& b) {
    return std::pair(a.line, a.column) < std::pair(b.line, b.column);
  });
  return result;
}

}  // namespace seguente
