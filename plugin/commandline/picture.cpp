#include "plugin/commandline/picture.h"

namespace seguente {
std::string drawPicture(const Performance&, const Rendering&, const TimeWishes&) { return "<svg/>\n"; }
}  // namespace seguente
