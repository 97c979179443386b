// A bar on stderr for work that is long, and only where a person looks on.
#pragma once

#include <string>

namespace seguente {

/// Shows itself after a moment, at most a few times a second; takes itself away at the end. [message]
class Progress {
 public:
  explicit Progress(std::string what);
  ~Progress();
  Progress(const Progress&) = delete;
  Progress& operator=(const Progress&) = delete;
  /// 0..1
  void show(double done);

 private:
  std::string what_;
  bool terminal_ = false;
  bool shown_ = false;
  double last_ = 0;  // seconds
};

}  // namespace seguente
