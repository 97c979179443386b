// The machine's MIDI devices, by JUCE.
#pragma once

#include "plugin/standalone/midi_ports.h"

namespace seguente::home {

/// Without our own ports and ALSA's own (its timer, its announcements, and its through port, which sends back what is
/// sent). Nothing is asked where ALSA has no sequencer: each question would print a complaint. [message]
MidiSystem realMidi();
/// The port that others may listen to, under our name; null where the system has none such (Windows) or no sequencer.
SendMidi publishedPort();

}  // namespace seguente::home
