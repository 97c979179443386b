// Plays a generated performance to the judge of hands and to a plain careful namer, as the engine does, so that whoever
// teaches or measures can see every question that was asked. No accompaniment is played.
#pragma once

#include <functional>

#include "dsp/gather.h"
#include "dsp/hand_judge.h"
#include "dsp/harmony.h"
#include "tests/performances/two_hands.h"

namespace seguente::test {

enum class ClockKind { right, wrong, none };

/// What was believed of one note. [any]
struct JudgedNote {
  Hand first = Hand::melody, last = Hand::melody;  // at the note-on; when its window was over
  Verdict verdict = Verdict::pass, finally = Verdict::pass;
  int odds = 0, lastOdds = 0;  // 64ths
};

/// Runs the judge over the notes; opinion as in HandJudge. chart: the true chords are foretold. [message]
std::vector<JudgedNote> listen(const TwoHands& played, HandOpinion opinion, const HandBounds& bounds, ClockKind clock,
                               bool chart);

}  // namespace seguente::test
