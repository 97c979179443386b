// What a window remembers while its instance lives: closed and opened again, it looks as it did. Not part of a session.
#pragma once

namespace seguente {

/// [message]
struct EditorMemory {
  bool dark = false;
  int percent = 100;  // size of everything, one of screen::sizes
  int width = 1280;   // of the page, before that size is applied
  int height = 800;
  bool reducedMotion = false;
};

}  // namespace seguente
