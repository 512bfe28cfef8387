// SPDX-License-Identifier: Apache-2.0
#include "fieldfare/render/internal/json_writer.h"
#include "fieldfare/render/listen_answer.h"

namespace fieldfare::render {
namespace {

using internal::JsonWriter;

void put_counts(JsonWriter& json, std::string_view key,
                const wire::StreamLedger::ByReason& counts) {
  json.open_object(key);
  for (const auto& [reason, count] : counts) json.put(reason, count);
  json.close_object();
}

void put_ledger(JsonWriter& json, std::string_view key, const wire::StreamLedger& ledger,
                std::uint64_t repeated) {
  json.open_object(key);
  json.open_object("bytes");
  json.put("fed", ledger.bytes_fed);
  json.put("in_frames", ledger.bytes_in_frames);
  json.put("lost", ledger.bytes_lost);
  json.put("pending", ledger.bytes_pending);
  put_counts(json, "lost_by_reason", ledger.lost_by_reason);
  json.close_object();
  json.open_object("frames");
  json.put("seen", ledger.frames);
  json.put("read", ledger.frames_read);
  json.put("unread", ledger.frames_unread);
  json.put("foreign", ledger.frames_foreign);
  put_counts(json, "unread_by_reason", ledger.unread_by_reason);
  json.close_object();
  json.open_object("reports");
  json.put("seen", ledger.reports);
  json.put("hearings", ledger.hearings);
  json.put("refused", ledger.reports_refused);
  json.close_object();
  json.put("repeated", repeated);
  json.close_object();
}

void put_if(JsonWriter& json, std::string_view key, const std::string& text) {
  if (!text.empty()) json.put(key, text);
}

}  // namespace

std::string listen_json(const ListenAnswer& answer) {
  JsonWriter json;
  json.open_object();
  json.put("schema", "fieldfare/listen/1");
  json.put("from", to_rfc3339(answer.from));
  json.put("to", to_rfc3339(answer.to));
  json.put("stored", answer.stored);
  json.put("not_stored", answer.not_stored);
  if (answer.stored > 0) {
    json.open_object("heard_to_stored");
    json.put("median_ms", answer.median_ms);
    json.put("p99_ms", answer.p99_ms);
    json.put("longest_ms", answer.longest_ms);
    json.close_object();
  }
  json.open_array("sources");
  for (const SourceAnswer& source : answer.sources) {
    json.open_object();
    json.put("receiver", source.receiver);
    json.put("source", source.endpoint);
    put_ledger(json, "run", source.run, source.run_repeated);
    put_ledger(json, "total", source.total, source.total_repeated);
    json.close_object();
  }
  json.close_array();
  json.close_object();
  return json.finish();
}

std::string ports_json(const std::vector<PortAnswer>& ports) {
  JsonWriter json;
  json.open_object();
  json.put("schema", "fieldfare/ports/1");
  json.open_array("ports");
  for (const PortAnswer& port : ports) {
    json.open_object();
    json.put("device", port.device);
    put_if(json, "stable_name", port.stable_name);
    put_if(json, "description", port.description);
    put_if(json, "manufacturer", port.manufacturer);
    put_if(json, "serial_number", port.serial_number);
    put_if(json, "usb_id", port.usb_id);
    put_if(json, "driver", port.driver);
    json.put("may_open", port.may_open);
    put_if(json, "busy_by", port.busy_by);
    put_if(json, "likeliest", port.likeliest);
    json.close_object();
  }
  json.close_array();
  json.close_object();
  return json.finish();
}

}  // namespace fieldfare::render
