// The open book: contents on the left page, the score and how it is made on the right.
#pragma once

#include <memory>
#include <vector>

#include "plugin/editor/edit_band.h"
#include "plugin/editor/find_field.h"
#include "plugin/editor/made_view.h"
#include "plugin/editor/playing_in_panel.h"
#include "plugin/editor/preview.h"
#include "plugin/editor/score_view.h"
#include "plugin/editor/shelf_list.h"
#include "plugin/editor/time_view.h"
#include "plugin/editor/word_choice.h"

namespace seguente::screen {

/// The left page: heading, the field in which one seeks, the list, and where one plays in one's own.
class ContentsPage final : public juce::Component {
 public:
  ContentsPage(const Look& look, Processor& processor);
  void refresh() {
    list_.refresh();
    playIn_.refresh();
  }
  void resized() override;
  void recolour() { scroll_.recolour(); }
  FindField& field() { return field_; }
  ShelfList& list() { return list_; }
  PlayingInPanel& playIn() { return playIn_; }
  /// Letters are words, not signals or notes.
  bool typing() const { return field_.hasKeyboardFocus(true) || playIn_.typing(); }
  template <class Visit>
  void forEach(Visit&& visit) {
    visit(heading_);
    visit(field_);
    visit(list_);
    playIn_.forEach(visit);
  }

 private:
  class Heading final : public Element {
   public:
    explicit Heading(const Look& look);
    std::vector<PlacedText> texts() const override;
  };
  Heading heading_;
  FindField field_;
  Scroll scroll_;
  ShelfList list_;
  PlayingInPanel playIn_;
};

class DeskPage final : public juce::Component {
 public:
  DeskPage(const Look& look, Processor& processor, ContentsPage& contents);
  void refresh(const View& view);
  void resized() override;
  void paint(juce::Graphics& g) override;
  /// Too narrow for two pages: contents are opened over the score.
  static bool folds(int width) { return width < 1040 - 32; }
  ScoreView& score() { return score_; }
  const Preview& preview() const { return preview_; }
  EditBand& editing() { return band_; }
  bool typing() const { return band_.typing(); }
  MadeView& made() { return made_; }
  /// Stands on the right page in the score's place, and is laid out with it; null gives the score back.
  void showInstead(juce::Component* page);
  bool showsScore() const { return instead_ == nullptr; }
  void setTitleLine(const juce::String& title) { time_.setPiece(title); }
  template <class Visit>
  void forEach(Visit&& visit) {
    visit(time_);
    visit(score_);
    band_.forEach(visit);
    visit(made_);
    visit(edit_);
    visit(density_);
  }

 private:
  void chooseDensity(int which);
  void sound(const std::vector<page::ReadNote>& notes, double secondsAQuarter);
  void placeScore(juce::Rectangle<int> area);
  void showParts();

  const Look& look_;
  Processor& processor_;
  ContentsPage& contents_;
  Preview preview_;
  TimeView time_;
  ScoreView score_;
  EditBand band_;
  MadeView made_;
  WordTarget edit_;
  WordChoice density_;
  juce::Component* instead_ = nullptr;  // lent
};

}  // namespace seguente::screen
