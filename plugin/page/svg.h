// A sheet as SVG text, in the light colours of the project's look (Okabe-Ito for what sounds).
#pragma once

#include <string>
#include <string_view>

#include "plugin/page/engraving.h"

namespace seguente::page {

/// space: pixels a staff space. description: what the picture shows, for those who do not see it; may be empty.
/// [message]
std::string svgOf(const Sheet& sheet, double space, std::string_view description);

/// "#0072B2". [any]
std::string_view lightColourOf(Token token);

}  // namespace seguente::page
