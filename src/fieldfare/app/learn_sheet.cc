// SPDX-License-Identifier: Apache-2.0
#include "fieldfare/app/learn_sheet.h"

#include <algorithm>
#include <array>
#include <cctype>
#include <cstdio>
#include <filesystem>
#include <memory>
#include <thread>
#include <utility>

#include "fieldfare/app/desk_said.h"
#include "fieldfare/app/desk_session.h"
#include "fieldfare/source/unpack.h"
#include "fieldfare/wire/byte_log.h"

namespace fieldfare::app {
namespace {

/// More of a file is not looked at: enough for a hundred thousand frames.
constexpr std::size_t kMostBytes = std::size_t{32} << 20U;
/// Lines that show whether a file is a log of bytes.
constexpr int kLinesToTell = 20;

Complaint about(const std::string& path, std::size_t line, std::string what, std::string expected) {
  return {{path, line, 0}, std::move(what), std::move(expected)};
}

struct FileCloser {
  void operator()(std::FILE* file) const {
    if (file != stdin) std::fclose(file);
  }
};

Result<std::string, Trouble> text_of(const std::string& path) {
  std::error_code fault;
  if (std::filesystem::is_directory(path, fault)) {
    return input_trouble(about(path, 0, "is a folder", "a file, a device or the URL of a source"));
  }
  const std::unique_ptr<std::FILE, FileCloser> file{path == "-" ? stdin
                                                                : std::fopen(path.c_str(), "rb")};
  if (!file) {
    return input_trouble(about(path, 0, "can't be opened",
                               "a file of bytes, a device such as /dev/ttyUSB0, or the URL of a "
                               "source (docs/formats/endpoint.md)"));
  }
  source::Unpacker in{path, [&](std::span<char> room) {
                        return std::fread(room.data(), 1, room.size(), file.get());
                      }};
  std::string text;
  std::array<char, 65'536> block{};
  for (std::size_t got = in.read(block); got > 0 && text.size() < kMostBytes;
       got = in.read(block)) {
    text.append(block.data(), got);
  }
  return text;
}

/// Calls `take` with each line and its number until it says false.
template <class Take>
void each_line(std::string_view text, const Take& take) {
  std::size_t number = 0;
  while (!text.empty()) {
    const std::size_t end = std::min(text.find('\n'), text.size());
    if (!take(text.substr(0, end), ++number)) return;
    text.remove_prefix(std::min(end + 1, text.size()));
  }
}

bool has_hex_letter(std::string_view line) {
  return std::any_of(line.begin(), line.end(),
                     [](char c) { return (c >= 'a' && c <= 'f') || (c >= 'A' && c <= 'F'); });
}

/// True where all of the first lines can be read, and at least one of them is no mere
/// row of numbers.
bool is_byte_log(std::string_view text) {
  int lines = 0;
  bool all_read = true;
  bool is_sure = false;
  wire::LoggedBytes logged;
  each_line(text, [&](std::string_view line, std::size_t) {
    const wire::ByteLine kind = wire::read_byte_line(line, logged);
    all_read = kind != wire::ByteLine::unreadable;
    is_sure = is_sure || (kind == wire::ByteLine::event && (logged.at || has_hex_letter(line)));
    return all_read && ++lines < kLinesToTell;
  });
  return all_read && is_sure;
}

/// What was said at the desk that the log was kept at, as hints.
void take_hint(const wire::LoggedBytes& logged, learn::Sample& sample) {
  const auto deed = deed_of(logged);
  if (!deed) return;
  if (const auto* label = std::get_if<work::TypedLabel>(&*deed)) {
    sample.labels.push_back(label->digits);
  } else if (const auto* provoke = std::get_if<work::DoProvoke>(&*deed); provoke && logged.at) {
    sample.labels.push_back(provoke->digits);
    sample.provoked.push_back({*logged.at, provoke->digits});
  } else if (const auto* value = std::get_if<work::DoValue>(&*deed)) {
    sample.values.push_back(
        {value->field, value->value, std::max(value->tolerance, 1e-9), logged.at, value->key});
  }
}

void take_byte_log(std::string_view text, const std::string& path, learn::Sample& sample,
                   std::vector<std::string>& notes) {
  std::size_t unreadable = 0;
  std::size_t first = 0;
  wire::LoggedBytes logged;
  each_line(text, [&](std::string_view line, std::size_t number) {
    const wire::ByteLine kind = wire::read_byte_line(line, logged);
    if (kind == wire::ByteLine::unreadable && unreadable++ == 0) first = number;
    if (kind != wire::ByteLine::event) return true;
    if (logged.event == wire::ByteEvent::said) {
      take_hint(logged, sample);
    } else if (!logged.octets.empty()) {
      sample.arrivals.push_back({logged.at, std::move(logged.octets),
                                 logged.event != wire::ByteEvent::stream, std::move(logged.topic)});
    }
    return true;
  });
  if (unreadable > 0) {
    notes.push_back(
        about(path, first,
              std::to_string(unreadable) + " lines can't be read, this one first, and are left out",
              "lines as docs/formats/byte-log.md says")
            .text());
  }
}

/// A JSON document over several lines is one message; all else is a stream.
bool is_one_document(std::string_view text) {
  const std::size_t begin = text.find_first_not_of(" \t\r\n");
  if (begin == std::string_view::npos || (text[begin] != '{' && text[begin] != '[')) return false;
  std::string_view line = text.substr(begin, text.find('\n', begin) - begin);
  while (!line.empty() && std::isspace(static_cast<unsigned char>(line.back())) != 0) {
    line.remove_suffix(1);
  }
  return !line.ends_with('}') && !line.ends_with(']');
}

Result<LearnOutcome, Trouble> learn_file(const LearnRequest& request, const std::string& path) {
  const auto text = text_of(path);
  if (!text) return Failure{text.error()};
  LearnOutcome outcome;
  learn::Sample sample = request.hints;
  if (is_byte_log(*text)) {
    take_byte_log(*text, path, sample, outcome.notes);
  } else {
    sample.arrivals.push_back(
        {std::nullopt, {text->begin(), text->end()}, is_one_document(*text), {}});
  }
  outcome.learnt = learn::learn(sample);
  return outcome;
}

/// Nobody is at the desk: the bytes are kept, and that is all.
class NobodyThere : public DeskHost {
 public:
  std::vector<work::Deed> turn(const work::DeskView&, std::chrono::milliseconds patience) override {
    std::this_thread::sleep_for(patience);
    return {};
  }
  void answer(const std::string& what) override { notes_.push_back(what); }
  void remind(const work::Reminder&) override {}
  bool outlasts_sources() const override { return false; }
  std::vector<std::string>& notes() { return notes_; }

 private:
  std::vector<std::string> notes_;
};

std::optional<std::string> url_of(const std::string& from) {
  if (from.starts_with("/dev/")) return "serial://" + from;
  const std::size_t scheme = from.find("://");
  if (scheme == std::string::npos) return std::nullopt;
  return from;
}

Result<LearnOutcome, Trouble> learn_source(const LearnRequest& request, const std::string& url) {
  DeskRequest desk;
  desk.sources.push_back({"r1", url, false});
  desk.keep_file = request.keep_file;
  desk.how_long = request.how_long;
  desk.clock = request.clock;
  NobodyThere nobody;
  const auto listened = run_desk(desk, nobody);
  if (!listened) return Failure{listened.error()};
  std::error_code fault;
  if (!std::filesystem::exists(request.keep_file, fault)) {
    std::string why = "nothing came";
    for (const work::DeskSource& source : listened->view.sources) {
      if (!source.is_up) why += "; " + source.state;
      if (!source.remedy.empty()) why += "; " + source.remedy;
    }
    return machine_trouble(about(url, 0, why, "a node that reports meanwhile, or a longer --for"));
  }
  auto outcome = learn_file(request, request.keep_file);
  if (outcome) {
    outcome->kept_in = request.keep_file;
    outcome->notes.insert(outcome->notes.end(), nobody.notes().begin(), nobody.notes().end());
  }
  return outcome;
}

}  // namespace

Result<LearnOutcome, Trouble> learn_sheet(const LearnRequest& request) {
  if (const auto url = url_of(request.from)) return learn_source(request, *url);
  return learn_file(request, request.from);
}

}  // namespace fieldfare::app
