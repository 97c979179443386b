#include "plugin/commandline/progress.h"

#include <unistd.h>

#include <chrono>
#include <cstdio>

namespace seguente {

namespace {
constexpr double firstAfter = 0.5;  // seconds: shorter work needs no bar
constexpr double every = 0.2;
constexpr int width = 30;

double secondsNow() {
  return std::chrono::duration<double>(std::chrono::steady_clock::now().time_since_epoch()).count();
}
}  // namespace

Progress::Progress(std::string what) : what_(std::move(what)), terminal_(::isatty(STDERR_FILENO) == 1) {
  if (terminal_) last_ = secondsNow() + firstAfter - every;
}

Progress::~Progress() {
  if (shown_) std::fputs("\r\033[K", stderr);
}

void Progress::show(double done) {
  if (!terminal_) return;
  const double now = secondsNow();
  if (now - last_ < every) return;
  last_ = now;
  shown_ = true;
  const int full = static_cast<int>(done * width);
  std::fprintf(stderr, "\r%s %.*s%.*s %3d %%", what_.c_str(), full, "##############################", width - full,
               "..............................", static_cast<int>(done * 100));
  std::fflush(stderr);
}

}  // namespace seguente
