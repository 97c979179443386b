// Proves that code which is to run on the audio thread neither asks for memory, nor gives any back, nor takes a lock.
// Linking audio_thread.cpp replaces malloc and its kin and pthread_mutex_lock for the whole program (new and delete
// come through malloc). Blind under valgrind; left out of sanitizer builds, which replace the same functions:
// there SEGUENTE_SANITIZED is defined and violations() is always 0.
#pragma once

namespace seguente::guard {

/// While one lives, the thread that made it counts as the audio thread. May be nested. [any]
struct AudioThread {
  AudioThread();
  ~AudioThread();
  AudioThread(const AudioThread&) = delete;
  AudioThread& operator=(const AudioThread&) = delete;
};

/// Calls that an audio thread must not make, seen since the last call of this function; sets the count back to 0. [any]
int violations();
/// The place in the code that made the n-th of them, from 0; null when there was none, or n is 256 or more. Set back
/// with the count. [any]
const void* culprit(int n = 0);

}  // namespace seguente::guard
