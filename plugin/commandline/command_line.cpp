#include "plugin/commandline/command_line.h"

#include <CLI/CLI.hpp>
#include <cstdio>

#include "plugin/commandline/commands.h"
#include "plugin/commandline/output_file.h"
#include "plugin/commandline/words.h"

namespace seguente {

namespace {

constexpr const char* mainExamples = R"(Examples:
  seguente idioms                                     which idioms there are
  seguente render tune.mid --idiom waltz -o out.mid   your plain chords as a waltz
  seguente chords tune.mid                            the chords that were heard
  seguente render --help                              more about one command

In the file a right hand plays a tune and a left hand, below the key C4, holds plain chords.)";

constexpr const char* renderExamples = R"(Examples:
  seguente render tune.mid --idiom waltz -o waltz.mid
  seguente render tune.mid --idiom bossa-nova -o bossa.mid --wav bossa.wav --density lean
  seguente render tune.mid --idiom waltz -o waltz.mid --hands 1,2 --pickup 1
  seguente render tune.mid --idiom blues-shuffle -o blues.mid --swing 1.8 --key "A minor"
  seguente render tune.mid --idiom waltz -o waltz.mid --chart chords.txt
  seguente render played.mid --idiom waltz -o waltz.mid --tempo follow --meter 3/4

A chart in a text file:
  | C | F G | C | % | G7 / C | !fermata! F | C !fine! |
Two chords share a bar evenly; % repeats a bar, / holds on; |: :| |1 :|2 repeat. ABC and MusicXML files are read as well.)";

constexpr const char* chordsExamples = R"(Examples:
  seguente chords tune.mid
  seguente chords tune.mid --json
  seguente chords tune.mid --hands 1,2 --key "Bb"

One line a chord: start, end (quarter notes from the file's start), symbol, root, quality, bass, numeral.)";

constexpr const char* handsExamples = R"(Examples:
  seguente hands tune.mid
  seguente hands tune.mid --split E4
  seguente hands tune.mid --hands 1,2 --json

One line a note: beat (quarter notes from the file's start), key, velocity, hand, how it was decided, the verdict at the
note-on (pass, take, lend), and for a note that was looked at again what came of it (kept, withdrawn, sent late, left out of the chord) and why.)";

constexpr const char* idiomsExamples = R"(Examples:
  seguente idioms
  seguente idioms --json
  seguente idioms --idioms ~/my-patterns

Idioms are sought in the installed folder, in your own (~/.local/share/seguente/idioms), in $SEGUENTE_PATTERNS, and
in each --idioms folder; where an id is there twice, the later one wins.)";

constexpr const char* checkExamples = R"(Examples:
  seguente check my-waltz.toml
  seguente check patterns/*.toml

Each fault is one line: file:line:column: what was found, what was expected.)";

constexpr const char* notateExamples = R"(Examples:
  seguente notate take.mid --chord C -o my-march.toml      a figure over C, played to a click
  seguente notate take.mid -o my-march.toml                a hand holds the chord while the other plays
  seguente notate take.mid --chord Am --tempo 96 --meter 3/4 -o my-waltz.toml
  seguente notate take.mid --as-held -o my-grip.toml       the steps name the held keys, not degrees

Play the figure for two to eight bars over one chord. A tempo in the file is taken for the click; a file that says 120,
or nothing, may have been played freely: then the beat is found by the figure's coming round.)";

void addNotate(CLI::App& command, NotateWords& w) {
  command.add_option("input", w.input, "A MIDI file: the figure, two to eight bars")->required()->type_name("TAKE.mid");
  command.add_option("-o,--output", w.output, "The pattern file to write; its name is the idiom's id")
      ->required()
      ->type_name("FILE.toml");
  command.add_option("--chord", w.chord, "The chord it was played over (default: the one that is held)")
      ->type_name("CHORD");
  command.add_option("--meter", w.meter, "The meter, in place of the file's own")->type_name("N/D");
  command.add_option("--tempo", w.tempo, "Quarter notes a minute, about, for a take without a click")->type_name("BPM");
  command.add_option("--title", w.title, "The name in a list (default: from the file's name)")->type_name("TEXT");
  command.add_flag("--as-held", w.asHeld, "Steps name the keys that the hand holds, instead of degrees");
  command.add_flag("--force", w.force, "Write over a file that is there");
}

/// What all commands that hear a file understand.
void addHearing(CLI::App& command, GivenWords& w) {
  command.add_option("input", w.input, "A MIDI file (format 0 or 1)")->required()->type_name("IN.mid");
  command
      .add_option("--hands", w.hands,
                  "Both hands on this channel, or right and left on two (default: every channel but 10)")
      ->type_name("CH[,CH]");
  command
      .add_option("--split", w.split,
                  "auto: hands are told apart by listening (default); or the lowest key of the melody hand")
      ->type_name("NOTE|auto");
  command.add_option("--key", w.key, "The key, if you know it (default: it is found as it goes)")->type_name("KEY");
  command
      .add_option(
          "--tempo", w.tempo,
          "Quarter notes a minute, in place of the file's own tempo; or follow: the beat is found in the playing")
      ->type_name("BPM|follow");
  command
      .add_option("--meter", w.meter,
                  "The meter, in place of the file's own (followed with none said: 4/4 or 3/4 is guessed)")
      ->type_name("N/D");
  command
      .add_option("--count-in", w.countIn,
                  "With --tempo follow: so many even strokes count in before the first downbeat")
      ->type_name("N");
  command.add_option("--pickup", w.pickup, "Quarter notes before the first whole bar")->type_name("BEATS");
  command.add_option("--chart", w.chart, "Chord symbols to expect: a text, ABC or MusicXML file")->type_name("FILE");
  command.add_option("--block", w.block, "Samples that are worked at once; changes nothing that is heard")
      ->type_name("N");
  command.add_option("--rate", w.rate, "Samples a second (default: 48000); changes nothing that is played")
      ->type_name("HZ");
}

void addRender(CLI::App& command, GivenWords& w) {
  addHearing(command, w);
  command.add_option("--idiom", w.idiom, "How to accompany: an id or other name from `seguente idioms`, or a file")
      ->required()
      ->type_name("NAME");
  command.add_option("-o,--output", w.output, "Where the arrangement goes")->required()->type_name("OUT.mid");
  command.add_option("--wav", w.wav, "Its sound as well, 16 bits stereo")->type_name("OUT.wav");
  command.add_option("--soundfont", w.soundfont, "The sounds to use (default: the first that is installed)")
      ->type_name("FILE");
  command.add_option("--picture", w.picture, "A picture of it as well")->type_name("OUT.svg");
  command.add_option("--density", w.density, "lean (one left hand can play it), medium (default) or full")
      ->type_name("DENSITY");
  command.add_option("--swing", w.swing, "Long : short, 1 straight, 2 triplet (default: the idiom's own)")
      ->type_name("RATIO");
  command.add_option("--melody", w.melody, "through")->group("");  // what is not made yet is not listed
  command.add_flag("--wait", w.wait, "A searching hand is waited for: the pulse stays until the chord comes");
  command.add_flag("--keep", w.keep, "The chord stays after its keys are let go");
  const auto controller = [&](const char* option, std::string& word, const char* what) {
    command.add_option(option, word, std::string("A controller that ") + what)->type_name("N");
  };
  controller("--hold-controller", w.holdController, "says hold (64 and more)");
  controller("--go-on-controller", w.goOnController, "says go on");
  controller("--end-controller", w.endController, "says end");
  controller("--turnaround-controller", w.turnaroundController, "asks for the turnaround at the next bar line");
  controller("--tag-controller", w.tagController, "asks for the last four bars once more, and then the close");
  controller("--round-controller", w.roundController, "lets the chords just played go round by themselves, or no more");
  command.add_flag("--foresee", w.foresee, "Hears the whole file first, so that the bass can lead to the next chord");
}

/// The whole grammar. Held together because CLI11's options refer to the values they fill.
struct Grammar {
  Grammar();
  int run();

  CLI::App app{"Plain chords in, an arrangement out: the melody passes, the chords are accompanied in an idiom."};
  GivenWords words;
  std::vector<std::string> folders;
  std::vector<std::string> files;
  CLI::App* renderCommand = nullptr;
  CLI::App* chords = nullptr;
  CLI::App* hands = nullptr;
  CLI::App* idioms = nullptr;
  CLI::App* check = nullptr;
  CLI::App* notateCommand = nullptr;
  NotateWords notateWords;

 private:
  CLI::App* add(const char* name, const char* what, const char* examples) {
    CLI::App* command = app.add_subcommand(name, what);
    command->group("Commands");
    command->footer(examples);
    return command;
  }
};

Grammar::Grammar() {
  app.name("seguente");
  app.footer(mainExamples);
  app.set_version_flag("--version", "seguente " SEGUENTE_VERSION);
  app.require_subcommand(0, 1);  // none: run() says what there is to do
  const auto help = app.get_formatter();
  help->label("SUBCOMMAND", "COMMAND");
  help->label("SUBCOMMANDS", "COMMANDS");
  renderCommand = add("render", "Arrange a MIDI file in an idiom", renderExamples);
  addRender(*renderCommand, words);
  chords = add("chords", "The chords that were heard", chordsExamples);
  addHearing(*chords, words);
  hands = add("hands", "Which hand played each note", handsExamples);
  addHearing(*hands, words);
  idioms = add("idioms", "The idioms that are installed", idiomsExamples);
  check = add("check", "Is a pattern file good?", checkExamples);
  notateCommand = add("notate", "A figure that you play becomes a pattern file", notateExamples);
  addNotate(*notateCommand, notateWords);
  for (CLI::App* command : {renderCommand, idioms})
    command->add_option("--idioms", folders, "A further folder of pattern files; may be given again")
        ->type_name("DIR")
        ->expected(1)
        ->take_all();
  for (CLI::App* command : {chords, hands, idioms}) command->add_flag("--json", words.json, "As JSON");
  check->add_option("files", files, "Pattern files")->required()->type_name("FILE...");
}

int Grammar::run() {
  if (app.get_subcommands().empty())
    return complain("say what to do: render, chords, hands, idioms, check or notate (seguente --help shows examples)",
                    exitBadWords);
  if (idioms->parsed()) return commandIdioms(words.json, idiomFolders(folders));
  if (check->parsed()) return commandCheck(files, idiomFolders({}));
  if (notateCommand->parsed()) return commandNotate(notateWords);
  const auto options = understand(words);
  if (!options.good()) return complain(options.fault, exitBadWords);
  if (chords->parsed()) return commandChords(options.value.hearing);
  if (hands->parsed()) return commandHands(options.value.hearing);
  return commandRender(options.value, idiomFolders(folders));
}

/// One line of what CLI11 says.
std::string oneLine(std::string text) {
  for (char& c : text)
    if (c == '\n') c = ' ';
  return text;
}

/// What CLI11 says, in our words where its own are a programmer's.
std::string plainly(const CLI::ParseError& off, bool commandNamed) {
  const std::string text = oneLine(off.what());
  if (text == "input is required") return "name the MIDI file to read";
  if (text == "files is required") return "name the pattern files to check";
  const auto colon = text.find(": ");
  if (off.get_exit_code() != static_cast<int>(CLI::ExitCodes::ExtrasError) || colon == std::string::npos) return text;
  const std::string words = text.substr(colon + 2);
  if (commandNamed || words.starts_with("-")) return words + ": is not understood";
  return words + ": is no command; say render, chords, hands, idioms, check or notate";
}

}  // namespace

int runCommandLine(int argc, char** argv) {
  catchInterrupts();
  Grammar grammar;
  try {
    grammar.app.parse(argc, argv);
  } catch (const CLI::Success& wanted) {  // --help, --version
    return grammar.app.exit(wanted);
  } catch (const CLI::ParseError& off) {
    return complain(plainly(off, !grammar.app.get_subcommands().empty()) + " (seguente --help shows examples)",
                    exitBadWords);
  }
  return grammar.run();
}

}  // namespace seguente
