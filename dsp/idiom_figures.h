// Compiles the figures of a pattern file, density by density. Only idiom_compile.cpp includes this header.
#pragma once

#include <algorithm>
#include <array>
#include <functional>
#include <map>
#include <optional>
#include <string>
#include <tuple>
#include <vector>

#include "dsp/harmony.h"
#include "dsp/idiom_draft.h"
#include "dsp/idiom_hand.h"
#include "dsp/idiom_keys.h"
#include "dsp/idiom_steps.h"

namespace seguente {

inline constexpr std::array<FigureRef DensityFigures::*, 10> figureMembers{
    &DensityFigures::statement,   &DensityFigures::answer,    &DensityFigures::lift, &DensityFigures::vamp,
    &DensityFigures::hold,        &DensityFigures::cadence,   &DensityFigures::end,  &DensityFigures::fullCadence,
    &DensityFigures::halfCadence, &DensityFigures::turnaround};
inline constexpr std::array<std::string_view, densities> densityNames{"lean", "medium", "full"};

/// The figures of one density. [message]
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

  /// The percussion part's own figure, written once for all densities.
  void percussion(const SourceValue& value) {
    const auto [rows, length] = rowsOf(value);
    if (rows == nullptr || !check_.isList(*rows, "a list of rows for the percussion")) return;
    std::vector<PlacedStep> placed;
    for (std::size_t i = 0; i < rows->list.size() && i <= limits::stepsPerFigure; ++i)
      row(rows->list[i], static_cast<std::uint8_t>(i), length, placed);
    for (const auto& p : placed)
      if (p.step.play.kind != PlayKind::percussion)
        check_.fault(p.place, "a row of part " + quotedText(idiom_.parts[p.step.part].name), "a percussion part");
    draft_.percussion = std::move(placed);
    draft_.percussionLength = length;
  }

 private:
  struct Rows {
    const SourceValue* rows = nullptr;  // null when something was wrong
    Ticks length{};
  };

  /// A figure is a list of rows, one bar long, or a table that says how many bars.
  Rows rowsOf(const SourceValue& value) {
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
    return {rows, idiom_.meter.bar() * bars};
  }

  FigureRef figure(const SourceValue& value, FigureKind kind) {
    const auto [rows, length] = rowsOf(value);
    return rows != nullptr ? steps(*rows, kind, length) : FigureRef{};
  }

  void addPercussion(FigureKind kind, Ticks length, std::vector<PlacedStep>& placed) const {
    if (kind > FigureKind::vamp || draft_.percussionLength <= Ticks{0}) return;
    for (Ticks start{}; start < length; start = start + draft_.percussionLength)
      for (PlacedStep p : draft_.percussion) {
        p.step.at = p.step.at + start;
        if (p.step.at < length) placed.push_back(p);
      }
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
    kind_ = kind;
    for (std::size_t i = 0; i < rows.list.size() && i <= limits::stepsPerFigure; ++i)
      row(rows.list[i], static_cast<std::uint8_t>(i), length, placed);
    addPercussion(kind, length, placed);
    if (placed.size() > limits::stepsPerFigure)
      check_.fault(rows.place, "more than " + std::to_string(limits::stepsPerFigure) + " strokes",
                   "at most " + std::to_string(limits::stepsPerFigure) + " in a figure (the cap stepsPerFigure)");
    std::stable_sort(placed.begin(), placed.end(), [this](const PlacedStep& a, const PlacedStep& b) {
      const auto key = [this](const Step& s) {
        // A line is sought under what sounded before; then the bass, which the chord lies above.
        const int order = s.play.kind == PlayKind::line ? 0 : idiom_.parts[s.part].kind == PartKind::bass ? 1 : 2;
        return std::tuple(s.at, order, s.part, s.row);
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
    const bool harmony = over(value, step);
    const bool answering = answers(value, step);
    if (!inTime || !play || !harmony || !answering) return;
    step.part = static_cast<std::uint8_t>(*part);
    if (play->play.kind == PlayKind::line) {
      if (step.condition != Condition::always)
        return check_.fault(value.place, "a counter-line in a turnaround or an answer to the tune", "it elsewhere");
      step.condition = Condition::apart;
    }
    if (step.condition != Condition::always && play->crushed)
      return check_.fault(value.place, "a crushed note in a turnaround or an answer to the tune", "a plain one");
    place(step, *play, value.place, placed);
  }

  /// The chord that a row of a turnaround is struck over; of other figures it is always the one that is held.
  bool over(const SourceValue& row, Step& step) {
    const auto* m = row.member("over");
    if (kind_ == FigureKind::turnaround) step.condition = Condition::apart;
    if (m == nullptr) return true;
    constexpr std::string_view wanted =
        "a chord by its numeral, the chord that is held being I: \"vi\", \"ii7\", \"V7\"";
    const auto chord = m->value.kind == SourceKind::text ? parseNumeral(m->value.text) : std::nullopt;
    if (kind_ != FigureKind::turnaround)
      check_.fault(m->place, "key \"over\" outside a turnaround", "no other figure has chords of its own");
    else if (!chord)
      check_.fault(m->value.place, described(m->value), std::string(wanted));
    else
      return placeOf(*chord, m->value.place, step);
    return false;
  }

  /// Struck only where the tune leaves room. Such rows are of full density, and of figures that go round.
  bool answers(const SourceValue& row, Step& step) {
    const auto* m = row.member("answers");
    if (m == nullptr) return true;
    const auto wish = check_.truth(m->value);
    if (!wish || !*wish) return wish.has_value();
    const bool goesRound = kind_ <= FigureKind::lift;
    if (density_ != Density::full || !goesRound)
      check_.fault(m->place, "a row that answers the tune",
                   density_ != Density::full ? "it in [full] only: leaner, the hands are busy enough"
                                             : "it in statement, answer or lift only");
    step.condition = Condition::tuneRests;
    return density_ == Density::full && goesRound;
  }

  bool placeOf(const Chord& chord, Place where, Step& step) {
    auto& chords = idiom_.chords;
    if (chords.empty()) chords.push_back(*parseNumeral("I"));
    const auto found = std::find(chords.begin(), chords.end(), chord);
    step.over = static_cast<std::uint8_t>(found - chords.begin());
    if (found != chords.end()) return true;
    if (chords.size() == limits::turnaroundChords) {
      check_.fault(where, "more than " + std::to_string(limits::turnaroundChords) + " chords of turnarounds",
                   "fewer (the cap turnaroundChords)");
      return false;
    }
    chords.push_back(chord);
    return true;
  }

  /// Where the step stands and how long it sounds. In an idiom of any meter a step fills the bar.
  bool time(const SourceValue& value, Ticks figureLength, Step& step) {
    const auto* at = check_.required(value, "beat", "beat = 1, counted from 1");
    const auto* length = value.member("length") ? &value.member("length")->value : nullptr;
    if (length == nullptr && !idiom_.anyMeter) check_.fault(value.place, "no key \"length\"", "length = 1, in beats");
    std::optional<Ticks> start;
    Ticks from{};  // beside the optional: g++ 12 at -O2 takes it for uninitialised
    if (at != nullptr) start = beatAt(*at, figureLength);
    if (start) from = *start;
    if (idiom_.anyMeter) return timeInAnyMeter(at, length, figureLength, start, step);
    const auto sounding = length ? lengthOf(*length) : std::nullopt;
    if (!start || !sounding) return false;
    if (from + *sounding > figureLength * 2) {
      check_.fault(length->place, described(*length) + " beats", "an end no later than that of the next round");
      return false;
    }
    step.at = from;
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
    if (play && play->play.kind == PlayKind::line && density_ != Density::full) {
      check_.fault(v->place, "a counter-line", "it in [full] only: leaner, the hands are busy enough");
      return std::nullopt;
    }
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
  FigureKind kind_ = FigureKind::statement;  // that is being read
};

/// A missing density is the nearest leaner one, or else the nearest fuller. A density that the file has itself borrows
/// from the leaner ones what every density needs: vamp, hold, cadence, end and the short forms. Answer and lift belong
/// to their own statement and are never borrowed.
inline void lendFigures(Idiom& idiom) {
  auto& d = idiom.density;
  for (std::size_t i = 1; i < densities; ++i) {
    if (!d[i - 1].statement.there()) continue;
    if (!d[i].written) {
      d[i] = d[i - 1];
      d[i].written = false;
      continue;
    }
    for (const auto member :
         {&DensityFigures::vamp, &DensityFigures::hold, &DensityFigures::cadence, &DensityFigures::end,
          &DensityFigures::fullCadence, &DensityFigures::halfCadence, &DensityFigures::turnaround})
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

/// How far each part's degrees go above its root: by the major scale and a semitone more (a raised fifth, a fourth for
/// the third).
inline void measureReach(Idiom& idiom) {
  for (const Step& step : idiom.steps) {
    if (step.play.kind != PlayKind::degrees) continue;
    auto& reach = idiom.parts[step.part].reach;
    for (std::size_t d = 0; d < step.play.count; ++d)
      if (const int up = leanHand::semitonesOf(step.play.degrees[d]); up > 0)
        reach = std::max(reach, static_cast<std::uint8_t>(up + 1));
  }
}

inline void markPairs(Idiom& idiom) {
  const auto whole = [&](Ticks t) { return t.value % idiom.swingPair.value == 0; };
  for (Step& step : idiom.steps) {
    step.atPair = whole(step.at);
    step.toPair = whole(step.at + step.length);
  }
}

/// Compiles lean, medium and full into the draft, and lends missing figures. [message]
inline void compileFigures(IdiomDraft& draft, const SourceValue& root) {
  bool any = false;
  if (const auto* m = root.member("percussion")) FigureCompiler(draft, Density::medium).percussion(m->value);
  for (std::size_t i = 0; i < densities; ++i)
    if (const auto* m = root.member(densityNames[i])) {
      any = true;
      FigureCompiler(draft, static_cast<Density>(i)).compile(m->value);
    }
  if (!any) draft.check.fault(root.place, "no figures", "at least one of [lean], [medium] and [full]");
  lendFigures(draft.idiom);
  measureReach(draft.idiom);
  markPairs(draft.idiom);
}

}  // namespace seguente
