#include "plugin/commandline/chart_file.h"

#include "plugin/commandline/whole_file.h"

namespace seguente {

namespace {

std::string_view withoutLeadingSpace(std::string_view t) {
  if (t.substr(0, 3) == "\xEF\xBB\xBF") t.remove_prefix(3);
  const auto first = t.find_first_not_of(" \t\r\n");
  return first == std::string_view::npos ? std::string_view{} : t.substr(first);
}

bool looksLikeAbc(std::string_view t) {
  return t.substr(0, 2) == "X:" || t.substr(0, 4) == "%abc" || t.find("\nK:") != std::string_view::npos;
}

Checked<Chart> readAny(std::string_view text, const TempoMap& time) {
  const auto start = withoutLeadingSpace(text);
  if (start.substr(0, 2) == "PK") return bad<Chart>("is a compressed file; only uncompressed MusicXML is read");
  if (!start.empty() && start[0] == '<') return parseMusicXmlChart(text);
  if (looksLikeAbc(start)) return parseAbcChart(text);
  const auto bars = parseChartText(text);
  return bars.good() ? layOver(bars.value, time) : bad<Chart>(bars.fault);
}

}  // namespace

Checked<Chart> readChart(const std::string& path, const TempoMap& time) {
  const auto text = readText(path);
  if (!text.good()) return bad<Chart>(text.fault);
  auto chart = readAny(text.value, time);
  if (!chart.good())
    chart.fault = path + ":" + (chart.fault[0] >= '0' && chart.fault[0] <= '9' ? "" : " ") + chart.fault;
  return chart;
}

}  // namespace seguente
