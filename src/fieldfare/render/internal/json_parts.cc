// SPDX-License-Identifier: Apache-2.0
#include "fieldfare/render/internal/json_parts.h"

#include <algorithm>

#include "fieldfare/render/judge_view.h"

namespace fieldfare::render::internal {

void put_place(JsonWriter& json, const Place& place) {
  if (!place.file.empty()) json.put("file", place.file);
  if (place.line > 0) json.put("line", std::uint64_t{place.line});
  if (place.column > 0) json.put("column", std::uint64_t{place.column});
}

void put_skipped(JsonWriter& json, const std::vector<wire::SkippedRow>& rows, std::size_t most) {
  if (rows.empty()) return;
  json.open_array("skipped");
  for (std::size_t i = 0; i < std::min(rows.size(), most); ++i) {
    const wire::SkippedRow& row = rows[i];
    json.open_object();
    put_place(json, row.place);
    json.put("reason", row.reason_code);
    json.put("why", row.what);
    if (!row.expected.empty()) json.put("expected", row.expected);
    if (!row.excerpt.empty()) json.put("excerpt", row.excerpt);
    json.close_object();
  }
  json.close_array();
}

void put_notes(JsonWriter& json, const std::vector<std::string>& notes) {
  if (notes.empty()) return;
  json.open_array("notes");
  for (const std::string& note : notes) json.put({}, note);
  json.close_array();
}

void put_claims(JsonWriter& json, const std::vector<judge::Verdict>& verdicts) {
  json.open_array("claims");
  for (const judge::Verdict& verdict : verdicts) {
    json.open_object();
    json.put("claim", word_of(verdict.claim));
    json.put("verdict", word_of(verdict.outcome));
    json.put("why", verdict.why);
    if (verdict.needs) {
      json.open_object("needs");
      json.put("reports", verdict.needs->reports);
      json.put("seconds", verdict.needs->seconds);
      json.close_object();
    }
    json.close_object();
  }
  json.close_array();
}

}  // namespace fieldfare::render::internal
