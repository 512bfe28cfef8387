// SPDX-License-Identifier: Apache-2.0
#include "fieldfare/render/desk_screen.h"
#include "fieldfare/render/internal/json_parts.h"
#include "fieldfare/render/internal/json_writer.h"

namespace fieldfare::render {
namespace {

using internal::JsonWriter;

void put_text(JsonWriter& json, std::string_view key, const std::string& text) {
  if (!text.empty()) json.put(key, text);
}

void put_time(JsonWriter& json, std::string_view key, const std::optional<Instant>& moment) {
  if (moment) json.put(key, to_rfc3339(*moment));
}

/// A quotient, where Duration::in_seconds multiplies and is a digit off at times.
void put_seconds(JsonWriter& json, std::string_view key, const std::optional<Duration>& span) {
  if (span) json.put(key, static_cast<double>(span->ns) / 1e9);
}

std::string_view word_of(work::DeskFrames::State state) {
  switch (state) {
    case work::DeskFrames::State::none:
      return "none";
    case work::DeskFrames::State::learning:
      return "learning";
    case work::DeskFrames::State::learnt:
      return "learnt";
    case work::DeskFrames::State::given:
      return "given";
  }
  return {};
}

void put_sources(JsonWriter& json, const std::vector<work::DeskSource>& sources) {
  json.open_array("sources");
  for (const work::DeskSource& source : sources) {
    json.open_object();
    json.put("name", source.name);
    json.put("where", source.where);
    json.put("up", source.is_up);
    json.put("state", source.state);
    put_text(json, "remedy", source.remedy);
    json.put("bytes", source.octets);
    json.put("frames", source.frames);
    json.put("unread", source.unread);
    json.close_object();
  }
  json.close_array();
}

void put_frames(JsonWriter& json, const work::DeskFrames& frames) {
  json.open_object("frames");
  json.put("state", word_of(frames.state));
  put_text(json, "what", frames.what);
  put_text(json, "decides", frames.decides);
  json.close_object();
}

void put_readings(JsonWriter& json, const std::vector<judge::NamedValue>& readings) {
  if (readings.empty()) return;
  json.open_array("readings");
  for (const judge::NamedValue& reading : readings) {
    json.open_object();
    json.put("name", reading.name);
    json.put("value", reading.value);
    json.close_object();
  }
  json.close_array();
}

void put_node(JsonWriter& json, const work::DeskRow& row) {
  json.open_object();
  json.put("key", row.key);
  put_text(json, "label", row.digits);
  put_text(json, "address", row.address);
  put_text(json, "name", row.name);
  put_text(json, "note", row.note);
  json.put("reports", row.reports);
  put_time(json, "newest", row.newest);
  put_seconds(json, "interval_s", row.interval);
  put_seconds(json, "off_beat_s", row.off_beat);
  put_time(json, "next_beat", row.next_beat);
  json.put("counter", row.counter);
  if (row.step) json.put("step", static_cast<double>(*row.step));
  json.put("rssi_dbm", row.rssi_dbm);
  put_readings(json, row.readings);
  json.put("awaited", row.is_awaited);
  json.put("works", row.verdict.works);
  json.put("failed", row.verdict.failed);
  json.put("headline", row.verdict.headline);
  put_text(json, "next", row.verdict.next);
  put_time(json, "delivery_at", row.verdict.delivery_at);
  internal::put_claims(json, row.verdict.verdicts);
  json.close_object();
}

void put_reminders(JsonWriter& json, const std::vector<work::Reminder>& reminders) {
  json.open_array("reminders");
  for (const work::Reminder& reminder : reminders) {
    json.open_object();
    json.put("due", to_rfc3339(reminder.due));
    put_text(json, "node", reminder.node);
    json.put("what", reminder.what);
    json.put("told", reminder.told);
    json.close_object();
  }
  json.close_array();
}

}  // namespace

std::string desk_json(const work::DeskView& view) {
  JsonWriter json;
  json.open_object();
  json.put("schema", "fieldfare/desk/1");
  json.put("since", to_rfc3339(view.since));
  json.put("now", to_rfc3339(view.now));
  put_text(json, "saved_in", view.saved_in);
  put_text(json, "kept_in", view.kept_in);
  put_sources(json, view.sources);
  put_frames(json, view.frames);
  json.open_array("nodes");
  for (const work::DeskRow& row : view.rows) put_node(json, row);
  json.close_array();
  put_reminders(json, view.reminders);
  json.open_array("advice");
  for (const std::string& advice : view.advice) json.put("", advice);
  json.close_array();
  json.close_object();
  return json.finish();
}

}  // namespace fieldfare::render
