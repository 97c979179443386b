#include "plugin/commandline/words.h"

#include <charconv>
#include <cmath>

#include "dsp/harmony.h"

namespace seguente {

namespace {

/// A whole number, all of the word. False when it is none.
bool wholeNumber(std::string_view word, int& value) {
  const auto [end, error] = std::from_chars(word.data(), word.data() + word.size(), value);
  return error == std::errc{} && end == word.data() + word.size();
}

bool decimal(std::string_view word, double& value) {
  const auto [end, error] = std::from_chars(word.data(), word.data() + word.size(), value);
  return error == std::errc{} && end == word.data() + word.size() && std::isfinite(value);
}

}  // namespace

Checked<NoteNumber> readNote(std::string_view word) {
  int number = 0;
  if (wholeNumber(word, number) && number >= 0 && number <= 127)
    return good(NoteNumber{static_cast<std::uint8_t>(number)});
  const std::string fault = "expected a key as C4 (the middle one), Bb3 or a number 0 to 127";
  constexpr int natural[7] = {9, 11, 0, 2, 4, 5, 7};  // A B C D E F G
  if (word.empty()) return bad<NoteNumber>(fault);
  const char letter = static_cast<char>(word[0] & ~0x20);
  if (letter < 'A' || letter > 'G') return bad<NoteNumber>(fault);
  std::size_t at = 1;
  int key = natural[letter - 'A'];
  for (; at < word.size() && (word[at] == '#' || word[at] == 'b'); ++at) key += word[at] == '#' ? 1 : -1;
  int octave = 0;
  if (!wholeNumber(word.substr(at), octave) || octave < -1 || octave > 9) return bad<NoteNumber>(fault);
  key += 12 * (octave + 1);
  if (key < 0 || key > 127) return bad<NoteNumber>(fault);
  return good(NoteNumber{static_cast<std::uint8_t>(key)});
}

std::string noteName(NoteNumber note) {
  constexpr const char* names[12] = {"C", "C#", "D", "D#", "E", "F", "F#", "G", "G#", "A", "A#", "B"};
  return names[note.value % 12] + std::to_string(note.value / 12 - 1);
}

Checked<Meter> readMeter(std::string_view word) {
  const auto slash = word.find('/');
  int n = 0;
  int d = 0;
  const bool two = slash != std::string_view::npos && wholeNumber(word.substr(0, slash), n) &&
                   wholeNumber(word.substr(slash + 1), d);
  if (two && n >= 1 && n <= 32 && d >= 1 && d <= 32) {
    const Meter meter{static_cast<std::uint8_t>(n), static_cast<std::uint8_t>(d)};
    if (meter.valid()) return good(meter);
  }
  return bad<Meter>("expected a meter as 3/4 or 6/8");
}

Checked<Ticks> readQuarters(std::string_view word) {
  const auto slash = word.find('/');
  if (slash != std::string_view::npos) {
    int n = 0;
    int d = 0;
    if (wholeNumber(word.substr(0, slash), n) && wholeNumber(word.substr(slash + 1), d) && n >= 0 && d >= 1 &&
        n <= 64 * d && d <= 1024)
      return good(Ticks{(quarter.value * 2 * n + d) / (2 * d)});
  } else if (const auto number = readNumber(word, 0, 64); number.good()) {
    return good(Ticks{std::llround(number.value * static_cast<double>(quarter.value))});
  }
  return bad<Ticks>("expected a count of quarter notes as 1, 0.5 or 1/2");
}

Checked<double> readNumber(std::string_view word, double low, double high) {
  double value = 0;
  if (decimal(word, value) && value >= low && value <= high) return good(value);
  const auto number = [](double v) {
    std::string s = std::to_string(v);
    s.erase(s.find_last_not_of('0') + 1);
    if (s.back() == '.') s.pop_back();
    return s;
  };
  return bad<double>("expected a number from " + number(low) + " to " + number(high));
}

std::string readHands(std::string_view word, Settings& settings) {
  const auto comma = word.find(',');
  int right = 0;
  int left = 0;
  const bool one = comma == std::string_view::npos;
  const bool good = wholeNumber(word.substr(0, comma), right) && (one || wholeNumber(word.substr(comma + 1), left)) &&
                    right >= 1 && right <= 16 && (one || (left >= 1 && left <= 16));
  if (!good) return "expected a channel for both hands as 1, or right and left as 1,2 (channels 1 to 16)";
  if (!one && left == right) return "the two hands are on one channel: say --hands " + std::to_string(right);
  if (!one) settings.handRule = HandRule::byChannel;
  settings.melodyChannels = static_cast<std::uint16_t>(1u << (right - 1));
  settings.chordChannels = one ? settings.melodyChannels : static_cast<std::uint16_t>(1u << (left - 1));
  return {};
}

namespace {

/// Collects the first fault with the option's name before it.
class Understanding {
 public:
  explicit Understanding(const GivenWords& given) : w_(given) {}
  Checked<RenderOptions> run() {
    refuseWhatIsNotMade();
    time();
    settings();
    engine();
    r_.value.hearing.input = w_.input;
    r_.value.hearing.chart = w_.chart;
    foresee();
    r_.value.hearing.json = w_.json;
    r_.value.idiom = w_.idiom;
    r_.value.output = w_.output;
    r_.value.wav = w_.wav;
    r_.value.picture = w_.picture;
    r_.value.soundfont = w_.soundfont;
    return std::move(r_);
  }

 private:
  void fault(const char* option, const std::string& word, const std::string& why) {
    if (r_.good()) r_.fault = option + (word.empty() ? "" : " " + word) + ": " + why;
  }
  void foresee() {
    r_.value.hearing.foresee = w_.foresee;
    if (!w_.foresee) return;
    if (!w_.chart.empty()) fault("--foresee", "", "is not needed with --chart, which knows what comes");
    if (r_.value.hearing.settings.follow.on) fault("--foresee", "", "needs the file's own tempo, or --tempo BPM");
  }
  void refuseWhatIsNotMade() {
    if (!w_.melody.empty() && w_.melody != "through")
      fault("--melody", w_.melody, "not made yet; the melody passes through as it is played");
  }
  template <class T>
  void take(const char* option, const std::string& word, const Checked<T>& value, T& into) {
    if (word.empty()) return;
    if (!value.good()) return fault(option, word, value.fault);
    into = value.value;
  }
  void number(const char* option, const std::string& word, double low, double high, double& into) {
    if (!word.empty()) take(option, word, readNumber(word, low, high), into);
  }
  /// A whole number, e.g. of a controller.
  template <class T>
  void count(const char* option, const std::string& word, int low, int high, T& into) {
    int value = 0;
    if (word.empty()) return;
    if (!wholeNumber(word, value) || value < low || value > high)
      return fault(option, word, "expected a whole number from " + std::to_string(low) + " to " + std::to_string(high));
    into = static_cast<T>(value);
  }
  void time();
  void settings();
  void engine();

  const GivenWords& w_;
  Checked<RenderOptions> r_;
};

void Understanding::time() {
  TimeWishes& wishes = r_.value.hearing.time;
  r_.value.hearing.settings.follow.on = w_.tempo == "follow";
  if (w_.tempo != "follow") {
    double tempo = 0;
    if (const auto given = readNumber(w_.tempo, 5, 1000); !w_.tempo.empty() && !given.good())
      fault("--tempo", w_.tempo, given.fault + ", or follow");
    number("--tempo", w_.tempo, 5, 1000, tempo);
    wishes.quartersPerMinute = tempo;
  }
  if (!w_.meter.empty()) {
    take("--meter", w_.meter, readMeter(w_.meter), wishes.meter);
    wishes.otherMeter = true;
  }
  take("--pickup", w_.pickup, readQuarters(w_.pickup), wishes.pickup);
  r_.value.hearing.pickupGiven = !w_.pickup.empty();
}

void Understanding::settings() {
  Settings& s = r_.value.hearing.settings;
  count("--count-in", w_.countIn, 2, 8, s.follow.countIn);
  if (!w_.countIn.empty() && !s.follow.on) fault("--count-in", w_.countIn, "is for --tempo follow");
  if (s.follow.on && !w_.pickup.empty())
    fault("--pickup", w_.pickup, "is not needed with --tempo follow, which begins with the first chord");
  if (!w_.key.empty()) {
    const auto key = parseKey(w_.key);
    if (!key) fault("--key", w_.key, "expected a key as Bb, \"F# minor\" or Am");
    if (key) s.key = *key;
  }
  s.handRule = w_.split.empty() || w_.split == "auto" ? HandRule::automatic : HandRule::byKey;
  if (s.handRule == HandRule::byKey) take("--split", w_.split, readNote(w_.split), s.split);
  if (!w_.hands.empty()) {
    if (const auto why = readHands(w_.hands, s); !why.empty()) fault("--hands", w_.hands, why);
    r_.value.hearing.handsAsGiven = w_.hands;
  }
  if (w_.density == "lean") s.density = Density::lean;
  if (w_.density == "full") s.density = Density::full;
  if (!w_.density.empty() && w_.density != "lean" && w_.density != "medium" && w_.density != "full")
    fault("--density", w_.density, "expected lean, medium or full");
  double swing = 0;
  // Straight to the widest ratio that was measured in playing: REFERENCES section 6, Friberg and Sundstroem.
  number("--swing", w_.swing, 1, 3.5, swing);
  s.swingPermille = static_cast<std::int32_t>(std::lround(swing * 1000));
  s.waitForChord = w_.wait;
  s.keep = w_.keep;
}

void Understanding::engine() {
  HearingOptions& h = r_.value.hearing;
  count("--block", w_.block, 0, 1 << 24, h.block);
  count("--rate", w_.rate, 8000, 768000, h.rate);                          // dsp/engine.h: the rates that it takes
  count("--hold-controller", w_.holdController, 0, 119, h.gestures.hold);  // 120 and up are channel modes (MIDI 1.0)
  count("--go-on-controller", w_.goOnController, 0, 119, h.gestures.goOn);
  count("--end-controller", w_.endController, 0, 119, h.gestures.end);
  count("--turnaround-controller", w_.turnaroundController, 0, 119, h.gestures.turnaround);
  count("--tag-controller", w_.tagController, 0, 119, h.gestures.tag);
  count("--round-controller", w_.roundController, 0, 119, h.gestures.round);
}

}  // namespace

Checked<RenderOptions> understand(const GivenWords& given) { return Understanding(given).run(); }

}  // namespace seguente
