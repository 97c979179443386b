// Every word that the window shows, but for what the table of parameters, the signals, the idioms and the messages
// bring with them. UTF-8. Origins of the words: DEVELOPERS.md.
#pragma once

namespace seguente::words {

inline constexpr const char* name = "Seguente";

// The running head.
inline constexpr const char* views = "Views";
inline constexpr const char* desk = "Desk";
inline constexpr const char* stand = "Stand";
inline constexpr const char* order = "Order";
inline constexpr const char* settings = "Settings";
inline constexpr const char* help = "Help";
inline constexpr const char* messages = "Messages";
inline constexpr const char* viewsRemark =
    "Contents: every idiom. Desk: the page. Stand: large, for playing to people. Order: the pieces of an evening. "
    "Settings: all that can be set. Help: "
    "how.";
inline constexpr const char* slotEmpty = "Nothing stands in place %.";

// The shelf.
inline constexpr const char* contents = "Contents";
inline constexpr const char* contentsHint = "left hand, 1 to 5";
inline constexpr const char* find = "Find";
inline constexpr const char* findHint = "any name a teacher uses";
inline constexpr const char* findRemark = "Find an idiom by any name, by its meter, or by what it is for.";
inline constexpr const char* noneByThatName = "No idiom by that name. Try the meter: three, four, six.";
inline constexpr const char* inChapter = "In ";
inline constexpr const char* anyMeterChapter = "In any meter";
inline constexpr const char* yourOwnChapter = "Your own";
inline constexpr const char* leftHand = "left hand ";
inline constexpr const char* ofFive = " of 5";
inline constexpr const char* anyMeter = "any";
inline constexpr const char* anyMeterLong = "in any meter";
inline constexpr const char* inMeter = "in ";
inline constexpr const char* yourOwn = "your own";
inline constexpr const char* fromSession = "this session's";
inline constexpr const char* contentsRemark =
    "Choose an idiom and hear it on the held chord. Arrows go up and down, Escape gives the old one back.";

// Writing one's own.
inline constexpr const char* playOneIn = "Play one in";
inline constexpr const char* playOneInRemark =
    "Play a figure of your own for two to eight bars, over a chord that the other hand holds: it becomes an idiom.";
inline constexpr const char* playedInDone = "That was it";
inline constexpr const char* keepIt = "Keep it";
inline constexpr const char* forgetIt = "Forget it";
inline constexpr const char* forgetItRemark = "Nothing is kept of what was played in.";
inline constexpr const char* listensNow =
    "The accompaniment is silent. Hold a chord with one hand, play the figure with the other; two to eight bars.";
inline constexpr const char* listensOn = "No time runs: play the figure at least twice, evenly.";
inline constexpr const char* listensInBar = "Bar % of your figure. Two to eight, then press here.";
inline constexpr const char* nameOfFigure = "Name";
inline constexpr const char* nameOfFigureRemark = "What it is called on the shelf. Return keeps it, Escape forgets it.";
inline constexpr const char* overChord = "Over";
inline constexpr const char* overChordRemark = "The chord that you played it over: C, Am, G7. Its degrees follow.";
inline constexpr const char* oneBar = "one bar";
inline constexpr const char* manyBars = "% bars";
inline constexpr const char* toTheMinute = " to the minute, ";
inline constexpr const char* andAnswer = " and an answer";
inline constexpr const char* andLift = " and a lift";
inline constexpr const char* feltLongShort = ", long and short ";
inline constexpr const char* nothingPlayedIn = "Nothing was played in beside the chord that was held.";
inline constexpr const char* overWhichChord =
    "Over which chord was that? None was held all the way: write it under Over.";
inline constexpr const char* noBeatPlayedIn =
    "No beat was found: play the figure at least twice, or with time running.";
inline constexpr const char* tooShortPlayedIn = "That was less than a bar: play the figure for two to eight.";
inline constexpr const char* unreadPlayedIn = "That could not be read as a figure: play it once more, plainly.";
inline constexpr const char* noSuchChord = "That is no chord symbol: C, Am, G7, F#m7b5.";
inline constexpr const char* nameIsMissing = "It needs a name.";
inline constexpr const char* nameIsTaken = "That name is taken: write another.";
inline constexpr const char* shelfIsFull = "All places of the shelf are taken.";
inline constexpr const char* cannotBeKept = "It cannot be written into your own folder.";
inline constexpr const char* playedAtDesk = "played in at the desk";
inline constexpr const char* edit = "Edit";
inline constexpr const char* editRemark =
    "Change this figure while it plays. One that is not your own is copied under a name first.";
inline constexpr const char* editDone = "Done";
inline constexpr const char* editDoneRemark = "Closes this; every change is kept already.";
inline constexpr const char* notYourOwn = "This idiom is not your own: what shall your copy of it be called?";
inline constexpr const char* nameOfCopy = "Name";
inline constexpr const char* nameOfCopyRemark = "Return copies it into your own folder and begins, Escape does not.";
inline constexpr const char* playsWhat = "Plays";
inline constexpr const char* playsWhatRemark =
    "What the step plays, as a pattern file says it: 1, 5, b7, 1+5, C, R, lowest. Return takes it.";
inline constexpr const char* stepPlays = " plays ";
inline constexpr const char* stepLong = "length ";
inline constexpr const char* stepStress = ", stress ";
inline constexpr const char* editActs[] = {"Back",   "On",       "Earlier", "Later",   "Lower",
                                           "Higher", "Shorter",  "Longer",  "Lighter", "Heavier",
                                           "Add",    "Take out", "Undo",    "Redo",    "By "};
inline constexpr const char* editActRemarks[] = {
    "The step before. On the figure: the arrow to the left.",
    "The step after. On the figure: the arrow to the right.",
    "The step comes earlier by the grid. On the figure: Shift and the arrow to the left.",
    "The step comes later by the grid. On the figure: Shift and the arrow to the right.",
    "A lower degree of the chord. On the figure: the arrow down.",
    "A higher degree of the chord. On the figure: the arrow up.",
    "The step is shorter by the grid. On the figure: Shift and the arrow down.",
    "The step is longer by the grid. On the figure: Shift and the arrow up.",
    "Less stress. On the figure: minus.",
    "More stress. On the figure: plus.",
    "One step more behind this one. On the figure: Insert.",
    "This step is taken out. On the figure: Delete.",
    "Takes the last change back: Ctrl and Z.",
    "Does it again: Ctrl and Y.",
    "The grid, in beats, by which steps move and grow. Press for the next."};

// The running order.
inline constexpr const char* runningOrder = "Running order";
inline constexpr const char* yourOrders = "Your running orders";
inline constexpr const char* orderRemark =
    "Presets in the order of an evening or a lesson. Next and Previous go through it, each with the next bar. "
    "Arrows go up and down, Return opens or chooses.";
inline constexpr const char* addToOrder = "Add what is set now";
inline constexpr const char* closeOrder = "Close this order";
inline constexpr const char* beginOrder = "Begin a new order with what is set now";
inline constexpr const char* newOrder = "A new order";
inline constexpr const char* cannotBeRead = "has a fault";
inline constexpr const char* notHere = " (not here)";
inline constexpr const char* ordersLie =
    "Each is a text file in %. Change it there, and it is read anew; presets/orders/README.md says how it is written.";
inline constexpr const char* orderEnds = "end of the order";

// What is dropped on the window.
inline constexpr const char* question = "Question";
inline constexpr const char* idiomTaken = "% is among your own idioms now.";
inline constexpr const char* orderTaken = "% stands under Order now.";
inline constexpr const char* sameThere = "% is there already, to the letter.";
inline constexpr const char* cannotBeWritten = "% cannot be written.";
inline constexpr const char* nameTaken = "% is there already, and is another. Keep both?";
inline constexpr const char* keepBoth = "Keep both";
inline constexpr const char* leaveIt = "Leave it";

// Time and chord.
inline constexpr const char* tempo = "\u2669 = ";  // a quarter note
inline constexpr const char* fromHost = "from the host";
inline constexpr const char* ownTempo = "own tempo";
inline constexpr const char* fromHands = "from the hands";
inline constexpr const char* minorKey = " minor";
inline constexpr const char* bar = "bar ";
inline constexpr const char* beat = "beat ";
inline constexpr const char* of = " of ";
inline constexpr const char* playing = "playing";
inline constexpr const char* stopped = "stopped";
inline constexpr const char* time = "Time";
inline constexpr const char* chord = "Chord";
inline constexpr const char* noChordYet = "Hold a chord.";
inline constexpr const char* now = "now";
inline constexpr const char* then = "then";
inline constexpr const char* inBeats = ", in % beats";
inline constexpr const char* inOneBeat = ", in 1 beat";
inline constexpr const char* roundGoes = "round";
inline constexpr const char* singerIn = "singer in ";  // so many beats
inline constexpr const char* noChord = "Hold a chord and it is written here.";
inline constexpr const char* youHold = "You hold ";
inline constexpr const char* chordStays = "The keys are let go; the chord stays.";
inline constexpr const char* bypassed = "Bypassed: all that you play passes, nothing is added.";

// The page.
inline constexpr const char* page = "Page";
inline constexpr const char* emptyPage = "Play. It will be written here.";
inline constexpr const char* standingStill = "bar %, standing still";
inline constexpr const char* slowly = "play it slowly";
inline constexpr const char* turnedBack = "turned back; Escape, or the next key of the arrows to the right, goes on";
inline constexpr const char* pageRemark =
    "Point at a note: why it was played. A press, or Return, lets a bar stand still; comma and full stop go through it "
    "note by note, and the key beside them plays it slowly.";
inline constexpr const char* notesLost = "% notes came too thick to be written.";

// Why a note: REFERENCES of the words are the trade's own (degrees, figures, beats).
inline constexpr const char* degrees[] = {"root",   "second", "third", "fourth",   "fifth",   "sixth",     "seventh",
                                          "octave", "ninth",  "tenth", "eleventh", "twelfth", "thirteenth"};
inline constexpr const char* theDegree = "the ";
inline constexpr const char* flat = "flat ";
inline constexpr const char* sharp = "sharp ";
inline constexpr const char* aTone = "a neighbour";
inline constexpr const char* ofChord = " of ";
inline constexpr const char* figures[] = {"statement",    "answer",     "lift",      "vamp",
                                          "fermata",      "cadence",    "ending",    "full cadence",
                                          "half cadence", "turnaround", "short form"};
inline constexpr const char* beats[] = {"one",   "two",   "three", "four", "five",   "six",
                                        "seven", "eight", "nine",  "ten",  "eleven", "twelve"};
inline constexpr const char* onBeat = "on ";
inline constexpr const char* afterBeat = "after ";
inline constexpr const char* figureHas = "The %f has it %b.";
inline constexpr const char* leadsOn = "leads on to the next bass";
inline constexpr const char* asYourHand = "as your own hand holds it";
inline constexpr const char* yourTune = "your tune";
inline constexpr const char* whyJoin = "The chord came inside the figure, so its short form was taken.";
inline constexpr const char* whyCorrection = "The chord came late: the stroke before was taken back.";
inline constexpr const char* whyHold = "It stays until you go on.";
inline constexpr const char* whyCadence = "It closes.";
inline constexpr const char* waitedForHand = "It waited for your hand, a little after the beat.";
inline constexpr const char* cameWithStart = "It came in where the music began.";
inline constexpr const char* cameWithJump = "It came in after a jump.";
inline constexpr const char* notYet = "It has not sounded yet.";

// How it is made.
inline constexpr const char* howItIsMade = "How it is made";
inline constexpr const char* madeRemark =
    "The chord that you hold, and what is made of it. Arrows go from step to step.";
inline constexpr const char* thatIs = ": that is ";
inline constexpr const char* leftOut = " left out";
inline constexpr const char* oneKey = "One key: a root, no third yet.";
inline constexpr const char* youHoldLabel = "you hold";
inline constexpr const char* itPlays = "it plays: ";
inline constexpr const char* degree = "degree ";
inline constexpr const char* andAHalf = " and after";
inline constexpr const char* density = "density";

// Values.
inline constexpr const char* less = "less";
inline constexpr const char* more = "more";
inline constexpr const char* values = ". Arrows change it, Return lets you type, Delete gives the usual value.";
inline constexpr const char* choices = ". Arrows change it, Delete gives the usual value.";

// Signals.
inline constexpr const char* signals = "Signals";
inline constexpr const char* letterKey = "key ";
inline constexpr const char* holding = "Holding";
inline constexpr const char* roundOn = "Round on";
inline constexpr const char* pedalOrKey = "pedal or key";
inline constexpr const char* giveIt = "give it a pedal or key";
inline constexpr const char* givenBy = "given by ";
inline constexpr const char* press = "press it now";
inline constexpr const char* cancel = "cancel";
inline constexpr const char* takeAway = "none";
inline constexpr const char* listens = "% listens: press the pedal, controller or key that shall give it, or cancel.";
inline constexpr const char* takesAway = ". Press here to choose another, Delete takes it away.";
inline constexpr const char* signalRemarks[] = {"Hold: stay on this chord until you say go on.",
                                                "Go on: take up the figure on the next beat.",
                                                "End: close on a cadence.",
                                                "Next: the idiom after this one on the shelf.",
                                                "Previous: the idiom before this one on the shelf.",
                                                "Silence all: every note ends now.",
                                                "Round: the chords you played go round by themselves; play the tune. "
                                                "Two keys of a chord, or Round again, take over.",
                                                "Turnaround: from the next bar line the way back to the beginning, "
                                                "where the idiom has one.",
                                                "Tag: the last four bars once more, and the close on their last "
                                                "chord."};

// The keyboard.
inline constexpr const char* keyboard = "Keyboard";
inline constexpr const char* held = "held";
inline constexpr const char* melody = "melody";
inline constexpr const char* accompaniment = "accompaniment";
inline constexpr const char* next = "next";
inline constexpr const char* finger = "finger ";
inline constexpr const char* handsHeard = "hands are told apart by listening";
inline constexpr const char* chordHandUpTo = "chord hand, up to ";
inline constexpr const char* melodyHandFrom = "melody hand, from ";
inline constexpr const char* chordHandChannel = "chord hand: channel ";
inline constexpr const char* melodyOther = "melody hand: the others";
inline constexpr const char* allChords = "every key is the chord hand's";
inline constexpr const char* lowerKeys = "lower: ";
inline constexpr const char* higherKeys = "higher: ";
inline constexpr const char* nothing = "nothing";
inline constexpr const char* keyboardRemark = "Press a key to hear it; arrows go from key to key, Space presses.";

// Footnote and messages.
inline constexpr const char* footnote = "* ";
inline constexpr const char* noMessage = "No messages so far.";
inline constexpr const char* messagesTitle = "All messages, the last one first";
inline constexpr const char* messagesRemark = "The last message. Press it to read all of them.";
inline constexpr const char* firstRemark = "Point at a thing, or go to it with Tab: here it says what it does.";

// Settings of the window itself.
inline constexpr const char* paper = "Paper";
inline constexpr const char* papers[] = {"light", "dark"};
inline constexpr const char* paperRemark = "Dark ink on light paper, or light ink on dark paper.";
inline constexpr const char* size = "Size";
inline constexpr const char* sizeRemark = "The size of everything in this window.";
inline constexpr const char* perCent = " %";
inline constexpr const char* motion = "Motion";
inline constexpr const char* motions[] = {"as it sounds", "beat by beat"};
inline constexpr const char* motionRemark = "Whether the playhead moves with the music, or stands on each beat.";

// Help.
inline constexpr const char* caution =
    "Take care of ears and hands: begin softly, rest often. If a hand hurts, stop and ask a teacher or a doctor.";
inline constexpr const char* helpTitle = "How to play with it";
inline constexpr const char* helpParagraphs[] = {
    caution,
    "Hold a chord with one hand: it is played in the idiom that you chose under Contents, in the host's time. What the "
    "other hand plays passes as it is.",
    "Hold stays on the chord, Go on takes up the figure again, End closes on a cadence. Each can be given a pedal, a "
    "controller or a key: press the words under it, then the pedal.",
    "Tab goes from one thing to the next, arrows change it, Return presses it. Escape closes what is open; pressed "
    "again, it silences all notes.",
    "On the keyboard: an outline and an open head are what you hold, blue and a filled head the melody, hatched the "
    "accompaniment. Which hand plays a key is heard; where it is told by key, a wedge shows where the hands part."};
inline constexpr const char* version = "Version ";

// The program that stands by itself (plugin/standalone).
inline constexpr const char* noDisplay = "seguente: no display was found. Start it on a desktop, or set DISPLAY.";
inline constexpr const char* noKeyboardYet = "No piano keyboard yet: plug one in at any time";
inline constexpr const char* noSoundOutput = "no sound output";
inline constexpr const char* noSoundCard = "No sound card. Nothing is heard; the page, MIDI and takes go on.";
inline constexpr const char* soundGoesTo = "Sound goes to %.";
inline constexpr const char* nothingToSoundWith = "There is a sound card, but nothing to sound with: %.";
inline constexpr const char* noSoundfont = "no soundfont is installed";
inline constexpr const char* badRate = "FluidSynth does not take its sample rate";
inline constexpr const char* noSynthesiser = "the FluidSynth library is not installed";
inline constexpr const char* pianoFound = "% is connected.";
inline constexpr const char* pianoBack = "% is back.";
inline constexpr const char* pianoGone = "% is gone; its keys were let go.";
inline constexpr const char* pianoRefused = "% is there, but another program has it.";
inline constexpr const char* pianoMaySound =
    "% may sound by itself too: you would hear your plain chord under the waltz. Turn that off under Piano's own "
    "sound.";
inline constexpr const char* published = "Other programs find what sounds under the MIDI name Seguente.";
inline constexpr const char* notPublished = "This machine lends no MIDI port for other programs.";

inline constexpr const char* record = "Record";
inline constexpr const char* stopRecord = "Take it away";
inline constexpr const char* recordRemark =
    "Writes what you play and what sounds, as MIDI and as sound, while you play; pressed again, it is yours.";
inline constexpr const char* takeRuns = "take is being written, ";
inline constexpr const char* takeBegins = "A take is being written as you play.";
inline constexpr const char* takeKept = "Your take: %.";
inline constexpr const char* takeEmpty = "Nothing was played: no take was kept.";
inline constexpr const char* takeFault = "The take stopped: %.";
inline constexpr const char* takeLost = "Some of it found no room and is missing.";
inline constexpr const char* tap = "Tap";
inline constexpr const char* tapRemark = "Tap the beat, two times or more: the own tempo becomes yours.";
inline constexpr const char* tapped = "Own tempo: % quarters a minute.";
inline constexpr const char* pace = "Pace";
inline constexpr const char* paces[] = {"a third", "half", "three quarters", "as it is"};
inline constexpr const char* paceRemark = "Slower, for practice: a share of the own tempo. The swing stays as it is.";
inline constexpr const char* countBar = "Count";
inline constexpr const char* countBars[] = {"none", "a bar"};
inline constexpr const char* countBarRemark = "With your first chord, a bar is counted before the music begins.";
inline constexpr const char* pianoSound = "Piano's own sound";
inline constexpr const char* pianoSounds[] = {"left", "off", "plays all"};
inline constexpr const char* pianoSoundRemark =
    "Left as it is; off, so that only this program sounds (given back when you leave); or off and used for all that "
    "sounds, with this program silent.";
inline constexpr const char* ownRow = "Take and time";

// The first start.
inline constexpr const char* firstTitle = "Your first waltz";
inline constexpr const char* firstLine = "Three things to do. Your computer's own keys are enough.";
inline constexpr const char* firstSteps[] = {"Set the loudness.", "Hold a chord.", "Change it."};
inline constexpr const char* firstHow[] = {
    "Press Return for one soft note. Turn your speakers or headphones down if it is loud.",
    "Keep the C key of your computer down, or press and hold the first chord below.",
    "Go to F, then to G, then back to C. The waltz follows your hand."};
inline constexpr const char* firstHowPiano = "Hold C E G with your left hand, below the middle of the piano.";
inline constexpr const char* firstNoSound = "There is no sound output here; the page is written all the same.";
inline constexpr const char* softNote = "Soft note";
inline constexpr const char* softNoteRemark = "One soft note, to set the loudness by.";
inline constexpr const char* firstChordKey = "key ";
inline constexpr const char* firstChordRemark = "Press and hold: the chord is held as long as you press.";
inline constexpr const char* theTune = "The tune";
inline constexpr const char* tuneLines[] = {"Number keys 1 to 8", "play the scale above.", "Leave it out at first."};
inline constexpr const char* keptInHelp = " (Kept in Help.)";
inline constexpr const char* pianoIsFound = "A piano keyboard is found by itself when it is plugged in.";
inline constexpr const char* helpLetters =
    "With no piano keyboard: keep a letter from A to G down, and the chord of that name is held as it stands in C "
    "major "
    "(with Shift: the one of the other mode). The figures 1 to 8 play the scale above, 9 and 0 go on. R begins and "
    "ends "
    "a take, T taps the tempo.";

// Under Settings.
inline constexpr const char* soundHeading = "Sound";
inline constexpr const char* device = "Goes to";
inline constexpr const char* deviceRemark = "The sound card. Arrows choose another.";
inline constexpr const char* noDevice = "none";
inline constexpr const char* volume = "Volume";
inline constexpr const char* volumeRemark = "How loud all of it is. Begin low, on headphones above all.";
inline constexpr const char* takeSound = "Takes are written as";
inline constexpr const char* takeSounds[] = {"WAV", "FLAC", "MIDI alone"};
inline constexpr const char* takeSoundRemark = "The sound of a take: large and simple, or smaller with nothing lost.";
inline constexpr const char* takesGoTo = "Takes go to %.";

}  // namespace seguente::words
