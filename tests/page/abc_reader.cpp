#include "tests/page/abc_reader.h"

#include <cctype>
#include <fstream>
#include <map>
#include <sstream>
#include <stdexcept>

namespace seguente::test {

namespace {

/// Sharps of a signature such as "D", "Am", "Ddor".
int sharpsOf(const std::string& key) {
  static const std::map<char, int> fifths{{'F', -1}, {'C', 0}, {'G', 1}, {'D', 2}, {'A', 3}, {'E', 4}, {'B', 5}};
  int sharps = fifths.at(key[0]);
  std::size_t i = 1;
  if (i < key.size() && (key[i] == '#' || key[i] == 'b')) sharps += key[i++] == '#' ? 7 : -7;
  const std::string mode = key.substr(i);
  return sharps - (mode == "m" ? 3 : mode == "dor" ? 2 : 0);
}

int signatureOn(int sharps, int letter) {  // letter 0..6 = C..B
  static const int order[] = {3, 0, 4, 1, 5, 2, 6};
  for (int i = 0; i < 7; ++i)
    if (order[i] == letter) return sharps > i ? 1 : -sharps > 6 - i ? -1 : 0;
  return 0;
}

class Reader {
 public:
  explicit Reader(const std::string& text) : s_(text) {}
  PrintedTune read(Meter meter, Ticks unit, int sharps) {
    tune_.meter = meter;
    unit_ = unit;
    sharps_ = sharps;
    bool firstLine = true;
    while (i_ < s_.size()) {
      const char c = s_[i_];
      if (c == '"') {
        i_ = s_.find('"', i_ + 1) + 1;
      } else if (c == '|') {
        if (firstLine && at_ < meter.bar()) tune_.pickup = at_;
        firstLine = false;
        memory_.clear();
        ++i_;
      } else if (c == '-') {
        tied_ = true;
        ++i_;
      } else if (c == '>' || c == '<') {
        broken_ = c;
        ++i_;
      } else if (c == 'z' || std::isalpha(static_cast<unsigned char>(c)) || c == '^' || c == '_' || c == '=') {
        token();
      } else {
        ++i_;
      }
    }
    return tune_;
  }

 private:
  Ticks lengthHere() {
    std::int64_t numerator = 0, denominator = 1;
    while (i_ < s_.size() && std::isdigit(static_cast<unsigned char>(s_[i_])))
      numerator = numerator * 10 + (s_[i_++] - '0');
    if (numerator == 0) numerator = 1;
    if (i_ < s_.size() && s_[i_] == '/') {
      ++i_;
      std::int64_t d = 0;
      while (i_ < s_.size() && std::isdigit(static_cast<unsigned char>(s_[i_]))) d = d * 10 + (s_[i_++] - '0');
      denominator = d == 0 ? 2 : d;
    }
    Ticks length{unit_.value * numerator / denominator};
    // a>b: the first longer by a half, the second the shorter.
    if (broken_ == '>') length = {length.value / 2};
    if (broken_ == '<') length = {length.value * 3 / 2};
    broken_ = 0;
    if (i_ < s_.size() && s_[i_] == '>') length = {length.value * 3 / 2};
    if (i_ < s_.size() && s_[i_] == '<') length = {length.value / 2};
    return length;
  }
  void token() {
    int sign = 9;
    if (s_[i_] == '^' || s_[i_] == '_' || s_[i_] == '=') {
      sign = s_[i_] == '^' ? 1 : s_[i_] == '_' ? -1 : 0;
      ++i_;
    }
    const char c = s_[i_++];
    if (c == 'z') {
      at_ = at_ + lengthHere();
      return;
    }
    static const std::string letters = "CDEFGAB";
    const auto letter = static_cast<int>(letters.find(static_cast<char>(std::toupper(static_cast<unsigned char>(c)))));
    int step = letter + (std::islower(static_cast<unsigned char>(c)) != 0 ? 7 : 0);
    while (i_ < s_.size() && (s_[i_] == '\'' || s_[i_] == ',')) step += s_[i_++] == '\'' ? 7 : -7;
    if (sign != 9) memory_[step] = sign;
    const auto remembered = memory_.find(step);
    const int alteration = remembered != memory_.end() ? remembered->second : signatureOn(sharps_, letter);
    const Ticks length = lengthHere();
    if (tied_ && !tune_.notes.empty()) {
      tune_.notes.back().length = tune_.notes.back().length + length;
      tune_.notes.back().values.push_back(length);
    } else {
      tune_.notes.push_back({at_, length, step, alteration, {length}});
    }
    tied_ = false;
    at_ = at_ + length;
  }

  std::string s_;
  std::size_t i_ = 0;
  PrintedTune tune_;
  Ticks unit_{}, at_{};
  int sharps_ = 0;
  bool tied_ = false;
  char broken_ = 0;
  std::map<int, int> memory_;
};

}  // namespace

PrintedTune readAbc(const std::string& path) {
  std::ifstream file(path);
  if (!file) throw std::runtime_error("no tune " + path);
  std::string line, music;
  Meter meter{};
  Ticks unit{};
  int sharps = 0;
  while (std::getline(file, line)) {
    if (line.size() < 2 || line[1] != ':' || line[0] == '|') {
      music += line;
      continue;
    }
    std::istringstream value(line.substr(2));
    char slash = 0;
    int a = 0, b = 0;
    if (line[0] == 'M' || line[0] == 'L') value >> a >> slash >> b;
    if (line[0] == 'M') meter = {static_cast<std::uint8_t>(a), static_cast<std::uint8_t>(b)};
    if (line[0] == 'L') unit = {quarter.value * 4 * a / b};
    if (line[0] == 'K') sharps = sharpsOf(line.substr(2));
  }
  return Reader(music).read(meter, unit, sharps);
}

}  // namespace seguente::test
