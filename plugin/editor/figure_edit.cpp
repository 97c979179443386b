#include "plugin/editor/figure_edit.h"

#include <algorithm>

#include "plugin/editor/keep_own.h"
#include "plugin/editor/strings.h"
#include "plugin/own_files.h"
#include "plugin/processor.h"

namespace seguente::screen {
namespace {

constexpr int gridParts = 4;
constexpr int strongest = 3;

Density densityOf(Processor& processor) {
  return static_cast<Density>(static_cast<int>(processor.values().get(ParameterId::density)));
}

}  // namespace

bool FigureEdit::begin() {
  fault_.clear();
  slot_ = processor_.session().slot();
  auto text = processor_.shelf().text(static_cast<std::size_t>(slot_));
  if (text.file.empty()) return false;
  PatternEdit edit(std::move(text.text));
  if (!edit.good()) return false;
  edit_ = std::move(edit);
  file_ = std::move(text.file);
  density_ = densityOf(processor_);
  chosen_ = 0;
  read();
  suggestGrid();
  return true;
}

bool FigureEdit::beginCopy(const std::string& title) {
  const auto text = processor_.shelf().text(static_cast<std::size_t>(processor_.session().slot()));
  fault_ = keepOwn(processor_, title, [&](const std::string& id, const std::string& called) {
    return renamedPattern(text.text, id, called).value_or(std::string());
  });
  return fault_.empty() && begin();
}

void FigureEdit::end() {
  edit_.reset();
  rows_.clear();
  fault_.clear();
}

bool FigureEdit::refresh() {
  if (!on()) return false;
  if (slot_ != processor_.session().slot()) {
    end();
    return true;
  }
  bool other = false;
  const auto now = processor_.shelf().text(static_cast<std::size_t>(slot_));
  if (now.text != edit_->text() && !now.file.empty()) {  // saved by another program: that is what is edited now
    if (PatternEdit fresh(now.text); fresh.good()) {
      edit_ = std::move(fresh);
      other = true;
    }
  }
  if (density_ != densityOf(processor_)) {
    density_ = densityOf(processor_);
    chosen_ = 0;
    other = true;
  }
  if (other) read();
  return other;
}

void FigureEdit::read() {
  rows_.clear();
  const auto density = edit_->written(density_);
  for (const auto kind : {FigureKind::statement, FigureKind::answer, FigureKind::lift}) {
    const FigureName figure{density, kind};
    const auto steps = edit_->steps(figure);
    const auto first = static_cast<std::ptrdiff_t>(rows_.size());
    for (std::size_t row = 0; row < steps.size(); ++row) rows_.push_back({figure, row, steps[row]});
    std::stable_sort(rows_.begin() + first, rows_.end(),
                     [](const Row& a, const Row& b) { return a.step.at < b.step.at; });
  }
  chosen_ = rows_.empty() ? 0 : std::min(chosen_, rows_.size() - 1);
}

/// The plainest in which the figure fits.
void FigureEdit::suggestGrid() {
  for (const int part : {2, 3, 4}) {
    gridPart_ = part;
    const auto fits = [&](const Row& row) { return row.step.at.value % grid().value == 0; };
    if (std::all_of(rows_.begin(), rows_.end(), fits)) return;
  }
  gridPart_ = 4;
}

Ticks FigureEdit::grid() const { return Ticks{meter().beat().value / gridPart_}; }

void FigureEdit::choose(FigureKind figure, std::size_t row) {
  for (std::size_t i = 0; i < rows_.size(); ++i)
    if (rows_[i].figure.figure == figure && rows_[i].row == row) chosen_ = i;
}

bool FigureEdit::can(EditAct act) const {
  if (!on()) return false;
  if (act == EditAct::undo) return edit_->canUndo();
  if (act == EditAct::redo) return edit_->canRedo();
  return true;
}

bool FigureEdit::does(EditAct act) {
  if (!on()) return false;
  fault_.clear();
  if (act == EditAct::undo) return made(edit_->undo());
  if (act == EditAct::redo) return made(edit_->redo());
  if (act == EditAct::grid) {
    gridPart_ = gridPart_ % gridParts + 1;
    return true;
  }
  const auto* row = chosen();
  if (row == nullptr) return false;
  auto step = row->step;
  const auto figure = row->figure;
  const auto length = edit_->lengthOf(figure);
  switch (act) {
    case EditAct::back:
      chosen_ = chosen_ > 0 ? chosen_ - 1 : 0;
      return true;
    case EditAct::on:
      chosen_ = std::min(chosen_ + 1, rows_.size() - 1);
      return true;
    case EditAct::earlier:  // to the grid's next line, from wherever it lies
      step.at = Ticks{(floorDivide(step.at.value - 1, grid().value)) * grid().value};
      return step.at >= Ticks{} && change(step);
    case EditAct::later:
      step.at = Ticks{(floorDivide(step.at.value, grid().value) + 1) * grid().value};
      return step.at < length && change(step);
    case EditAct::shorter:
      step.length = Ticks{floorDivide(step.length.value - 1, grid().value) * grid().value};
      return step.length > Ticks{} && change(step);
    case EditAct::longer:
      step.length = Ticks{(floorDivide(step.length.value, grid().value) + 1) * grid().value};
      return change(step);
    case EditAct::lighter:
    case EditAct::heavier:
      step.stress += act == EditAct::heavier ? 1 : -1;
      return step.stress >= -strongest && step.stress <= strongest && change(step);
    case EditAct::lower:
    case EditAct::higher: {
      const auto& parts = edit_->idiom().parts;
      const auto part = std::find_if(parts.begin(), parts.end(), [&](const Part& p) { return p.name == step.part; });
      step.play =
          nextPlay(step.play, part == parts.end() ? PartKind::chords : part->kind, act == EditAct::higher ? 1 : -1);
      return change(step);
    }
    case EditAct::add: {
      if (step.at + grid() < length) step.at = step.at + grid();
      step.length = grid();
      step.stress = 0;
      const auto behind = row->row;
      if (!made(edit_->add(figure, behind, step))) return false;
      choose(figure.figure, behind + 1);
      return true;
    }
    case EditAct::remove:
      return made(edit_->remove(figure, row->row));
    case EditAct::undo:
    case EditAct::redo:
    case EditAct::grid:
      break;
  }
  return false;
}

bool FigureEdit::play(const std::string& text) {
  const auto* row = on() ? chosen() : nullptr;
  if (row == nullptr) return false;
  auto step = row->step;
  step.play = text;
  return change(step);
}

bool FigureEdit::change(const WrittenStep& to) {
  const auto row = *chosen();
  if (!made(edit_->change(row.figure, row.row, to))) return false;
  choose(row.figure.figure, row.row);  // where it stands in time may have changed
  return true;
}

bool FigureEdit::made(bool good) {
  if (!good) {
    fault_ = edit_->fault();
    return false;
  }
  read();
  return save();
}

/// What cannot be written is heard no more after this session, and is said.
bool FigureEdit::save() {
  if (keepAgain(file_, edit_->text()) != Kept::kept) {
    fault_ = words::cannotBeKept;
    return false;
  }
  processor_.shelf().look();
  return true;
}

}  // namespace seguente::screen
