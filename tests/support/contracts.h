// The contracts of DESIGN.md that must hold of any run, whatever was played: each returns "" or what is wrong.
#pragma once

#include <string>
#include <vector>

#include "tests/support/harness.h"

namespace seguente::test {

/// Each note-on of ours has exactly one note-off, by identity and with the same key and channel; nothing sounds at the
/// end.
std::string hangingNotes(const Rendering& r);
/// What is not the chord hand's passes on its own sample, once, in order; the chord hand's notes do not. The rule is
/// applied here anew: byKey or byChannel with these settings throughout.
std::string passedWrongly(const Rendering& r, const std::vector<Input>& inputs, const Settings& settings);
/// Ours never strikes a key that the tune holds on that channel, and leaves a key that the tune strikes.
std::string clashes(const Rendering& r, const std::vector<Input>& inputs);
/// At one sample: our note-offs, what passes, our note-ons; and samples never run backwards.
std::string disorder(const Rendering& r);
/// No note of ours comes before its step, or after it without a cause.
std::string lateWithoutCause(const Rendering& r);
/// After the end each note of the tune that was open has been closed.
std::string openTune(const Rendering& r, const std::vector<Input>& inputs);
/// By listening: what was passed or lent went out on its own sample, once; what was taken did not; all that is no note
/// passed.
std::string againstItsVerdict(const Rendering& r, const std::vector<Input>& inputs);
/// A note of the tune, passed, lent or sent late, is over when its key goes up.
std::string tuneOutlivesItsKeys(const Rendering& r, const std::vector<Input>& inputs);
/// Every note of ours but those sounded as held names a chord that has been told as a fact by then.
std::string unexplained(const Rendering& r);
/// No memory asked for, no lock; the harness had room.
std::string unfitForAudio(const Rendering& r);
/// All that need no settings.
std::string brokenContract(const Rendering& r, const std::vector<Input>& inputs);

}  // namespace seguente::test
