// Checks a pattern file's tree and compiles it to an Idiom: first the head (names, meter, parts), then the figures of
// each density. Every fault is noted and the reading goes on, so that one run shows them all.
#include <algorithm>
#include <cmath>
#include <map>

#include "dsp/idiom_draft.h"
#include "dsp/idiom_file.h"
#include "dsp/idiom_hand.h"
#include "dsp/idiom_keys.h"
#include "dsp/idiom_steps.h"

namespace seguente {
namespace {

constexpr std::array<FigureRef DensityFigures::*, 7> figureMembers{
    &DensityFigures::statement, &DensityFigures::answer,  &DensityFigures::lift, &DensityFigures::vamp,
    &DensityFigures::hold,      &DensityFigures::cadence, &DensityFigures::end};
constexpr std::array<std::string_view, densities> densityNames{"lean", "medium", "full"};

std::int32_t permille(double ratio) { return static_cast<std::int32_t>(std::lround(ratio * 1000.0)); }

// ---------------------------------------------------------------- the head of the file

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

// ---------------------------------------------------------------- the figures of one density

class FigureCompiler {
 public:
  FigureCompiler(IdiomDraft& draft, Density density)
      : draft_(draft), idiom_(draft.idiom), check_(draft.check), density_(density) {}

  void compile(const SourceValue& table) {
    if (!check_.isTable(table, "a table with figures")) return;
    auto& figures = idiom_.density[static_cast<std::size_t>(density_)];
    figures.written = true;
    check_.onlyKeys(table, idiomKeys::density);
    check_.required(table, "statement", "statement = [ rows ], the figure itself");
    for (std::size_t i = 0; i < figureMembers.size(); ++i)
      if (const auto* m = table.member(idiomKeys::density[i]))
        figures.*figureMembers[i] = figure(m->value, static_cast<FigureKind>(i));
    if (const auto* m = table.member("short")) shortForms(m->value, figures);
  }

 private:
  FigureRef figure(const SourceValue& value, FigureKind kind) {
    const SourceValue* rows = &value;
    std::int64_t bars = 1;
    if (value.kind == SourceKind::table) {
      check_.onlyKeys(value, idiomKeys::figure);
      if (const auto* m = value.member("bars"))
        bars = check_
                   .integer(m->value, 1, idiom_.anyMeter ? 1 : static_cast<std::int64_t>(limits::barsPerFigure),
                            "bars of a figure (the cap barsPerFigure)")
                   .value_or(0);
      rows = check_.required(value, "steps", "steps = [ rows ]");
    }
    if (rows == nullptr || bars == 0) return {};
    return steps(*rows, kind, idiom_.meter.bar() * bars);
  }

  void shortForms(const SourceValue& value, DensityFigures& figures) {
    if (!check_.isList(value, "a table [[lean.short]] for each short form")) return;
    if (value.list.size() > limits::shortForms)
      check_.fault(value.list[limits::shortForms].place, std::to_string(value.list.size()) + " short forms",
                   "at most " + std::to_string(limits::shortForms) + " (the cap shortForms)");
    std::map<Ticks, FigureRef, std::greater<>> byLength;
    for (const auto& item : value.list) shortForm(item, figures, byLength);
    for (const auto& [length, ref] : byLength)
      if (figures.shortCount < limits::shortForms) figures.shortForms[figures.shortCount++] = ref;
  }

  void shortForm(const SourceValue& item, const DensityFigures& figures,
                 std::map<Ticks, FigureRef, std::greater<>>& byLength) {
    if (!check_.isTable(item, "a short form with beats and steps")) return;
    check_.onlyKeys(item, idiomKeys::shortForm);
    const auto* length = check_.required(item, "beats", "beats = 2, the length of the short form");
    const auto* rows = check_.required(item, "steps", "steps = [ rows ]");
    const auto beats = length ? check_.beats(*length) : std::nullopt;
    const auto ticks = beats ? check_.ticks(*beats, idiom_.meter.beat()) : std::nullopt;
    if (!ticks || rows == nullptr) return;
    const auto whole = figures.statement.there() ? idiom_.figure(figures.statement).length : idiom_.meter.bar();
    if (ticks->value <= 0 || (*ticks >= whole && !idiom_.anyMeter))
      return check_.fault(length->place, textOf(beats->fraction) + " beats",
                          "fewer beats than the statement has, and more than none");
    if (byLength.contains(*ticks))
      return check_.fault(length->place, "a second short form of " + textOf(beats->fraction) + " beats",
                          "one short form for each length");
    byLength[*ticks] = steps(*rows, FigureKind::shortForm, *ticks);
  }

  FigureRef steps(const SourceValue& rows, FigureKind kind, Ticks length) {
    if (!check_.isList(rows, "a list of rows, as in [ { beat = 1, length = 1, part = \"bass\", play = \"1\" } ]"))
      return {};
    if (rows.list.empty()) check_.fault(rows.place, "no row", "at least one row");
    std::vector<PlacedStep> placed;
    for (std::size_t i = 0; i < rows.list.size() && i <= limits::stepsPerFigure; ++i)
      row(rows.list[i], static_cast<std::uint8_t>(i), length, placed);
    if (placed.size() > limits::stepsPerFigure)
      check_.fault(rows.place, "more than " + std::to_string(limits::stepsPerFigure) + " strokes",
                   "at most " + std::to_string(limits::stepsPerFigure) + " in a figure (the cap stepsPerFigure)");
    std::stable_sort(placed.begin(), placed.end(), [this](const PlacedStep& a, const PlacedStep& b) {
      const auto key = [this](const Step& s) {
        return std::tuple(s.at, idiom_.parts[s.part].kind != PartKind::bass, s.part, s.row);
      };
      return key(a.step) < key(b.step);
    });
    if (density_ == Density::lean && draft_.headGood) checkLeanHand(draft_, placed, length);
    return append(placed, kind, length);
  }

  FigureRef append(const std::vector<PlacedStep>& placed, FigureKind kind, Ticks length) {
    Figure figure{kind, length, static_cast<std::uint16_t>(idiom_.steps.size()),
                  static_cast<std::uint16_t>(placed.size())};
    for (const auto& p : placed) idiom_.steps.push_back(p.step);
    idiom_.figures.push_back(figure);
    return {static_cast<std::int16_t>(idiom_.figures.size() - 1)};
  }

  void row(const SourceValue& value, std::uint8_t index, Ticks figureLength, std::vector<PlacedStep>& placed) {
    if (!check_.isTable(value, "a row such as { beat = 1, length = 1, part = \"bass\", play = \"1\" }")) return;
    check_.onlyKeys(value, idiomKeys::step);
    Step step;
    step.row = index;
    const bool inTime = time(value, figureLength, step);
    if (const auto* m = value.member("stress"))
      if (const auto stress = check_.integer(m->value, -3, 3, "stress"))
        step.stress = static_cast<std::int8_t>(*stress);
    const auto part = partOf(value);
    const auto play = part ? playOf(value, *part) : std::nullopt;
    if (!inTime || !play) return;
    step.part = static_cast<std::uint8_t>(*part);
    place(step, *play, value.place, placed);
  }

  /// Where the step stands and how long it sounds. In an idiom of any meter a step fills the bar.
  bool time(const SourceValue& value, Ticks figureLength, Step& step) {
    const auto* at = check_.required(value, "beat", "beat = 1, counted from 1");
    const auto* length = value.member("length") ? &value.member("length")->value : nullptr;
    if (length == nullptr && !idiom_.anyMeter) check_.fault(value.place, "no key \"length\"", "length = 1, in beats");
    const auto start = at ? beatAt(*at, figureLength) : std::nullopt;
    if (idiom_.anyMeter) return timeInAnyMeter(at, length, figureLength, start, step);
    const auto sounding = length ? lengthOf(*length) : std::nullopt;
    if (!start || !sounding) return false;
    if (*start + *sounding > figureLength * 2) {
      check_.fault(length->place, described(*length) + " beats", "an end no later than that of the next round");
      return false;
    }
    step.at = *start;
    step.length = *sounding;
    return true;
  }

  bool timeInAnyMeter(const SourceValue* at, const SourceValue* length, Ticks figureLength, std::optional<Ticks> start,
                      Step& step) {
    if (length != nullptr)
      check_.fault(length->place, "a length in an idiom of any meter", "none: the step fills the bar");
    if (start && *start != Ticks{0})
      check_.fault(at->place, "beat " + described(*at) + " in an idiom of any meter", "beat 1");
    step.length = figureLength;
    return start == Ticks{0};
  }

  std::optional<Ticks> beatAt(const SourceValue& value, Ticks figureLength) {
    const auto beats = check_.beats(value);
    const auto ticks = beats ? check_.ticks(*beats, idiom_.meter.beat()) : std::nullopt;
    if (!ticks) return std::nullopt;
    const auto start = *ticks - idiom_.meter.beat();
    if (start >= Ticks{0} && start < figureLength) return start;
    const auto after = textOf(Fraction{figureLength.value + idiom_.meter.beat().value, idiom_.meter.beat().value});
    check_.fault(value.place, "beat " + textOf(beats->fraction),
                 "a beat from 1 to before " + after + ", where the figure ends");
    return std::nullopt;
  }

  std::optional<Ticks> lengthOf(const SourceValue& value) {
    const auto beats = check_.beats(value);
    const auto ticks = beats ? check_.ticks(*beats, idiom_.meter.beat()) : std::nullopt;
    if (!ticks || ticks->value > 0) return ticks;
    check_.fault(value.place, described(value), "a length of more than 0 beats");
    return std::nullopt;
  }

  std::optional<int> partOf(const SourceValue& value) {
    const auto* v = check_.required(value, "part", "part = \"...\", one of the file's parts");
    if (v == nullptr) return std::nullopt;
    const auto& names = draft_.partNames;
    const auto found = v->kind == SourceKind::text ? std::find(names.begin(), names.end(), v->text) : names.end();
    if (found != names.end()) {
      const int index = draft_.partIndex[static_cast<std::size_t>(found - names.begin())];
      return index >= 0 ? std::optional(index) : std::nullopt;  // a part with faults of its own has been told of
    }
    const std::vector<std::string_view> words(names.begin(), names.end());
    const auto nearest = v->kind == SourceKind::text ? nearestWord(v->text, words) : std::string{};
    std::string all;
    for (const auto& name : names) all += (all.empty() ? "" : ", ") + name;
    check_.fault(v->place, "unknown part " + described(*v), nearest.empty() ? "one of " + all : quotedText(nearest));
    return std::nullopt;
  }

  std::optional<RowPlay> playOf(const SourceValue& value, int part) {
    const auto* v = check_.required(value, "play", "play = \"...\", such as \"1\", \"1+5\" or \"C\"");
    if (v == nullptr) return std::nullopt;
    std::string expected = "a text such as \"1\", \"1+5\" or \"C\"";
    std::optional<RowPlay> play;
    if (v->kind == SourceKind::text || v->kind == SourceKind::integer)
      play = parsePlay(v->kind == SourceKind::text ? v->text : std::to_string(v->integer),
                       idiom_.parts[static_cast<std::size_t>(part)].kind, expected);
    if (!play) check_.fault(v->place, described(*v), expected);
    return play;
  }

  /// One row is one step; a crushed note makes two, and a blue third a third one for chords it does not fit.
  void place(const Step& step, const RowPlay& row, Place where, std::vector<PlacedStep>& placed) {
    Step plain = step;
    plain.play = row.play;
    if (!row.crushed) return placed.push_back({plain, where});
    const auto gap = ticksOf(draft_.crush, idiom_.meter.beat()).value_or(Ticks{0});
    if (gap >= step.length || gap <= Ticks{0})
      return check_.fault(where, "a crushed note as long as its step", "a step longer than the crush");
    const bool blue = row.blueThird();
    Step crushed = step;
    crushed.play = row.crushedNote;
    crushed.length = gap;
    crushed.condition = blue ? Condition::majorThirdWithRoom : Condition::always;
    Step goal = plain;
    goal.at = step.at + gap;
    goal.length = step.length - gap;
    goal.condition = crushed.condition;
    plain.condition = Condition::noMajorThirdOrNoRoom;
    placed.push_back({crushed, where});
    placed.push_back({goal, where});
    if (blue) placed.push_back({plain, where});
  }

  IdiomDraft& draft_;
  Idiom& idiom_;
  Checker& check_;
  Density density_;
};

/// A missing density is the nearest leaner one, or else the nearest fuller. A density that the file has itself borrows
/// from the leaner ones what every density needs: vamp, hold, cadence, end and the short forms. Answer and lift belong
/// to their own statement and are never borrowed.
void lendFigures(Idiom& idiom) {
  auto& d = idiom.density;
  for (std::size_t i = 1; i < densities; ++i) {
    if (!d[i - 1].statement.there()) continue;
    if (!d[i].written) {
      d[i] = d[i - 1];
      d[i].written = false;
      continue;
    }
    for (const auto member :
         {&DensityFigures::vamp, &DensityFigures::hold, &DensityFigures::cadence, &DensityFigures::end})
      if (!(d[i].*member).there()) d[i].*member = d[i - 1].*member;
    if (d[i].shortCount == 0) {
      d[i].shortCount = d[i - 1].shortCount;
      d[i].shortForms = d[i - 1].shortForms;
    }
  }
  for (std::size_t i = densities - 1; i-- > 0;)
    if (!d[i].written && !d[i].statement.there()) {
      d[i] = d[i + 1];
      d[i].written = false;
    }
}

void compileFigures(IdiomDraft& draft, const SourceValue& root) {
  bool any = false;
  for (std::size_t i = 0; i < densities; ++i)
    if (const auto* m = root.member(densityNames[i])) {
      any = true;
      FigureCompiler(draft, static_cast<Density>(i)).compile(m->value);
    }
  if (!any) draft.check.fault(root.place, "no figures", "at least one of [lean], [medium] and [full]");
  lendFigures(draft.idiom);
}

}  // namespace

IdiomResult compileIdiom(std::string_view text, std::string_view name) {
  IdiomResult result;
  const auto root = parseSource(text, name, result.faults);
  if (!root) return result;
  auto idiom = std::make_unique<Idiom>();
  Checker check(name, result.faults);
  IdiomDraft draft{*idiom, check, {}, {}, {1, 12}, true};
  Head(draft, *root, name).compile();
  compileFigures(draft, *root);
  std::stable_sort(result.faults.begin(), result.faults.end(), [](const Fault& a, const Fault& b) {
    return std::pair(a.line, a.column) < std::pair(b.line, b.column);
  });
  if (!result.faults.empty()) return result;
  idiom->text = text;
  result.idiom = std::move(idiom);
  return result;
}

}  // namespace seguente
