// SPDX-License-Identifier: Apache-2.0
#include "fieldfare/render/judge_json.h"

#include "fieldfare/render/internal/json_parts.h"
#include "fieldfare/render/internal/json_writer.h"

namespace fieldfare::render {
namespace {

using internal::JsonWriter;

// A quotient, where Duration::in_seconds multiplies: 4195002.7 and not
// 4195002.7000000002.
double seconds_of(Duration duration) { return static_cast<double>(duration.ns) / 1e9; }

void put_time(JsonWriter& json, std::string_view key, const std::optional<Instant>& instant) {
  if (instant) json.put(key, to_rfc3339(*instant));
}

void put_run(JsonWriter& json, const RunFacts& run, bool filtered) {
  json.put("rows_read", run.rows_read);
  json.put("rows_skipped", run.rows_skipped);
  if (filtered) json.put("rows_outside", run.rows_outside);
  internal::put_skipped(json, run.skipped, RunFacts::kMostQuoted);
  if (!run.skipped_by_reason.empty()) {
    json.open_object("skipped_by_reason");
    for (const auto& [reason, count] : run.skipped_by_reason) json.put(reason, count);
    json.close_object();
  }
  internal::put_notes(json, run.notes);
}

void put_heard(JsonWriter& json, const evidence::Heard& heard) {
  json.open_object("heard");
  json.put("reports", heard.reports);
  json.put("hearings", heard.hearings);
  json.put("duplicates", heard.duplicates);
  put_time(json, "first", heard.first);
  put_time(json, "last", heard.last);
  json.close_object();
}

void put_sequence(JsonWriter& json, const evidence::NodeEvidence& node) {
  if (node.counter_shared) json.put("counter_shared", true);
  if (!node.sequence) return;
  json.open_object("sequence");
  json.put("expected", node.sequence->expected);
  json.put("missed", node.sequence->missed);
  json.open_array("resets");
  for (const evidence::CounterBreak& at : node.sequence->breaks) {
    json.open_object();
    put_time(json, "at", at.at);
    json.put("kind", word_of(at.kind));
    json.close_object();
  }
  json.close_array();
  if (node.sequence->earlier_breaks > 0) json.put("earlier_resets", node.sequence->earlier_breaks);
  json.put("strays", node.sequence->strays);
  if (node.longest_gap) json.put("longest_gap_s", seconds_of(*node.longest_gap));
  json.close_object();
}

void put_cadence(JsonWriter& json, const std::optional<evidence::Cadence>& cadence) {
  if (!cadence) return;
  json.open_object("cadence");
  json.put("interval_s", cadence->interval_s);
  if (cadence->interval) {
    json.put("low", cadence->interval->low);
    json.put("high", cadence->interval->high);
    json.put("jitter_s", cadence->jitter_s);
  }
  json.open_array("changes");
  for (const evidence::IntervalChange& change : cadence->changes) {
    json.open_object();
    put_time(json, "at", change.at);
    json.put("from_s", seconds_of(change.from));
    json.put("to_s", seconds_of(change.to));
    json.close_object();
  }
  json.close_array();
  if (cadence->earlier_changes > 0) json.put("earlier_changes", cadence->earlier_changes);
  json.close_object();
}

void put_delivery(JsonWriter& json, const std::optional<judge::Delivery>& delivery) {
  if (!delivery) return;
  json.open_object("delivery");
  json.put("heard", delivery->heard);
  json.put("expected", delivery->expected);
  json.put("ratio", delivery->ratio);
  json.put("low", delivery->low);
  json.put("high", delivery->high);
  json.put("confidence", delivery->confidence);
  json.put("mean_loss_run", delivery->mean_loss_run);
  json.put("mean_good_run", delivery->mean_good_run);
  json.close_object();
}

void put_margin(JsonWriter& json, const std::optional<judge::Margin>& margin) {
  if (!margin) return;
  json.open_object("margin");
  json.put("rssi_mean_dbm", margin->rssi_mean_dbm);
  json.put("rssi_sd_db", margin->rssi_sd_db);
  json.put("corrected_mean_dbm", margin->corrected_mean_dbm);
  json.put("margin_db", margin->margin_db);
  json.close_object();
}

void put_links(JsonWriter& json, const JudgeView& view, const evidence::NodeEvidence& node) {
  json.open_array("links");
  for (const evidence::Link& link : node.links) {
    json.open_object();
    json.put("receiver", view.labels.receiver_name(link.receiver));
    json.put("reports", link.reports);
    put_time(json, "first", link.first);
    put_time(json, "last", link.last);
    if (link.rssi_count > 0) json.put("rssi_mean_dbm", link.rssi_mean_dbm);
    if (link.rssi_count > 1) json.put("rssi_sd_db", link.rssi_sd_db);
    json.close_object();
  }
  json.close_array();
}

void put_label(JsonWriter& json, const fleet::NodeLabel& label) {
  json.put("node", label.name);
  if (label.address) json.put("address", label.address->text());
}

void put_node(JsonWriter& json, const JudgeView& view, const judge::NodeVerdict& node) {
  json.open_object();
  put_label(json, view.labels.label(node.evidence.node));
  if (view.question.with_site) json.put("listed", node.listed);
  put_heard(json, node.evidence.heard);
  put_sequence(json, node.evidence);
  put_cadence(json, node.evidence.cadence);
  put_delivery(json, node.delivery);
  put_margin(json, node.margin);
  if (node.evidence.supply_last_v) {
    json.open_object("supply");
    json.put("last_v", node.evidence.supply_last_v);
    json.close_object();
  }
  put_links(json, view, node.evidence);
  if (node.evidence.implausible_rows > 0) {
    json.put("implausible_rows", node.evidence.implausible_rows);
  }
  if (node.quiet) {
    json.open_object("quiet");
    json.put("since", to_rfc3339(node.quiet->since));
    json.put("beats", node.quiet->beats);
    json.close_object();
  }
  internal::put_claims(json, node.verdicts);
  json.put("advice", node.advice);
  json.close_object();
}

void put_silences(JsonWriter& json, const JudgeView& view) {
  json.open_array("receiver_silences");
  for (const evidence::ReceiverSilence& silence : view.verdict.receiver_silences) {
    json.open_object();
    json.put("receiver", view.labels.receiver_name(silence.receiver));
    put_time(json, "from", silence.from);
    put_time(json, "to", silence.to);
    json.put("missed", silence.missed);
    json.put("nodes", std::uint64_t{silence.nodes});
    if (!silence.listening) json.put("listening", false);
    json.close_object();
  }
  json.close_array();
}

void put_not_enrolled(JsonWriter& json, const JudgeView& view) {
  if (view.verdict.not_enrolled.empty()) return;
  json.open_array("not_enrolled");
  for (const evidence::NodeEvidence& stranger : view.verdict.not_enrolled) {
    json.open_object();
    put_label(json, view.labels.label(stranger.node));
    json.put("hearings", stranger.heard.hearings);
    put_time(json, "first", stranger.heard.first);
    put_time(json, "last", stranger.heard.last);
    json.close_object();
  }
  json.close_array();
}

}  // namespace

std::string judge_json(const JudgeView& view) {
  const JudgeQuestion& question = view.question;
  const Stretch stretch = heard_stretch(view.verdict);
  JsonWriter json;
  json.open_object();
  json.put("schema", "fieldfare/judge/1");
  if (question.with_site) {
    json.put("site", question.site_name);
    if (question.invented) json.put("invented", true);
  }
  put_time(json, "from", question.from ? question.from : stretch.first);
  put_time(json, "to", question.to ? question.to : stretch.last);
  put_run(json, view.run, question.from || question.to);
  put_silences(json, view);
  json.open_array("nodes");
  for (const judge::NodeVerdict& node : view.verdict.nodes) put_node(json, view, node);
  json.close_array();
  put_not_enrolled(json, view);
  json.close_object();
  return json.finish();
}

}  // namespace fieldfare::render
