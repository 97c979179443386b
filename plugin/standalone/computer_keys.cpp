#include "plugin/standalone/computer_keys.h"

#include <algorithm>

namespace seguente::home {

namespace {
struct Row {
  const char* name;
  std::array<NoteNumber, 3> keys;
};
constexpr Row asInCMajor[] = {{"Am", {{{45}, {48}, {52}}}}, {"Bdim", {{{47}, {50}, {53}}}}, {"C", {{{48}, {52}, {55}}}},
                              {"Dm", {{{50}, {53}, {57}}}}, {"Em", {{{47}, {52}, {55}}}},   {"F", {{{48}, {53}, {57}}}},
                              {"G7", {{{47}, {53}, {55}}}}};
constexpr Row otherModes[] = {{"A", {{{45}, {49}, {52}}}}, {"B", {{{47}, {51}, {54}}}}, {"Cm", {{{48}, {51}, {55}}}},
                              {"D", {{{50}, {54}, {57}}}}, {"E", {{{47}, {52}, {56}}}}, {"Fm", {{{48}, {53}, {56}}}},
                              {"Gm", {{{46}, {50}, {55}}}}};
bool isChord(char letter) { return letter >= 'A' && letter <= 'G'; }
const Row& rowOf(char letter, bool otherMode) { return (otherMode ? otherModes : asInCMajor)[letter - 'A']; }
}  // namespace

std::span<const NoteNumber> chordOf(char letter, bool otherMode) {
  if (!isChord(letter)) return {};
  return rowOf(letter, otherMode).keys;
}

const char* chordName(char letter, bool otherMode) { return isChord(letter) ? rowOf(letter, otherMode).name : ""; }

std::optional<NoteNumber> tuneKeyOf(char figure) {
  static constexpr std::uint8_t scale[] = {76, 60, 62, 64, 65, 67, 69, 71, 72, 74};  // 0, 1 to 9
  if (figure < '0' || figure > '9') return {};
  return NoteNumber{scale[figure - '0']};
}

/// The whole chord goes before the other comes, so that no key is of both.
void ComputerKeys::hold(const Letter* chord) {
  for (const auto key : sounding_) play_(key, false);
  sounding_.clear();
  if (chord == nullptr) return;
  for (const auto key : chordOf(chord->name, chord->otherMode)) {
    sounding_.push_back(key);
    play_(key, true);
  }
}

bool ComputerKeys::down(char key, bool shift) {
  if (isChord(key)) {
    const auto same = [key](const Letter& l) { return l.name == key; };
    if (std::any_of(letters_.begin(), letters_.end(), same)) return true;
    letters_.push_back({key, shift});
    hold(&letters_.back());
    return true;
  }
  const auto tune = tuneKeyOf(key);
  if (!tune) return false;
  if (std::find(figures_.begin(), figures_.end(), key) != figures_.end()) return true;
  figures_.push_back(key);
  play_(*tune, true);
  return true;
}

void ComputerKeys::letGoUnless(const std::function<bool(char)>& isDown) {
  std::erase_if(figures_, [&](char figure) {
    if (isDown(figure)) return false;
    play_(*tuneKeyOf(figure), false);
    return true;
  });
  if (letters_.empty()) return;
  const char held = letters_.back().name;
  std::erase_if(letters_, [&](const Letter& l) { return !isDown(l.name); });
  if (letters_.empty())
    hold(nullptr);
  else if (letters_.back().name != held)
    hold(&letters_.back());
}

void ComputerKeys::letGoAll() {
  letGoUnless([](char) { return false; });
}

}  // namespace seguente::home
