// SPDX-License-Identifier: Apache-2.0
#include "fieldfare/site/site_writer.h"

#include "fieldfare/site/internal/frame_writer.h"
#include "fieldfare/site/internal/toml_comment.h"

namespace fieldfare::site {
namespace {

/// Pairs of digits with colons between where there are several whole pairs.
std::string spaced(const Address& address) {
  std::string digits = address.text();
  if (digits.size() < 8 || digits.size() % 2 != 0) return digits;
  std::string text;
  for (std::size_t i = 0; i < digits.size(); i += 2) {
    if (i > 0) text += ':';
    text += digits.substr(i, 2);
  }
  return text;
}

std::string receiver_text(const fleet::Site& site, const fleet::Receiver& receiver) {
  std::string text = "\n[[receiver]]\n" + toml_line("name", toml_text(receiver.name));
  if (receiver.sheet) {
    text += toml_line("sheet", toml_text(site.receiver_sheets[*receiver.sheet].head.name));
  }
  if (!receiver.source.empty()) text += toml_line("source", toml_text(receiver.source));
  if (receiver.sends_log) text += toml_line("content", toml_text("log"));
  return text;
}

std::string node_text(const fleet::Site& site, const fleet::Node& node, const std::string& note) {
  std::string text =
      '\n' + toml_comment(note) + "[[node]]\n" + toml_line("name", toml_text(node.name));
  if (node.address) text += toml_line("address", toml_text(spaced(*node.address)));
  if (!node.label.empty()) text += toml_line("label", toml_text(node.label));
  if (node.sheet) text += toml_line("sheet", toml_text(site.node_sheets[*node.sheet].head.name));
  return text;
}

}  // namespace

std::string begun_site_text(const fleet::Site& site, const std::vector<std::string>& notes) {
  std::string text = toml_comment(
      "A site that began at a desk. What else can stand here, and what each word means: "
      "docs/formats/site.md. `fieldfare check` tells of mistakes.");
  text += "\n[site]\n" + toml_line("name", toml_text(site.name));
  if (site.invented) text += toml_line("invented", "true");
  text += toml_line("timezone", toml_text(site.timezone));
  if (site.pan_id) {
    text += "\n[radio]\n" + toml_line("pan_id", toml_text("0x" + Address{*site.pan_id, 4}.text()));
  }
  for (const fleet::Receiver& receiver : site.receivers) text += receiver_text(site, receiver);
  for (std::size_t i = 0; i < site.nodes.size(); ++i) {
    text += node_text(site, site.nodes[i], i < notes.size() ? notes[i] : std::string{});
  }
  return text;
}

}  // namespace fieldfare::site
