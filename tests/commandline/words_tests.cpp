// The program as it is called: exit codes, one line an error, results on stdout only.
#include <fcntl.h>
#include <unistd.h>

#include <algorithm>
#include <iostream>
#include <nlohmann/json.hpp>

#include "plugin/commandline/command_line.h"
#include "plugin/commandline/words.h"
#include "tests/catch.h"
#include "tests/commandline/midi_builder.h"

using namespace seguente;
using namespace seguente::test;

namespace {

struct Run {
  int code = 0;
  std::string out;
  std::string err;
};

/// Sends a standard stream into a file while it lives.
class Redirect {
 public:
  Redirect(std::FILE* stream, const std::string& path) : stream_(stream), kept_(::dup(::fileno(stream))) {
    std::fflush(stream);
    const int file = ::open(path.c_str(), O_WRONLY | O_CREAT | O_TRUNC, 0600);
    ::dup2(file, ::fileno(stream));
    ::close(file);
  }
  ~Redirect() {
    std::fflush(stream_);
    ::dup2(kept_, ::fileno(stream_));
    ::close(kept_);
  }
  Redirect(const Redirect&) = delete;
  Redirect& operator=(const Redirect&) = delete;

 private:
  std::FILE* stream_;
  int kept_;
};

std::string textOf(const std::string& path) {
  const Bytes b = Scratch::read(path);
  return std::string(b.begin(), b.end());
}

Run run(std::vector<std::string> words) {
  const Scratch scratch;
  ::setenv("SEGUENTE_PATTERNS", SEGUENTE_PATTERNS, 1);
  words.insert(words.begin(), "seguente");
  std::vector<char*> arguments;
  for (std::string& w : words) arguments.push_back(w.data());
  Run result;
  {
    const Redirect out(stdout, scratch.path("out"));
    const Redirect err(stderr, scratch.path("err"));
    result.code = runCommandLine(static_cast<int>(arguments.size()), arguments.data());
    std::cout.flush();
  }
  result.out = textOf(scratch.path("out"));
  result.err = textOf(scratch.path("err"));
  return result;
}

bool has(const std::string& text, const std::string& part) { return text.find(part) != std::string::npos; }

std::vector<std::string> linesOf(const std::string& text) {
  std::vector<std::string> lines;
  for (std::size_t at = 0; at < text.size();) {
    const auto end = std::min(text.find('\n', at), text.size());
    lines.push_back(text.substr(at, end - at));
    at = end + 1;
  }
  return lines;
}

}  // namespace

TEST_CASE("every bad input is one line on stderr that says what is wrong, and exit code 1", "[commandline]") {
  const Scratch s;
  const Bytes good = twoBars(1, 480);
  const auto in = s.write("good.mid", good);
  const auto out = s.write("out.mid", "what was there before");
  const auto chart = s.write("chart.txt", "| C | X |");
  const Bytes empty = midiFile(1, 480, {TrackBuilder().event(0, {0xC0, 1}).chunk()});
  const auto five = midiFile(
      0, 480,
      {TrackBuilder().event(0, {0xFF, 0x58, 4, 5, 2, 24, 8}).event(0, {0x90, 48, 1}).event(960, {48, 0}).chunk()});
  auto lonely = textOf(SEGUENTE_PATTERNS "/waltz.toml");  // a waltz without its relatives
  for (const char* meter : {"\"4/4\"", "\"2/4\"", "\"2/2\"", "\"3/8\"", "\"6/8\"", "\"9/8\"", "\"12/8\"", "\"5/4\""})
    if (const auto at = lonely.find(std::string("\n") + meter); at != std::string::npos) lonely.insert(at + 1, "# ");
  struct Row {
    std::vector<std::string> words;
    std::string says;
  };
  const Row table[] = {
      {{s.path("none.mid"), "--idiom", "waltz"}, "none.mid: no such file"},
      {{s.path(""), "--idiom", "waltz"}, "is a folder"},
      {{s.write("text.mid", "tune"), "--idiom", "waltz"}, "text.mid: is not a MIDI file"},
      {{s.write("cut.mid", Bytes(good.begin(), good.begin() + 60)), "--idiom", "waltz"}, "cut.mid: is cut short"},
      {{s.write("two.mid", midiFile(2, 480, {})), "--idiom", "waltz"}, "format 2"},
      {{s.write("smpte.mid", midiFile(1, 0xE728, {})), "--idiom", "waltz"}, "SMPTE"},
      {{s.write("empty.mid", empty), "--idiom", "waltz"}, "empty.mid: has no notes"},
      {{in, "--idiom", "walts"}, "did you mean \"waltz\"?"},
      {{in, "--idiom", s.path("none.toml")}, "none.toml: no such file"},
      {{in, "--idiom", s.write("bad.toml", "format = ")}, "bad.toml:1:"},
      {{in, "--idiom", "waltz", "--hands", "7"}, "no notes on channel 7 (it has them on 1, 2)"},
      {{in, "--idiom", "waltz", "--hands", "1,7"}, "no notes on channel 7"},
      {{in, "--idiom", "waltz", "--chart", chart}, "chart.txt:1:7: \"X\" is no chord symbol"},
      {{in, "--idiom", "waltz", "--chart", s.path("none.txt")}, "none.txt: no such file"},
      {{s.write("five.mid", five), "--idiom", s.write("waltz.toml", lonely)}, "names no idiom for 5/4"},
      {{in, "--idiom", "waltz", "--wav", s.path("a.wav"), "--soundfont", s.path("none.sf2")}, "none.sf2"},
      {{in, "--idiom", "waltz", "--picture", s.path("no/folder.svg")}, "cannot be written"},
  };
  for (const Row& row : table) {
    auto words = row.words;
    words.insert(words.begin(), "render");
    words.insert(words.end(), {"-o", out});
    INFO(words[1] << " " << words[3] << ": " << row.says);
    const Run r = run(words);
    INFO(r.err);
    CHECK(r.code == 1);
    CHECK(r.out.empty());
    CHECK(has(r.err, row.says));
    // A meter that is taken by a relative may be remarked on before.
    const auto lines = linesOf(r.err);
    CHECK(std::count_if(lines.begin(), lines.end(),
                        [](const std::string& l) { return !has(l, "is played instead"); }) == 1);
    CHECK(textOf(out) == "what was there before");
  }
}

TEST_CASE("words that are off, or not made yet, are one line and exit code 2", "[commandline]") {
  const Scratch s;
  const auto in = s.write("good.mid", twoBars(1, 480));
  const std::vector<std::string> base = {"render", in, "--idiom", "rocking-bass", "-o", s.path("o.mid")};
  const std::pair<std::vector<std::string>, std::string> table[] = {
      {{"--melody", "octaves"}, "--melody octaves: not made yet"},
      {{"--tempo", "follow", "--pickup", "1"}, "--pickup 1: is not needed with --tempo follow"},
      {{"--tempo", "follow", "--count-in", "1"}, "--count-in 1: expected a whole number from 2 to 8"},
      {{"--count-in", "4"}, "--count-in 4: is for --tempo follow"},
      {{"--foresee", "--chart", "c.txt"}, "--foresee: is not needed with --chart"},
      {{"--foresee", "--tempo", "follow"}, "--foresee: needs the file's own tempo"},
      {{"--tempo", "fast"}, "--tempo fast: expected a number from 5 to 1000, or follow"},
      {{"--meter", "3/5"}, "--meter 3/5: expected a meter as 3/4"},
      {{"--key", "H"}, "--key H: expected a key"},
      {{"--split", "X4"}, "--split X4: expected a key as C4"},
      {{"--hands", "17"}, "--hands 17: expected a channel"},
      {{"--hands", "1,1"}, "--hands 1,1: the two hands are on one channel"},
      {{"--pickup", "-1"}, "--pickup -1: expected a count of quarter notes"},
      {{"--density", "thick"}, "--density thick: expected lean, medium or full"},
      {{"--swing", "9"}, "--swing 9: expected a number from 1 to 3.5"},
      {{"--rate", "100"}, "--rate 100: expected a whole number from 8000 to 768000"},
      {{"--hold-controller", "128"}, "--hold-controller 128: expected a whole number from 0 to 119"},
      {{"--nonsense"}, "--nonsense"}};
  for (const auto& [more, says] : table) {
    auto words = base;
    words.insert(words.end(), more.begin(), more.end());
    const Run r = run(words);
    INFO(says << " / " << r.err);
    CHECK(r.code == 2);
    CHECK(r.out.empty());
    CHECK(linesOf(r.err).size() == 1);
    CHECK(has(r.err, says));
    CHECK(!std::filesystem::exists(s.path("o.mid")));
  }
  CHECK(run({}).code == 2);
  CHECK(has(run({}).err, "say what to do: render, chords, hands, idioms, check or notate (seguente --help"));
  CHECK(run({"dance"}).code == 2);
  CHECK(has(run({"dance"}).err, "dance: is no command; say render, chords"));
  CHECK(has(run({"chords"}).err, "name the MIDI file to read"));
  CHECK(has(run({"check"}).err, "name the pattern files to check"));
  CHECK(has(run({"chords", in, "--nonsense"}).err, "--nonsense: is not understood"));
  CHECK(run({"render"}).code == 2);
  CHECK(run({"render", in, "--idiom", "waltz", "-o", s.path("o.mid"), "--melody", "through"}).code == 0);
}

TEST_CASE("what is read is never written over, and no two results share a file", "[commandline]") {
  const Scratch s;
  const Bytes tune = twoBars(1, 480);
  const auto in = s.write("tune.mid", tune);
  std::filesystem::create_symlink(in, s.path("link.mid"));
  const auto around = s.path("./tune.mid");
  const auto chart = s.write("chart.txt", "| C | G7 |");
  const std::vector<std::string> table[] = {
      {"-o", in},
      {"-o", around},
      {"-o", s.path("link.mid")},
      {"-o", s.path("o.mid"), "--picture", in},
      {"-o", s.path("o.mid"), "--wav", s.path("link.mid")},
      {"-o", s.path("o.mid"), "--picture", s.path("./o.mid")},
      {"-o", s.path("o.mid"), "--wav", s.path("o.mid")},
      {"-o", s.path("o.mid"), "--wav", s.path("p"), "--picture", s.path("p")},
      {"-o", chart, "--chart", chart},
  };
  for (const auto& more : table) {
    std::vector<std::string> words{"render", in, "--idiom", "rocking-bass"};
    words.insert(words.end(), more.begin(), more.end());
    const Run r = run(words);
    INFO(more.back() << ": " << r.err);
    CHECK(r.code == 2);
    CHECK(linesOf(r.err).size() == 1);
    CHECK(Scratch::read(in) == tune);
    CHECK(textOf(chart) == "| C | G7 |");
    CHECK(s.count() == 3);  // the tune, its link and the chart
  }
}

TEST_CASE("an idiom in a foreign meter says which is played instead, and plays", "[commandline]") {
  const Scratch s;
  const Run r = run({"render", s.write("good.mid", twoBars(1, 480)), "--idiom", "waltz", "-o", s.path("o.mid")});
  CHECK(r.code == 0);
  CHECK(has(r.err, "waltz is in 3/4; in 4/4 country-two-beat is played instead"));
  CHECK(linesOf(r.err).size() == 1);
  CHECK(std::filesystem::file_size(s.path("o.mid")) > 100);
}

TEST_CASE("a meter that was only assumed is said to be so where it matters", "[commandline]") {
  const Scratch s;
  TrackBuilder track;
  addChords(track, 480, 0);
  const auto in = s.write("plain.mid", midiFile(0, 480, {track.chunk()}));
  const Run r = run({"render", in, "--idiom", "waltz", "-o", s.path("o.mid")});
  CHECK(has(r.err, "the file names no meter, so 4/4 is assumed; --meter names another"));
  CHECK(!has(run({"render", in, "--idiom", "waltz", "-o", s.path("o.mid"), "--meter", "4/4"}).err, "assumed"));
  CHECK(run({"render", in, "--idiom", "waltz", "-o", s.path("o.mid"), "--meter", "3/4"}).err.empty());
}

TEST_CASE("that not a single chord was heard is said, and what may help", "[commandline]") {
  const Scratch s;
  TrackBuilder track;
  addTune(track, 480, 0);
  const auto in = s.write("tune.mid", midiFile(0, 480, {track.chunk()}));
  const Run r = run({"render", in, "--idiom", "rocking-bass", "-o", s.path("o.mid"), "--meter", "4/4"});
  CHECK(r.code == 0);
  CHECK(
      r.err ==
      "seguente: no chords were heard: all was taken for the tune (the lowest note is B4); see --split and --hands\n");
  CHECK(std::filesystem::exists(s.path("o.mid")));
  CHECK(has(run({"chords", in, "--split", "C4"}).err, "no chords were heard below C4 (the lowest note is B4)"));
  CHECK(run({"chords", s.write("both.mid", twoBars(1, 480))}).err.empty());
}

TEST_CASE("keys are named in the key that was found, or else by the file's signature", "[commandline]") {
  const Scratch s;
  TrackBuilder flats;  // two flats (SMF 1.1: FF 59 02 sharps minor); no chord, so no key is found
  flats.event(0, {0xFF, 0x59, 2, 0xFE, 0}).event(0, {0x90, 66, 80}).event(480, {66, 0}).event(480, {61, 80});
  const auto lines = linesOf(run({"hands", s.write("flats.mid", midiFile(0, 480, {flats.chunk()}))}).out);
  REQUIRE(lines.size() == 3);
  CHECK(lines[1].starts_with("0\tGb4\t"));
  CHECK(lines[2].starts_with("1\tDb4\t"));
  TrackBuilder found;
  found.event(0, {0x90, 46, 80}).event(0, {50, 80}).event(0, {53, 80}).event(480, {46, 0}).event(480, {50, 0});
  const auto in = s.write("found.mid", midiFile(0, 480, {found.event(480, {53, 0}).chunk()}));
  CHECK(has(run({"hands", in, "--key", "Bb"}).out, "0\tBb2\t"));
}

TEST_CASE("help teaches by example", "[commandline]") {
  for (const std::vector<std::string>& words : std::vector<std::vector<std::string>>{{"--help"},
                                                                                     {"render", "--help"},
                                                                                     {"chords", "--help"},
                                                                                     {"hands", "--help"},
                                                                                     {"idioms", "--help"},
                                                                                     {"check", "--help"}}) {
    const Run r = run(words);
    CHECK(r.code == 0);
    CHECK(r.err.empty());
    CHECK(has(r.out, "Examples:\n  seguente "));
    for (const char* word : {"ot made yet", "--melody", "ubcommand", "SUBCOMMAND"}) CHECK(!has(r.out, word));
  }
}

TEST_CASE("chords are a header and a line each, tab-separated, in quarter notes", "[commandline]") {
  const Scratch s;
  const auto in = s.write("good.mid", twoBars(1, 1000));
  const auto lines = linesOf(run({"chords", in, "--key", "C"}).out);
  REQUIRE(lines.size() == 3);
  CHECK(lines[0] == "start\tend\tsymbol\troot\tquality\tbass\tnumeral");
  CHECK(lines[1] == "0\t4\tC\tC\tmajor\tC\tI");
  CHECK(lines[2] ==
        "4\t7.999\tG7/B\tG\tdominant\tB\tV7");  // B-F-G: REFERENCES section 2; its last key goes up at 7.999
  const auto rows = nlohmann::json::parse(run({"chords", in, "--json"}).out);
  REQUIRE(rows.size() == 2);
  CHECK(rows[1]["start"] == 4.0);
  CHECK(rows[1]["quality"] == "dominant");
}

TEST_CASE("hands are a header and a line a note", "[commandline]") {
  const Scratch s;
  const auto in = s.write("good.mid", twoBars(1, 480));
  const auto lines = linesOf(run({"hands", in}).out);
  REQUIRE(lines.size() == 11);
  CHECK(lines[0] == "beat\tkey\tvelocity\thand\tdecided\tverdict\toutcome\tbecause");
  CHECK(lines[1].starts_with("0\tC5\t80\tmelody\tover the chord\t"));
  CHECK(lines[2].starts_with("0\tC3\t70\tchord\twith the chord\ttake"));
  const auto fixed = linesOf(run({"hands", in, "--split", "C4"}).out);
  CHECK(fixed[1] == "0\tC5\t80\tmelody\tabove the split\tpass\t\t");
  CHECK(fixed[2] == "0\tC3\t70\tchord\tbelow the split\ttake\t\t");
  const auto rows = nlohmann::json::parse(run({"hands", in, "--hands", "1,2", "--json"}).out);
  CHECK(rows[1]["decided"] == "by channel");
}

TEST_CASE("installed idioms are listed with their files, and each passes the check", "[commandline]") {
  const Run r = run({"idioms"});
  CHECK(r.code == 0);
  CHECK(has(r.out, "\nwaltz\t"));
  for (const auto& row : nlohmann::json::parse(run({"idioms", "--json"}).out)) {
    INFO(row.dump());
    CHECK(run({"check", row["file"]}).code == 0);
  }
}

TEST_CASE("a bad pattern file fails the check with its place", "[commandline]") {
  const Scratch s;
  const Run r = run({"check", s.write("bad.toml", "format = 1\nid = \n")});
  CHECK(r.code == 1);
  CHECK(has(r.err, "bad.toml:2:"));
  CHECK(r.out.empty());
}

TEST_CASE("a pattern file that is not there has no line and no column", "[commandline]") {
  const Scratch s;
  CHECK(run({"check", s.path("none.toml")}).err == "seguente: " + s.path("none.toml") + ": no such file\n");
  CHECK(run({"check", s.path("none.toml")}).code == 1);
  CHECK(run({"check", s.path("")}).err == "seguente: " + s.path("") + ": is a folder\n");
}

TEST_CASE("the check advises about a relative that is not there", "[commandline]") {
  const Scratch s;
  auto text = textOf(SEGUENTE_PATTERNS "/waltz.toml");
  const std::string_view relative = "\"march\"";
  const auto at = text.find(relative);
  REQUIRE(at != std::string::npos);
  text.replace(at, relative.size(), "\"no-such-idiom\"");
  const Run r = run({"check", s.write("waltz.toml", text)});
  CHECK(r.code == 0);
  CHECK(has(r.out, "waltz.toml: good"));
  CHECK(linesOf(r.err).size() == 1);
  CHECK(has(r.err, "no-such-idiom"));
}

TEST_CASE("keys and their names go both ways", "[commandline]") {
  CHECK(readNote("C4").value.value == 60);  // REFERENCES section 1: C4 = 60, A0 = 21, C8 = 108
  CHECK(readNote("A0").value.value == 21);
  CHECK(readNote("C8").value.value == 108);
  CHECK(readNote("Bb3").value.value == 58);
  CHECK(readNote("c#-1").value.value == 1);
  CHECK(readNote("60").value.value == 60);
  for (const char* word : {"", "H2", "C", "C99", "128", "C4x", "Cb-1"}) CHECK(!readNote(word).good());
  for (int n = 0; n < 128; ++n) CHECK(readNote(noteName({static_cast<std::uint8_t>(n)})).value.value == n);
}

TEST_CASE("a pickup may be decimal or a fraction", "[commandline]") {
  CHECK(readQuarters("0.5").value == readQuarters("1/2").value);
  CHECK(readQuarters("1/3").value.value == 107520);
  CHECK(!readQuarters("1/0").good());
  CHECK(!readQuarters("x").good());
}
