// A keyboard, drawn plainly: what is held has a black outline and an open head, the melody is blue with a filled head,
// the accompaniment vermillion and hatched, what is due next a dashed frame. Over it fingers of lean figures, under it
// the wedge where the hands part. Only keys that change are drawn anew.
#pragma once

#include <array>

#include "plugin/editor/element.h"
#include "plugin/editor/keyboard_keys.h"
#include "plugin/parameters.h"
#include "plugin/view.h"

namespace seguente::screen {

class KeyboardView final : public Element {
 public:
  explicit KeyboardView(const Look& look);
  /// What is due next, and the fingers of a lean figure by key (0: none).
  struct Due {
    KeySet next;
    std::array<int, 128> fingers{};
    friend bool operator==(const Due&, const Due&) = default;
  };
  void refresh(const View& view, const ParameterValues& values, const Due& due);
  /// A key is pressed or let go, by mouse or by Space; null while nobody plays from the screen.
  std::function<void(NoteNumber, bool down)> play;
  std::vector<PlacedText> texts() const override;
  void paint(juce::Graphics& g) override;
  void resized() override;
  juce::String remark() const override;
  bool keyPressed(const juce::KeyPress& key) override;
  bool keyStateChanged(bool isKeyDown) override;
  void mouseDown(const juce::MouseEvent& event) override;
  void mouseDrag(const juce::MouseEvent& event) override;
  void mouseUp(const juce::MouseEvent& event) override;
  void focusLost(FocusChangeType cause) override;
  const KeyboardKeys& keys() const { return keys_; }

 private:
  struct Sounds {
    KeySet held, melody, accompaniment, next;
  };
  struct Hands {
    juce::String left, right;
    int wedge = -1;  // the melody's lowest key; -1: the hands part otherwise
    friend bool operator==(const Hands&, const Hands&) = default;
  };
  void drawKey(juce::Graphics& g, int key) const;
  juce::String outside(bool lower) const;
  void say();
  int keyAt(juce::Point<float> at) const;
  void press(int key);

  KeyboardKeys keys_;
  Sounds sounds_;
  Hands hands_;
  std::array<int, 128> fingers_{};
  int pressed_ = -1;             // by mouse or Space
  int cursor_ = -1;              // a key, by arrows
  juce::String lower_, higher_;  // what sounds beyond the keys that are shown
};

/// "C4", with its accidental as a sharp where it has one.
juce::String keyName(int key);
/// The names of keys, from the bottom: "C3 E3 G3".
juce::String keyNames(const KeySet& keys);

// The four marks, in a key's lower end or in the legend.
void drawHeldHead(juce::Graphics& g, juce::Rectangle<float> place, juce::Colour line, juce::Colour hole);
void drawMelodyHead(juce::Graphics& g, juce::Rectangle<float> place, juce::Colour fill);
void drawNext(juce::Graphics& g, juce::Rectangle<float> place, juce::Colour line);
void drawHatching(juce::Graphics& g, juce::Rectangle<float> place, juce::Colour line, juce::Colour ground);

/// What the marks mean, in words.
class Legend final : public Element {
 public:
  explicit Legend(const Look& look);
  int widthNeeded() const;
  std::vector<PlacedText> texts() const override;

 private:
  void drawMarks(juce::Graphics& g) const override;
  std::vector<juce::Rectangle<int>> marks() const;
};

}  // namespace seguente::screen
