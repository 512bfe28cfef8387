// SPDX-License-Identifier: Apache-2.0
#include "answer.h"

#include <algorithm>
#include <cctype>
#include <map>
#include <nlohmann/json.hpp>
#include <stdexcept>

#include "data.h"
#include "fieldfare/render/judge_json.h"

namespace fieldfare::real {
namespace {

using nlohmann::json;

std::string in_capitals(std::string text) {
  std::ranges::transform(text, text.begin(),
                         [](unsigned char c) { return static_cast<char>(std::toupper(c)); });
  return text;
}

}  // namespace

json judge(const std::vector<std::filesystem::path>& logs, app::JudgeRequest request) {
  for (const auto& log : logs) request.logs.push_back(log.string());
  const auto judged = app::judge_logs(request, nullptr);
  if (!judged) throw std::runtime_error("not judged: " + judged.error().complaints.front().what);
  return json::parse(render::judge_json(judged->view()));
}

const json& answer_for(const std::string& set, const std::string& file) {
  static std::map<std::string, json> answers;
  const auto path = log_path(set, file);
  const auto found = answers.find(path.string());
  if (found != answers.end()) return found->second;
  return answers.emplace(path.string(), judge({path})).first->second;
}

const json& node_of(const json& answer, const std::string& address) {
  for (const json& node : answer.at("nodes")) {
    if (node.value("address", std::string{}) == in_capitals(address)) return node;
  }
  throw std::runtime_error("the answer has no node " + address);
}

json evidence_of(json answer) {
  for (const char* key :
       {"rows_read", "rows_skipped", "rows_outside", "skipped", "skipped_by_reason", "notes"}) {
    answer.erase(key);
  }
  return answer;
}

json without_row_counts(json evidence) {
  for (json& node : evidence.at("nodes")) {
    node.erase("implausible_rows");
    node.at("heard").erase("hearings");
    node.at("heard").erase("duplicates");
    if (node.contains("sequence")) node.at("sequence").erase("strays");
  }
  return evidence;
}

std::int64_t further_hearings(const json& node) {
  const json& heard = node.at("heard");
  return heard.at("hearings").get<std::int64_t>() - heard.at("reports").get<std::int64_t>() -
         heard.at("duplicates").get<std::int64_t>() -
         node.at("sequence").at("strays").get<std::int64_t>();
}

}  // namespace fieldfare::real
