// The player's signals as targets: four under the page with the fields that are changed while playing; all, each
// with the pedal, controller or key that gives it, under Settings.
#pragma once

#include <array>
#include <memory>
#include <vector>

#include "plugin/editor/parameter_control.h"
#include "plugin/session.h"
#include "plugin/signals.h"
#include "plugin/view.h"

namespace seguente::screen {

/// Given at the press, not at the release: it is music.
class SignalTarget final : public Element {
 public:
  SignalTarget(const Look& look, Session& session, Signal signal);
  /// Large type, for the stand.
  void setLarge(bool large) { large_ = large; }
  /// The letter of the computer's keyboard that gives it; empty while letters are off.
  void setLetter(const juce::String& letter) { show(*this, letter_, letter); }
  /// What it would bring, said after its word.
  void setDetail(const juce::String& detail) { show(*this, detail_, detail); }
  Signal signal() const { return signal_; }
  int widthNeeded() const;
  void refresh(const View& view);
  std::vector<PlacedText> texts() const override;
  std::vector<juce::Rectangle<int>> targets() const override { return {getLocalBounds().reduced(edge)}; }
  bool keyPressed(const juce::KeyPress& key) override;
  void mouseDown(const juce::MouseEvent&) override { act(); }

 private:
  void drawMarks(juce::Graphics& g) const override;
  void act() override { session_.give(signal_); }
  bool hasSign() const {
    return signal_ == Signal::hold || signal_ == Signal::goOn || signal_ == Signal::end || signal_ == Signal::round;
  }
  juce::String word() const;
  int signWidth() const;

  Session& session_;
  Signal signal_;
  bool on_ = false;      // holding, or a round goes
  bool usable_ = false;  // something sounds that it could mean
  bool large_ = false;
  juce::String letter_, detail_;
};

/// "pedal or key", then what was pressed; while it listens: cancel.
class GiverTarget final : public Element {
 public:
  GiverTarget(const Look& look, SignalMap& map, Signal signal);
  void refresh();
  std::vector<PlacedText> texts() const override;
  std::vector<juce::Rectangle<int>> targets() const override;
  bool keyPressed(const juce::KeyPress& key) override;
  void mouseDown(const juce::MouseEvent& event) override;
  juce::String remark() const override;

 private:
  struct Shown {
    Giver giver;
    bool listens = false;
    friend bool operator==(Shown, Shown) = default;
  };
  void drawMarks(juce::Graphics& g) const override;
  void act() override;
  void takeAway();
  void say();

  SignalMap& map_;
  Signal signal_;
  Shown shown_;
};

/// The row under the page: the fields that are changed while playing, the four signals, and silence.
class PlayRow final : public juce::Component {
 public:
  PlayRow(const Look& look, Processor& processor);
  void refresh(const View& view);
  void refreshValues();
  void resized() override;
  static int heightFor(int pageHeight) { return pageHeight < 600 ? 50 : 60; }
  template <class Visit>
  void forEach(Visit&& visit) {
    for (auto& field : fields_) visit(*field);
    for (auto& target : targets_) visit(*target);
  }

 private:
  std::vector<std::unique_ptr<ParameterControl>> fields_;
  std::vector<std::unique_ptr<SignalTarget>> targets_;
};

/// Every signal with what gives it: a pedal, a controller or a key. Stands under Settings.
class SignalRows final : public juce::Component {
 public:
  SignalRows(const Look& look, Session& session, SignalMap& map);
  void refresh(const View& view);
  int heightFor(int width) const;
  void resized() override;
  template <class Visit>
  void forEach(Visit&& visit) {
    for (std::size_t i = 0; i < signalCount; ++i) {
      visit(*targets_[i]);
      visit(*givers_[i]);
    }
  }

 private:
  std::array<std::unique_ptr<SignalTarget>, signalCount> targets_;
  std::array<std::unique_ptr<GiverTarget>, signalCount> givers_;
};

}  // namespace seguente::screen
