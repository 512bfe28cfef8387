// SPDX-License-Identifier: Apache-2.0
#include "fieldfare/cli/typed.h"

#include <fmt/core.h>

#include <utility>

#include "fieldfare/base/number_text.h"
#include "fieldfare/cli/spoken.h"

namespace fieldfare::cli {
namespace {

template <class Value, class Parse>
void read(std::string_view option, const std::string& typed, const Parse& parse,
          std::string_view expected, std::optional<Value>& value, std::string& wrong) {
  if (typed.empty() || !wrong.empty()) return;
  value = parse(typed);
  if (!value) wrong = fmt::format("{} '{}' can't be read; expected {}", option, typed, expected);
}

std::optional<Duration> positive_duration(std::string_view text) {
  const auto duration = parse_duration(text);
  return duration && duration->ns > 0 ? duration : std::nullopt;
}
std::optional<double> whole(std::string_view text, double low, double high) {
  const auto number = parse_number(text);
  const bool fits = number && *number >= low && *number <= high &&
                    *number == static_cast<double>(static_cast<int>(*number));
  return fits ? number : std::nullopt;
}
std::optional<std::uint8_t> counter_bits(std::string_view text) {
  const auto bits = whole(text, 1, 32);
  return bits ? std::optional{static_cast<std::uint8_t>(*bits)} : std::nullopt;
}
std::optional<std::size_t> columns_wanted(std::string_view text) {
  const auto width = whole(text, 20, 1000);
  return width ? std::optional{static_cast<std::size_t>(*width)} : std::nullopt;
}
std::optional<double> open_share(std::string_view text) {
  const auto share = parse_number(text);
  return share && *share > 0 && *share < 1 ? share : std::nullopt;
}

/// The sources of a desk, which has receivers r1, r2 and so on.
std::string add_desk_sources(ListenCommand& listen, const Typed& typed) {
  std::vector<std::string> urls;
  urls.reserve(typed.ports.size() + typed.brokers.size() / 2 + typed.sockets.size() +
               typed.logs.size());
  for (const std::string& port : typed.ports) urls.push_back(url_of_port(port, typed.baud));
  for (std::size_t i = 0; i + 1 < typed.brokers.size(); i += 2) {
    urls.push_back(url_of_broker(typed.brokers[i], typed.brokers[i + 1]));
  }
  for (const std::string& socket : typed.sockets) urls.push_back(url_of_udp(socket));
  const bool has_frames = !urls.empty();
  for (const std::string& log : typed.logs) urls.push_back(url_of_log(log));
  const bool is_of_desk = !urls.empty() || !listen.sheets.empty() || !listen.keep.empty();
  if (!listen.folder.empty()) {
    return is_of_desk ? "a SITE says itself what to listen to; expected it, or --source NAME=URL "
                        "with it, or --port, --mqtt, --udp, --log without it"
                      : "";
  }
  if (has_frames && !typed.logs.empty()) {
    return "--log gives rows, the others frames; expected one or the other";
  }
  if (urls.empty() && (listen.show || listen.how_long || is_of_desk || !listen.sources.empty())) {
    return "listen has nothing to listen to; give a SITE, or --port, --mqtt, --udp or --log";
  }
  if (!typed.logs.empty()) listen.sends_log = true;
  for (const std::string& url : urls) {
    listen.sources.emplace_back("r" + std::to_string(listen.sources.size() + 1), url);
  }
  return {};
}

}  // namespace

Result<Command, std::string> meant_by(ListenCommand listen, const Typed& typed) {
  std::string wrong;
  read("--for", typed.how_long, positive_duration, "a duration such as \"10 min\"", listen.how_long,
       wrong);
  for (const std::string& source : typed.sources) {
    const std::size_t equals = source.find('=');
    if (equals == 0 || equals == std::string::npos) {
      wrong = fmt::format(
          "--source '{}' can't be read; expected a receiver's name and a URL, such as "
          "office=serial:///dev/ttyUSB0",
          source);
      break;
    }
    listen.sources.emplace_back(source.substr(0, equals), source.substr(equals + 1));
  }
  listen.sends_log = typed.content == "log";
  if (wrong.empty() && !typed.content.empty() && !listen.sends_log && typed.content != "frames") {
    wrong = fmt::format("--content '{}' can't be read; expected frames or log", typed.content);
  }
  if (wrong.empty() && listen.show && listen.json) {
    wrong = "--show and --json both want standard output; expected one of them";
  }
  read("--width", typed.width, columns_wanted, "a whole number from 20 to 1000", listen.width,
       wrong);
  if (wrong.empty()) wrong = add_desk_sources(listen, typed);
  if (!wrong.empty()) return Failure{std::move(wrong)};
  return Command{std::move(listen)};
}

Result<Command, std::string> meant_by(LearnCommand learn, const Typed& typed) {
  std::string wrong;
  read("--for", typed.how_long, positive_duration, "a duration such as \"10 min\"", learn.how_long,
       wrong);
  for (const std::string& text : typed.provoked) {
    std::optional<std::pair<Instant, std::string>> provoked;
    read("--provoked", text, provoked_of, "a moment, such as 2026-03-02T07:15:00Z=5CE7", provoked,
         wrong);
    if (provoked) learn.provoked.push_back(std::move(*provoked));
  }
  for (const std::string& text : typed.values) {
    std::optional<LearnCommand::Value> value;
    read("--value", text, value_of, "a reading, such as temperature_c=21.4", value, wrong);
    if (value) learn.values.push_back(std::move(*value));
  }
  if (!wrong.empty()) return Failure{std::move(wrong)};
  return Command{std::move(learn)};
}

Result<Command, std::string> meant_by(JudgeCommand judge, const Typed& typed) {
  if (judge.folder.empty() && judge.logs.empty()) {
    return Failure{std::string{"judge has nothing to judge; give a SITE, or --log FILE, or both"}};
  }
  std::string wrong;
  read("--from", typed.from, parse_rfc3339, "a moment such as 2026-03-02T07:15:00Z", judge.from,
       wrong);
  read("--to", typed.to, parse_rfc3339, "a moment such as 2026-03-02T07:15:00Z", judge.to, wrong);
  read("--interval", typed.interval, positive_duration, "a duration such as \"31 s\"",
       judge.interval, wrong);
  read("--seq-bits", typed.sequence_bits, counter_bits, "a whole number from 1 to 32",
       judge.sequence_bits, wrong);
  std::optional<double> confidence;
  read("--confidence", typed.confidence, open_share, "a share between 0 and 1 such as 0.95",
       confidence, wrong);
  judge.confidence = confidence.value_or(judge.confidence);
  read("--width", typed.width, columns_wanted, "a whole number from 20 to 1000", judge.width,
       wrong);
  if (judge.from && judge.to && *judge.to <= *judge.from) {
    wrong = "--to is not after --from; expected an earlier --from or a later --to";
  }
  if (!wrong.empty()) return Failure{std::move(wrong)};
  return Command{std::move(judge)};
}

}  // namespace fieldfare::cli
