// Every word that the window shows, but for what the table of parameters, the signals, the idioms and the messages
// bring with them. UTF-8. Origins of the words: DEVELOPERS.md.
#pragma once

namespace seguente::words {

inline constexpr const char* name = "Seguente";

// The running head.
inline constexpr const char* views = "Views";
inline constexpr const char* desk = "Desk";
inline constexpr const char* stand = "Stand";
inline constexpr const char* settings = "Settings";
inline constexpr const char* help = "Help";
inline constexpr const char* messages = "Messages";
inline constexpr const char* viewsRemark =
    "Contents: every idiom. Desk: the page. Stand: large, for playing to people. Settings: all that can be set. Help: "
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
inline constexpr const char* figures[] = {"statement", "answer",  "lift",   "vamp",
                                          "fermata",   "cadence", "ending", "short form"};
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
                                                "Silence all: every note ends now."};

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
inline constexpr const char* helpTitle = "How to play with it";
inline constexpr const char* helpParagraphs[] = {
    "Take care of ears and hands: begin softly, rest often. If a hand hurts, stop and ask a teacher or a doctor.",
    "Hold a chord with one hand: it is played in the idiom that you chose under Contents, in the host's time. What the "
    "other hand plays passes as it is.",
    "Hold stays on the chord, Go on takes up the figure again, End closes on a cadence. Each can be given a pedal, a "
    "controller or a key: press the words under it, then the pedal.",
    "Tab goes from one thing to the next, arrows change it, Return presses it. Escape closes what is open; pressed "
    "again, it silences all notes.",
    "On the keyboard: an outline and an open head are what you hold, blue and a filled head the melody, hatched the "
    "accompaniment. Which hand plays a key is heard; where it is told by key, a wedge shows where the hands part."};
inline constexpr const char* version = "Version ";

}  // namespace seguente::words
