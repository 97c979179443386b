// The stand, for playing to people: the chord, the count, what comes, and five large targets, legible from two metres.
#pragma once

#include <vector>

#include "plugin/editor/signal_row.h"

namespace seguente {
class LiveScore;
}

namespace seguente::screen {

/// Chord, count and a line of slashes.
class StandView final : public Element {
 public:
  explicit StandView(const Look& look);
  /// piece, remark: of the running order that is open; empty without one.
  void refresh(LiveScore& score, const juce::String& idiom, const juce::String& piece, const juce::String& remark);
  /// Takes the line's place for a while, at its size.
  void setMessage(const juce::String& message) { show(*this, message_, message); }
  void setPiece(const juce::String& piece) { show(*this, piece_, piece); }
  static constexpr int highest = 640;  // of all that it shows, at the usual size
  std::vector<PlacedText> texts() const override;
  float unit() const;  // 1 at 1280 by 800

 private:
  struct Bar {
    juce::String chord;
    bool now = false, known = false;
    friend bool operator==(const Bar&, const Bar&) = default;
  };
  struct Shown {
    juce::String chord, numeral, idiom;
    juce::String then, thenSaid;  // the chord that is expected next; empty: nobody knows
    juce::String round;           // of a round that is kept going
    juce::String piece, remark;   // of the running order
    std::int64_t bar = 0;
    int beat = 0, beats = 4;
    bool playing = false, holding = false;
    std::vector<Bar> bars;  // four: the one before, this one, those to come
    friend bool operator==(const Shown&, const Shown&) = default;
  };
  void drawMarks(juce::Graphics& g) const override;
  int countWidth() const { return shown_.then.isEmpty() ? 620 : 400; }  // "then" takes the place to its right
  juce::Rectangle<int> area(int x, int y, int wide, int high) const;

  Shown shown_;
  juce::String message_, piece_;
};

/// Back to the desk: one word, as large as all else here.
class LeaveTarget final : public Element {
 public:
  explicit LeaveTarget(const Look& look);
  std::function<void()> press;
  int widthFor(int high) const;
  std::vector<PlacedText> texts() const override;
  std::vector<juce::Rectangle<int>> targets() const override { return {getLocalBounds()}; }
  bool keyPressed(const juce::KeyPress& key) override;
  void mouseDown(const juce::MouseEvent&) override { act(); }

 private:
  static float emFor(int high) { return type::stand * static_cast<float>(high) / 56; }
  void drawMarks(juce::Graphics& g) const override;
  void act() override {
    if (press) press();
  }
};

class StandPage final : public juce::Component {
 public:
  StandPage(const Look& look, Processor& processor);
  void refresh(const View& view);
  void resized() override;
  void setMessage(const juce::String& message) { view_.setMessage(message); }
  void setPiece(const juce::String& piece) { view_.setPiece(piece); }
  std::function<void()> leave;
  std::vector<SignalTarget*> targets();
  template <class Visit>
  void forEach(Visit&& visit) {
    visit(view_);
    visit(leave_);
    for (auto& target : targets_) visit(*target);
  }

 private:
  Processor& processor_;
  StandView view_;
  LeaveTarget leave_;
  std::vector<std::unique_ptr<SignalTarget>> targets_;
};

}  // namespace seguente::screen
