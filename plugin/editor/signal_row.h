// The player's six signals as targets, and under each what else gives it: a pedal, a controller or a key, chosen by
// pressing it.
#pragma once

#include <array>
#include <memory>

#include "plugin/editor/element.h"
#include "plugin/session.h"
#include "plugin/signals.h"
#include "plugin/view.h"

namespace seguente::screen {

/// Given at the press, not at the release: it is music.
class SignalTarget final : public Element {
 public:
  SignalTarget(const Look& look, Session& session, Signal signal);
  void refresh(const View& view);
  std::vector<PlacedText> texts() const override;
  std::vector<juce::Rectangle<int>> targets() const override { return {getLocalBounds().reduced(edge)}; }
  bool keyPressed(const juce::KeyPress& key) override;
  void mouseDown(const juce::MouseEvent&) override { act(); }

 private:
  void drawMarks(juce::Graphics& g) const override;
  void act() override { session_.give(signal_); }
  bool hasSign() const { return signal_ == Signal::hold || signal_ == Signal::goOn || signal_ == Signal::end; }
  juce::String word() const;

  Session& session_;
  Signal signal_;
  bool on_ = false;      // holding
  bool usable_ = false;  // something sounds that it could mean
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

class SignalRow final : public juce::Component {
 public:
  static constexpr int height = 74;
  SignalRow(const Look& look, Session& session, SignalMap& map);
  void refresh(const View& view);
  void resized() override;
  template <class Visit>
  void forEach(Visit&& visit) {
    for (auto& target : targets_) visit(*target);
    for (auto& giver : givers_) visit(*giver);
  }

 private:
  std::array<std::unique_ptr<SignalTarget>, signalCount> targets_;
  std::array<std::unique_ptr<GiverTarget>, signalCount> givers_;
};

}  // namespace seguente::screen
