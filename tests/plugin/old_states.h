// Sessions as older programs saved them, to the letter: today's opens them for ever.
#pragma once

#include "plugin/state.h"

namespace seguente::test {

/// Nothing said: every parameter at its default.
inline SavedState standard() {
  SavedState state;
  for (const auto& row : parameterTable()) state.values[static_cast<std::size_t>(row.which)] = row.standard;
  return state;
}

// Version 1 as the first program wrote it, to the letter. Never to be changed: sessions of that day look like this.
inline constexpr const char* writtenByVersion1 = R"(# A session of Seguente. Slots count from 0.
version = 1

[parameters]
idiom = 127
density = "full"
swing = 1.65
hand-split = "by channel"
split-key = "F#3"
chord-channel = 5
register-shift = -1
level = 120
force = 0
keep = true
bass = "off"
chords = "on"
counter-line = "as written"
percussion = "on"
transpose = -3
output-channels = "one a part"
time = "own tempo"
own-tempo = 92.5
wait-for-chord = true
new-idiom-enters = "at once"
hand-span = 16
bypass = false

[signals]
hold = "controller 67, channel 1"
go-on = "nothing"
end = "key C2, channel 16"
next = "nothing"
previous = "nothing"
silence-all = "controller 0, channel 2"

[[idioms]]
slot = 1
id = "waltz"
text = '''
# Waltz: "oom", 'pah', \pah.
title = "Waltz"
'''

[[idioms]]
slot = 127
id = "mine"
text = """
one = 1\r
two = '''2'''"""

[end]
)";

/// What it says.
inline SavedState ofVersion1() {
  auto state = standard();
  const auto set = [&](ParameterId which, double value) { state.values[static_cast<std::size_t>(which)] = value; };
  set(ParameterId::idiom, 127);
  set(ParameterId::density, 2);
  set(ParameterId::swing, 1.65);
  set(ParameterId::handSplit, 2);
  set(ParameterId::splitKey, 54);
  set(ParameterId::chordChannel, 5);
  set(ParameterId::registerShift, -1);
  set(ParameterId::level, 120);
  set(ParameterId::force, 0);
  set(ParameterId::keep, 1);
  set(ParameterId::bass, 2);
  set(ParameterId::chords, 1);
  set(ParameterId::percussion, 1);
  set(ParameterId::transpose, -3);
  set(ParameterId::outputChannels, 1);
  set(ParameterId::time, 1);
  set(ParameterId::ownTempo, 92.5);
  set(ParameterId::waitForChord, 1);
  set(ParameterId::idiomEnters, 1);
  set(ParameterId::handSpan, 16);
  state.givers[0] = {GiverKind::controller, 0, 67};
  state.givers[2] = {GiverKind::key, 15, 36};
  state.givers[5] = {GiverKind::controller, 1, 0};
  state.slots = {{1, "waltz", "# Waltz: \"oom\", 'pah', \\pah.\ntitle = \"Waltz\"\n"},
                 {127, "mine", "one = 1\r\ntwo = '''2'''"}};
  return state;
}

// One that plays: its idiom, root and fifth in turn, is in nobody's folder.
inline constexpr const char* playedByVersion1 = R"(# A session of Seguente. Slots count from 0.
version = 1

[parameters]
idiom = 100
density = "lean"
swing = 1
hand-split = "by key"
split-key = "C4"
chord-channel = 1
register-shift = 0
level = 100
force = 50
keep = false
bass = "as written"
chords = "as written"
counter-line = "as written"
percussion = "as written"
transpose = 2
output-channels = "one a part"
time = "host"
own-tempo = 100
wait-for-chord = false
new-idiom-enters = "next bar"
hand-span = 15
bypass = false

[signals]
hold = "key A0, channel 1"
go-on = "controller 67, channel 1"
end = "nothing"
next = "nothing"
previous = "nothing"
silence-all = "nothing"

[[idioms]]
slot = 100
id = "two-fifths"
text = '''
format = 1
id     = "two-fifths"
title  = "Two fifths"
about  = "Root and fifth in turn, a beat each."

meter  = "4/4"
tempo  = [40, 200]
rejoin = [1]

[parts.bass]
kind     = "bass"
register = ["G1", "C4"]
program  = 0
level    = 78

[lean]
statement = [
  { beat = 1, length = 1, part = "bass", play = "1" },
  { beat = 2, length = 1, part = "bass", play = "5" },
  { beat = 3, length = 1, part = "bass", play = "1" },
  { beat = 4, length = 1, part = "bass", play = "5" },
]
'''

[end]
)";

}  // namespace seguente::test
