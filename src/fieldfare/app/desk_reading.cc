// SPDX-License-Identifier: Apache-2.0
#include "fieldfare/app/desk_reading.h"

#include <algorithm>
#include <fstream>
#include <iterator>
#include <utility>

namespace fieldfare::app {
namespace {

/// A site with nothing in it, to have sheets read in.
constexpr const char* kEmptySite = "[site]\nname = \"desk\"\n";
constexpr std::size_t kMostSheetBytes = std::size_t{1} << 20U;

template <class Sheet>
bool has(const std::vector<Sheet>& sheets, const std::string& name) {
  return std::any_of(sheets.begin(), sheets.end(),
                     [&](const Sheet& sheet) { return sheet.head.name == name; });
}

Result<std::string, Trouble> text_of_file(const std::string& path) {
  std::ifstream in{path, std::ios::binary};
  std::string text;
  for (std::istreambuf_iterator<char> next{in}, end; next != end; ++next) {
    text += *next;
    if (text.size() > kMostSheetBytes) break;
  }
  if (!in.is_open() || in.bad() || text.size() > kMostSheetBytes) {
    return input_trouble({{path, 0, 0}, "can't be read as a sheet", "a file of at most 1 MiB"});
  }
  return text;
}

}  // namespace

Result<DeskSheets, Trouble> read_sheets(const std::vector<std::string>& paths) {
  const auto built_in = site::load_site({"", kEmptySite, {}});
  DeskSheets sheets;
  for (const std::string& path : paths) {
    auto text = text_of_file(path);
    if (!text) return Failure{text.error()};
    auto loaded = site::load_site({"", kEmptySite, {{path, *text}}});
    if (!loaded) return Failure{Trouble{Blame::input, loaded.error()}};
    std::string name;
    for (fleet::NodeSheet& sheet : loaded->site.node_sheets) {
      if (has(built_in->site.node_sheets, sheet.head.name)) continue;
      name = sheet.head.name;
      if (sheet.frame) sheets.nodes.push_back(std::move(sheet));
    }
    for (fleet::ReceiverSheet& sheet : loaded->site.receiver_sheets) {
      if (has(built_in->site.receiver_sheets, sheet.head.name)) continue;
      name = sheet.head.name;
      sheets.receiver = std::move(sheet);
    }
    if (name.empty()) {
      return input_trouble({{path, 0, 0},
                            "is no sheet of a node or receiver, or has the name of a built-in one",
                            "a sheet with a name of its own"});
    }
    sheets.files.push_back({"sheets/" + name + ".toml", std::move(*text)});
  }
  return sheets;
}

DeskReading::DeskReading(DeskSheets sheets, const std::vector<InletPlan>& sources)
    : sheets_{std::make_unique<DeskSheets>(std::move(sheets))},
      labels_{std::make_unique<fleet::Labels>()},
      plans_{sources} {
  std::vector<wire::KnownFrame> known;
  for (std::size_t i = 0; i < sheets_->nodes.size(); ++i) {
    const fleet::NodeSheet& sheet = sheets_->nodes[i];
    known.push_back({sheet.head.name, &*sheet.frame, static_cast<std::uint32_t>(i)});
  }
  for (InletPlan& plan : plans_) {
    plan.known = known;
    const bool is_wrapped = sheets_->receiver && sheets_->receiver->frame;
    plan.receiver_frame = is_wrapped ? &*sheets_->receiver->frame : nullptr;
  }
  inlets_ = std::make_unique<DeskInlets>(plans_, *labels_, DeskInlets::KindOf{});
}

}  // namespace fieldfare::app
