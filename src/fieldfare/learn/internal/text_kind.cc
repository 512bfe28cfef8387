// SPDX-License-Identifier: Apache-2.0
#include <fmt/format.h>

#include <algorithm>
#include <string_view>
#include <utility>

#include "fieldfare/learn/internal/kinds.h"
#include "fieldfare/learn/internal/odds.h"
#include "fieldfare/learn/internal/slot_roles.h"
#include "fieldfare/learn/internal/slot_trial.h"
#include "fieldfare/learn/internal/text_check.h"
#include "fieldfare/learn/internal/text_table.h"
#include "fieldfare/learn/internal/tree_flat.h"

namespace fieldfare::learn {
namespace {

using fleet::FrameFacts;

/// True where most lines are documents, which are learn_tree()'s.
bool are_documents(const TextLines& lines) {
  constexpr std::size_t kLooked = 40;
  const std::size_t apart = 1 + lines.lines.size() / kLooked;
  std::size_t documents = 0;
  std::size_t looked = 0;
  for (std::size_t i = 0; i < lines.lines.size(); i += apart) {
    const std::string& text = lines.lines[i].text;
    ++looked;
    if ((text.front() == '{' || text.front() == '[') && flat_json(text)) ++documents;
  }
  return 2 * documents > looked;
}

/// The lines whose check holds; all of them where there is none.
TextLines sound_lines(const TextLines& all, const std::optional<TextCheck>& check) {
  if (!check) return all;
  TextLines sound = all;
  sound.lines.clear();
  bool after_break = false;
  for (std::size_t i = 0; i < all.lines.size(); ++i) {
    after_break = after_break || all.lines[i].after_break;
    if (!check->held[i]) continue;
    sound.lines.push_back(all.lines[i]);
    sound.lines.back().after_break = std::exchange(after_break, false);
  }
  return sound;
}

/// The same without the digits of the check and the separator before them.
TextLines without_check(TextLines lines, const std::optional<TextCheck>& check) {
  if (!check) return lines;
  constexpr std::string_view kSeparators = " ,;\t*";
  const std::size_t digits = 2 * static_cast<std::size_t>(check->facts.octets);
  for (TextLine& line : lines.lines) {
    line.text.resize(line.text.size() - digits);
    if (line.text.size() > 1 && kSeparators.find(line.text.back()) != std::string_view::npos) {
      line.text.pop_back();
    }
  }
  return lines;
}

class TextLearner {
 public:
  /// `lines` are those of which `table` was made, with their check.
  TextLearner(const Sample& sample, const TextLines& lines, std::size_t all,
              std::optional<TextCheck> check, TextTable table)
      : lines_{lines},
        all_{all},
        check_{std::move(check)},
        table_{std::move(table)},
        said_{describe(table_.table, sample)} {}

  std::optional<Explained> learn() {
    if (said_.fields.empty()) return std::nullopt;
    make_frame();
    std::vector<std::string_view> reports;
    reports.reserve(table_.report_lines.size());
    for (const std::size_t line : table_.report_lines) reports.push_back(lines_.lines[line].text);
    drop_what_fails(frame_, said_, reports);
    if (frame_.fields.empty() || !fleet::faults_of(frame_).empty()) return std::nullopt;
    Explained explained;
    Learnt& learnt = explained.learnt;
    const std::size_t sound_octets = count(learnt);
    if (learnt.sound == 0) return std::nullopt;
    explained.share = static_cast<double>(sound_octets) /
                      static_cast<double>(std::max<std::size_t>(1, lines_.octets));
    say_shape(learnt);
    learnt.findings.insert(learnt.findings.end(), said_.findings.begin(), said_.findings.end());
    say_unlike(learnt);
    learnt.sequence = said_.sequence;
    learnt.nodes = said_.nodes;
    learnt.frame = std::move(frame_);
    return explained;
  }

 private:
  void make_frame() {
    frame_.framing = lines_.are_messages ? fleet::Framing::none : fleet::Framing::line;
    frame_.body = fleet::Body::text;
    frame_.separator = table_.style.separator;
    frame_.assignment = table_.style.assignment;
    frame_.decimal = table_.style.decimal;
    if (frame_.separator == frame_.assignment) frame_.assignment = '=';
    constexpr std::size_t kUsual = 2048;
    if (2 * lines_.longest > kUsual)
      frame_.most_octets = static_cast<int>(std::min<std::size_t>(2 * lines_.longest, 65536));
    if (check_) frame_.check = check_->facts;
    frame_.fields = said_.fields;
  }

  /// Octets of lines that are reports.
  std::size_t count(Learnt& learnt) {
    std::vector<std::string_view> all;
    all.reserve(lines_.lines.size());
    for (const TextLine& line : lines_.lines) all.push_back(line.text);
    const std::vector<bool> read = read_by(frame_, all);
    learnt.frames = all_;
    std::size_t octets = 0;
    for (std::size_t i = 0; i < all.size(); ++i) {
      if (!read[i]) continue;
      ++learnt.sound;
      octets += all[i].size() + 1;
      if (learnt.example.empty()) show(learnt, lines_.lines[i].text);
    }
    return std::min(octets, lines_.octets);
  }

  void show(Learnt& learnt, const std::string& line) {
    learnt.example.assign(line.begin(), line.end());
    const auto values = table_.values_in(line);
    for (std::size_t i = 0; i < frame_.fields.size(); ++i) {
      const std::string_view value = values[said_.slots[i]];
      if (value.empty()) continue;
      const auto from = static_cast<std::size_t>(value.data() - line.data());
      learnt.marks.push_back({from, from + value.size(), frame_.fields[i].name});
    }
    std::sort(learnt.marks.begin(), learnt.marks.end(),
              [](const Mark& a, const Mark& b) { return a.from < b.from; });
  }

  void say_shape(Learnt& learnt) const {
    const std::size_t reports = table_.report_lines.size();
    constexpr std::size_t kMany = 20;
    const Sureness sureness = reports >= kMany ? Sureness::certain : Sureness::likely;
    learnt.findings.push_back(
        {"framing",
         sureness,
         fmt::format("{}, {} of {} alike",
                     lines_.are_messages ? "one line of text a message" : "lines of text", reports,
                     lines_.lines.size()),
         {},
         {}});
    std::string what =
        table_.is_worded
            ? "words and keys say what a value is, " + separator_words() + " between them"
            : fmt::format("{} columns, {} between them", table_.finders.size(), separator_words());
    if (table_.style.decimal == ',') what += "; decimals stand behind a comma";
    if (!table_.header.empty())
      what += fmt::format("; a line names them ({} times)", table_.headers);
    body_finding_ = {"body", sureness, std::move(what), {}, {}};
    if (check_) say_check(learnt);
  }

  void say_check(Learnt& learnt) const {
    const fleet::CheckFacts& facts = check_->facts;
    const std::string name = facts.kind == fleet::CheckKind::crc   ? "the CRC " + facts.crc
                             : facts.kind == fleet::CheckKind::sum ? std::string{"a sum"}
                                                                   : std::string{"an exclusive or"};
    learnt.findings.push_back(
        {"check",
         sureness_of(check_->bits),
         fmt::format("{} in {} hex digits at the end holds for {} of {} lines", name,
                     2 * facts.octets, check_->count, all_),
         {},
         {}});
  }

  std::string separator_words() const {
    switch (table_.style.separator) {
      case ' ':
        return "blanks";
      case '\t':
        return "tabs";
      case ',':
        return "commas";
      case ';':
        return "semicolons";
      default:
        return std::string{"`"} + table_.style.separator + "`";
    }
  }

  void say_unlike(Learnt& learnt) const {
    learnt.findings.push_back(body_finding_);
    if (table_.comments > 0) {
      learnt.findings.push_back(
          {"kinds",
           Sureness::likely,
           fmt::format("{} lines begin with # and are no reports", table_.comments),
           {},
           {}});
    }
    if (table_.unlike > 0) {
      learnt.findings.push_back(
          {"kinds",
           Sureness::open,
           fmt::format("{} of {} lines are unlike the others: of another kind, or damaged",
                       table_.unlike, lines_.lines.size()),
           "a sample of these lines alone",
           {}});
    }
  }

  const TextLines& lines_;
  std::size_t all_;  ///< lines, damaged ones among them
  std::optional<TextCheck> check_;
  TextTable table_;
  Described said_;
  FrameFacts frame_;
  mutable Finding body_finding_;
};

}  // namespace

std::optional<Explained> learn_text(const Sample& sample) {
  const auto lines = text_lines(sample);
  if (!lines || are_documents(*lines)) return std::nullopt;
  auto check = search_text_check(*lines);
  const TextLines sound = sound_lines(*lines, check);
  auto table = text_table(without_check(sound, check));
  if (!table) return std::nullopt;
  return TextLearner{sample, sound, lines->lines.size(), std::move(check), std::move(*table)}
      .learn();
}

}  // namespace fieldfare::learn
