#include "dsp/hand_memory.h"

#include <algorithm>

namespace seguente {

namespace {
constexpr std::int64_t longestSpacing = 40000;

void follow(int& mean, int value, int parts) noexcept { mean += (value - mean) / parts; }
}  // namespace

std::size_t HandMemory::add(const HeardNote& note) noexcept {
  if (count_ == room) {
    std::size_t gone = 0;
    for (std::size_t i = 0; i < count_; ++i)
      if (!notes_[i].down && notes_[i].settled) {
        gone = i;
        break;
      }
    std::move(notes_.data() + gone + 1, notes_.data() + count_, notes_.data() + gone);
    --count_;
  }
  notes_[count_] = note;
  return count_++;
}

void HandMemory::release(std::uint8_t channel, std::uint8_t key, Tenths now) noexcept {
  for (std::size_t i = 0; i < count_; ++i)
    if (notes_[i].down && notes_[i].key == key && notes_[i].channel == channel) {
      notes_[i].down = false;
      habits_[static_cast<std::size_t>(notes_[i].hand)].up = now;
    }
}

void HandMemory::settle(std::size_t place) noexcept {
  HeardNote& note = notes_[place];
  note.settled = true;
  HandHabit& habit = habits_[static_cast<std::size_t>(note.hand)];
  const int key = note.key * 256;
  if (habit.notes == 0) {
    habit.centre256 = habit.slowCentre256 = key;
    habit.velocity256 = note.velocity * 256;
    habit.strike = note.on;
    habit.strikeNotes = 1;
  } else {
    follow(habit.centre256, key, 4);
    follow(habit.slowCentre256, key, 20);
    follow(habit.velocity256, note.velocity * 256, 10);
    if (note.on - habit.strike > strikeTenths) {
      const auto spacing = static_cast<int>(std::min(note.on - habit.strike, longestSpacing));
      habit.spacingTenths += (spacing - habit.spacingTenths) / (habit.spacingTenths == 0 ? 1 : 4);
      follow(habit.size256, habit.strikeNotes * 256, 4);
      if (note.offBeat256 >= 0) follow(habit.offBeat256, note.offBeat256, 8);
      habit.strike = note.on;
      habit.strikeNotes = 1;
    } else {
      ++habit.strikeNotes;
    }
  }
  habit.notes = std::min(habit.notes + 1, 64);
}

}  // namespace seguente
