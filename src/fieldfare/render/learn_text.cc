// SPDX-License-Identifier: Apache-2.0
#include <fmt/format.h>

#include <algorithm>

#include "fieldfare/render/internal/example_lines.h"
#include "fieldfare/render/internal/learn_words.h"
#include "fieldfare/render/internal/page.h"
#include "fieldfare/render/learn_answer.h"
#include "fieldfare/site/sheet_writer.h"

namespace fieldfare::render {
namespace {

using internal::Page;
using learn::Finding;
using learn::Learnt;
using learn::Sureness;

/// What a finding is about, as people call it: a field by its name.
std::string subject(const Learnt& learnt, const Finding& finding) {
  if (!finding.field || !learnt.frame || *finding.field >= learnt.frame->fields.size()) {
    return finding.part;
  }
  return learnt.frame->fields[*finding.field].name;
}

void show_findings(Page& page, const Learnt& learnt, Sureness sureness, std::string_view heading) {
  constexpr std::size_t kColumn = 15;
  page.heading(heading);
  for (const Finding& each : learnt.findings) {
    if (each.sureness != sureness) continue;
    page.entry(page.safe(subject(learnt, each)), page.safe(each.what), kColumn);
    if (!each.decides.empty()) page.entry("", page.safe("decides: " + each.decides), kColumn);
  }
}

void show_nodes(Page& page, const Learnt& learnt) {
  constexpr std::size_t kMost = 20;
  page.heading("Nodes");
  for (std::size_t i = 0; i < std::min(learnt.nodes.size(), kMost); ++i) {
    page.item(page.safe(learnt.nodes[i]));
  }
  if (learnt.nodes.size() > kMost) {
    page.item(fmt::format("and {} more", count_words(learnt.nodes.size() - kMost)));
  }
}

/// A finding as a comment says it.
std::string told(const Finding& finding) {
  std::string word{internal::sureness_word(finding.sureness)};
  word.front() = static_cast<char>(word.front() - 'a' + 'A');
  std::string text = fmt::format("{}: {}", word, finding.what);
  if (!finding.decides.empty()) text += "\n  decides: " + finding.decides;
  return text;
}

void add_line(std::string& text, const std::string& line) {
  if (!text.empty()) text += '\n';
  text += line;
}

std::string head_comment(const Learnt& learnt) {
  std::string text = internal::learnt_words(learnt);
  add_line(text,
           "Certain: chance would do this less than once in a million samples. Likely: less than "
           "once in a hundred. Guess: the best there is. Open: the sample carries no answer.");
  if (learnt.example.empty()) return text;
  add_line(text, "");
  add_line(text, "One frame:");
  constexpr std::size_t kColumns = 84;
  for (const auto& line : internal::example_lines(learnt.example, learnt.marks, kColumns)) {
    add_line(text, line);
  }
  return text;
}

}  // namespace

std::string learn_text(const Learnt& learnt, const TextStyle& style) {
  Page page{style};
  page.sentence(internal::learnt_words(learnt));
  show_findings(page, learnt, Sureness::certain, "Certain");
  show_findings(page, learnt, Sureness::likely, "Likely");
  show_findings(page, learnt, Sureness::guess, "Guessed");
  show_findings(page, learnt, Sureness::open, "Open");
  show_nodes(page, learnt);
  if (learnt.example.empty()) return page.finish();
  page.heading("One frame");
  for (const auto& line : internal::example_lines(learnt.example, learnt.marks, style.width)) {
    page.line(page.safe(line));
  }
  return page.finish();
}

std::string learnt_sheet(const Learnt& learnt, std::string_view name) {
  fleet::NodeSheet sheet;
  sheet.head.name = name;
  sheet.head.source = fmt::format("learnt from {} of {}", counted(learnt.frames, "frame", "frames"),
                                  counted(learnt.nodes.size(), "node", "nodes"));
  sheet.frame = learnt.frame;
  sheet.sequence = learnt.sequence;
  sheet.fields = learnt.fields;
  site::SheetComments comments;
  comments.head = head_comment(learnt);
  comments.fields.resize(learnt.frame->fields.size());
  for (const Finding& each : learnt.findings) {
    std::string* place = each.part == "counter" ? &comments.sequence : &comments.frame;
    if (each.part != "counter" && each.field && *each.field < comments.fields.size()) {
      place = &comments.fields[*each.field];
    }
    add_line(*place, told(each));
  }
  return site::sheet_text(sheet, comments);
}

}  // namespace fieldfare::render
