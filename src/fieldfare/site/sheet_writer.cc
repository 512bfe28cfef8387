// SPDX-License-Identifier: Apache-2.0
#include "fieldfare/site/sheet_writer.h"

#include <algorithm>
#include <string_view>

#include "fieldfare/base/utf8.h"
#include "fieldfare/site/internal/frame_writer.h"
#include "fieldfare/site/internal/toml_comment.h"

namespace fieldfare::site {
namespace {

std::string head_section(const fleet::SheetHead& head) {
  std::string text =
      "[sheet]\n" + toml_line("name", toml_text(head.name)) + toml_line("kind", toml_text("node"));
  if (head.invented) text += toml_line("invented", "true");
  if (!head.source.empty()) text += toml_line("source", toml_text(head.source));
  return text;
}

std::string sequence_section(const fleet::SequenceFacts& sequence) {
  std::string keys;
  if (sequence.bits) keys += toml_line("bits", std::to_string(*sequence.bits));
  if (sequence.starts_at) keys += toml_line("starts_at", std::to_string(*sequence.starts_at));
  if (!sequence.restarts_on_reset) keys += toml_line("restarts_on_reset", "false");
  return keys.empty() ? "" : "[sequence]\n" + keys;
}

/// Whether the facts can stand at a field of the frame: it is the reading of this name.
bool is_at(const fleet::FieldLayout& field, const fleet::FieldFacts& facts) {
  return field.role == fleet::FieldRole::reading && !field.repeat && field.name == facts.name;
}

std::string frame_section(const fleet::NodeSheet& sheet, const SheetComments& comments) {
  std::string text = toml_comment(comments.frame) + "[frame]\n" + frame_keys(*sheet.frame);
  for (std::size_t i = 0; i < sheet.frame->fields.size(); ++i) {
    const fleet::FieldLayout& field = sheet.frame->fields[i];
    text += '\n';
    if (i < comments.fields.size()) text += toml_comment(comments.fields[i]);
    text += "[[frame.field]]\n" + frame_field_keys(field);
    for (const fleet::FieldFacts& facts : sheet.fields) {
      if (is_at(field, facts)) text += field_facts_keys(facts);
    }
  }
  return text;
}

/// Facts of readings that no field of the frame can say.
std::string facts_sections(const fleet::NodeSheet& sheet) {
  std::string text;
  for (const fleet::FieldFacts& facts : sheet.fields) {
    const std::string keys = field_facts_keys(facts);
    const bool stands_in_frame =
        sheet.frame && std::any_of(sheet.frame->fields.begin(), sheet.frame->fields.end(),
                                   [&](const auto& field) { return is_at(field, facts); });
    // A reading of which nothing is known but that it is there has only the header.
    if (stands_in_frame && !keys.empty()) continue;
    text += (text.empty() ? "[field." : "\n[field.") + facts.name + "]\n" + keys;
  }
  return text;
}

}  // namespace

std::string sheet_text(const fleet::NodeSheet& sheet, const SheetComments& comments) {
  std::string text = toml_comment(comments.head) + head_section(sheet.head);
  const auto add = [&text](const std::string& section) {
    if (!section.empty()) text += '\n' + section;
  };
  add(toml_comment(comments.sequence) + sequence_section(sheet.sequence));
  if (sheet.frame) add(frame_section(sheet, comments));
  add(facts_sections(sheet));
  add(toml_comment(comments.tail));
  return text;
}

}  // namespace fieldfare::site
