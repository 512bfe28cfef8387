// SPDX-License-Identifier: Apache-2.0
#include "fieldfare/render/answers.h"

#include <fmt/core.h>

#include <algorithm>

#include "fieldfare/render/internal/json_parts.h"
#include "fieldfare/render/internal/json_writer.h"
#include "fieldfare/render/run_facts.h"
#include "fieldfare/render/words.h"

namespace fieldfare::render {
namespace {

using internal::JsonWriter;

void put_complaints(JsonWriter& json, std::string_view key,
                    const std::vector<Complaint>& complaints) {
  json.open_array(key);
  for (const Complaint& complaint : complaints) {
    json.open_object();
    internal::put_place(json, complaint.place);
    json.put("what", complaint.what);
    if (!complaint.expected.empty()) json.put("expected", complaint.expected);
    json.close_object();
  }
  json.close_array();
}

}  // namespace

std::string check_json(const CheckAnswer& answer) {
  JsonWriter json;
  json.open_object();
  json.put("schema", "fieldfare/check/1");
  json.put("valid", answer.valid);
  if (!answer.site.empty()) json.put("site", answer.site);
  put_complaints(json, "errors", answer.errors);
  put_complaints(json, "warnings", answer.warnings);
  json.close_object();
  return json.finish();
}

std::string import_json(const ImportAnswer& answer) {
  JsonWriter json;
  json.open_object();
  json.put("schema", "fieldfare/import/1");
  json.put("rows_read", answer.rows_read);
  json.put("rows_taken", answer.rows_taken);
  json.put("rows_known", answer.rows_known);
  json.put("rows_skipped", answer.rows_skipped);
  internal::put_skipped(json, answer.skipped, RunFacts::kMostQuoted);
  internal::put_notes(json, answer.notes);
  json.close_object();
  return json.finish();
}

std::string import_text(const ImportAnswer& answer) {
  std::string text = fmt::format("{} stored", counted(answer.rows_taken, "hearing", "hearings"));
  if (answer.rows_known > 0) {
    text +=
        fmt::format("; {} known from an earlier import", counted(answer.rows_known, "row", "rows"));
  }
  if (answer.rows_skipped > 0) {
    text += fmt::format("; {} skipped", counted(answer.rows_skipped, "row", "rows"));
  }
  text += '\n';
  constexpr std::size_t kShown = 5;
  for (std::size_t i = 0; i < std::min(kShown, answer.skipped.size()); ++i) {
    text += "  " + safe_text(answer.skipped[i].complaint().text(), true) + '\n';
  }
  for (const std::string& note : answer.notes) text += safe_text(note, true) + '\n';
  return text;
}

std::string new_json(const std::string& folder, const std::vector<std::string>& files) {
  JsonWriter json;
  json.open_object();
  json.put("schema", "fieldfare/new/1");
  json.put("folder", folder);
  json.open_array("files");
  for (const std::string& file : files) json.put({}, file);
  json.close_array();
  json.close_object();
  return json.finish();
}

}  // namespace fieldfare::render
