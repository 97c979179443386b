// FluidSynth behind a few words, found at run time.
#pragma once

#include <cstdint>
#include <memory>
#include <string>

namespace seguente {

/// Owned by one thread. [message]
class Synthesiser {
 public:
  Synthesiser();
  ~Synthesiser();
  Synthesiser(const Synthesiser&) = delete;
  Synthesiser& operator=(const Synthesiser&) = delete;

  /// Loads the library and the soundfont. Returns one line or "".
  std::string open(const std::string& soundfont, std::int64_t rate);
  /// A voice message, now.
  void send(const std::uint8_t bytes[3]);
  /// `frames` more samples, left and right by turns, into 2 x frames floats.
  void sound(float* into, int frames);

 private:
  struct Body;
  std::unique_ptr<Body> body_;
};

/// The soundfont to use: `wanted`, or the first installed one. Empty when there is none. [message]
std::string findSoundfont(const std::string& wanted);

}  // namespace seguente
