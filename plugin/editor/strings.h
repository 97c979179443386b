// Every word that the window shows, but for what the table of parameters, the signals, the idioms and the messages
// bring with them. UTF-8. Origins of the words: DEVELOPERS.md.
#pragma once

namespace seguente::words {

inline constexpr const char* name = "Seguente";

// The running head.
inline constexpr const char* views = "Views";
inline constexpr const char* desk = "Desk";
inline constexpr const char* settings = "Settings";
inline constexpr const char* help = "Help";
inline constexpr const char* messages = "Messages";
inline constexpr const char* viewsRemark =
    "Desk: what you play and what is heard. Settings: all that can be set. Help: how to play with it.";
inline constexpr const char* slotEmpty = "Nothing stands in place %.";

// The shelf.
inline constexpr const char* contents = "Contents";
inline constexpr const char* contentsHint = "press one to hear it";
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
inline constexpr const char* bar = "bar ";
inline constexpr const char* beat = "beat ";
inline constexpr const char* of = " of ";
inline constexpr const char* playing = "playing";
inline constexpr const char* stopped = "stopped";
inline constexpr const char* time = "Time";
inline constexpr const char* chord = "Chord";
inline constexpr const char* noChord = "Hold a chord and it is written here.";
inline constexpr const char* youHold = "You hold ";
inline constexpr const char* chordStays = "The keys are let go; the chord stays.";
inline constexpr const char* bypassed = "Bypassed: all that you play passes, nothing is added.";

// Values.
inline constexpr const char* less = "less";
inline constexpr const char* more = "more";
inline constexpr const char* values = ". Arrows change it, Return lets you type, Delete gives the usual value.";
inline constexpr const char* choices = ". Arrows change it, Delete gives the usual value.";

// Signals.
inline constexpr const char* signals = "Signals";
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
inline constexpr const char* handsHeard = "hands are told apart by listening";
inline constexpr const char* chordHandUpTo = "chord hand, up to ";
inline constexpr const char* melodyHandFrom = "melody hand, from ";
inline constexpr const char* chordHandChannel = "chord hand: channel ";
inline constexpr const char* melodyOther = "melody hand: the others";
inline constexpr const char* allChords = "every key is the chord hand's";
inline constexpr const char* lowerKeys = "lower: ";
inline constexpr const char* higherKeys = "higher: ";
inline constexpr const char* nothing = "nothing";

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
