// What a key was turned into when it was struck, so that its note-off, whenever it comes, ends the same key.
#pragma once

#include <array>
#include <cstdint>
#include <optional>

#include "dsp/limits.h"

namespace seguente {

/// [audio] throughout; no errors.
class NoteMap {
 public:
  NoteMap() noexcept {
    for (auto& channel : sounding_) channel.fill(none);
  }
  /// The key that sounds for a key struck now; what leaves the keyboard comes back by octaves.
  std::uint8_t strike(std::uint8_t channel, std::uint8_t key, int transpose) noexcept {
    const auto mapped = moved(key, transpose);
    sounding_[channel][key] = mapped;
    return mapped;
  }
  /// The key that was struck for it; an orphan is moved as a note-on would be now.
  std::uint8_t release(std::uint8_t channel, std::uint8_t key, int transpose) noexcept {
    const auto mapped = touch(channel, key, transpose);
    sounding_[channel][key] = none;
    return mapped;
  }
  /// The key that sounds for one that is down. errors: empty when it is not.
  std::optional<std::uint8_t> held(std::uint8_t channel, std::uint8_t key) const noexcept {
    const auto mapped = sounding_[channel][key];
    return mapped == none ? std::nullopt : std::optional(mapped);
  }
  /// Pressure on a key.
  std::uint8_t touch(std::uint8_t channel, std::uint8_t key, int transpose) const noexcept {
    const auto mapped = sounding_[channel][key];
    return mapped == none ? moved(key, transpose) : mapped;
  }
  /// Where a key is that is struck now.
  static constexpr std::uint8_t moved(int key, int transpose) noexcept {
    key += transpose;
    while (key < 0) key += 12;
    while (key > 127) key -= 12;
    return static_cast<std::uint8_t>(key);
  }

 private:
  static constexpr std::uint8_t none = 0xFF;
  std::array<std::array<std::uint8_t, limits::keys>, limits::channels> sounding_{};
};

}  // namespace seguente
