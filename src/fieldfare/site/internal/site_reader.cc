// SPDX-License-Identifier: Apache-2.0
#include "fieldfare/site/internal/site_reader.h"

#include <algorithm>
#include <optional>
#include <unordered_map>
#include <utility>
#include <vector>

#include "fieldfare/base/address.h"
#include "fieldfare/fleet/endpoint.h"
#include "fieldfare/site/internal/grammar.h"
#include "fieldfare/site/internal/values.h"
#include "fieldfare/site/internal/view.h"

namespace fieldfare::site {
namespace {

std::string quoted(const std::string& text) { return describe(Value{text, {}}); }

/// Names of one kind with the place where each was given first.
template <class Name>
class Taken {
 public:
  /// Enters a name, or says on which line it stands already.
  std::optional<std::size_t> enter(const Name& name, Spot spot) {
    const auto [known, is_new] = lines_.try_emplace(name, spot.line);
    return is_new ? std::nullopt : std::optional{known->second};
  }

 private:
  std::unordered_map<Name, std::size_t> lines_;
};

/// Finds things by the name that a file calls them.
class NameIndex {
 public:
  explicit NameIndex(std::vector<std::string_view> names) : names_{std::move(names)} {
    for (std::size_t i = 0; i < names_.size(); ++i) index_.try_emplace(names_[i], i);
  }

  /// The thing called at `key` of `view`; complains where there is none of that
  /// name. `kind` is what people call such a thing.
  std::optional<std::size_t> look_up(const View& view, std::string_view key,
                                     const std::string& kind, Complaints& complaints) const {
    const auto name = view.text(key);
    if (!name) return std::nullopt;
    if (const auto found = index_.find(*name); found != index_.end()) return found->second;
    std::string expected;
    if (!complaints.is_full()) expected = nearest_or_known(*name, names_);
    complaints.error(view.spot_of(key), "there is no " + kind + ' ' + quoted(*name),
                     std::move(expected));
    return std::nullopt;
  }

 private:
  std::vector<std::string_view> names_;
  std::unordered_map<std::string_view, std::size_t> index_;
};

void read_head(const View& file, fleet::Site& site) {
  const auto head = file.table("site");
  if (!head) return;
  site.name = head->text_or_empty("name");
  site.invented = head->flag("invented").value_or(false);
  if (const auto zone = head->text("timezone")) site.timezone = *zone;
}

void read_shared_radio(const View& file, fleet::Site& site) {
  const auto radio = file.table("radio");
  if (!radio) return;
  site.channel = radio->small("channel");
  site.pan_id = radio->pan_id("pan_id");
}

void read_needs(const View& file, fleet::Site& site, Complaints& complaints) {
  for (const auto& [name, part] : file.named_tables("need")) {
    fleet::Need need;
    need.name = name;
    if (!is_name(name)) {
      complaints.error(part.spot(), quoted(name) + " can't be the name of a need",
                       "expected 1 to 64 characters and 128 bytes, with no blank at either end");
    }
    need.fresh_within = part.duration("fresh_within");
    need.fresh_probability = part.number_or("fresh_probability", need.fresh_probability);
    need.life = part.duration("life");
    need.air_temperature_c = part.range("air_temperature_c");
    site.needs.push_back(std::move(need));
  }
}

void read_proof(const View& file, fleet::Proof& proof, Complaints& complaints) {
  const auto part = file.table("proof");
  if (!part) return;
  proof.delivery_good = part->number_or("delivery_good", proof.delivery_good);
  proof.delivery_bad = part->number_or("delivery_bad", proof.delivery_bad);
  proof.alpha = part->number_or("alpha", proof.alpha);
  proof.beta = part->number_or("beta", proof.beta);
  proof.soak = part->duration("soak").value_or(proof.soak);
  proof.margin_db = part->number_or("margin_db", proof.margin_db);
  if (proof.delivery_bad >= proof.delivery_good) {
    complaints.error(part->spot_of("delivery_bad"),
                     "`delivery_bad` is " + plain_number(proof.delivery_bad) +
                         ", not below `delivery_good` " + plain_number(proof.delivery_good),
                     "expected a share that fails to be less than one that passes");
  }
}

/// A source that can't be one. Its column is that within the quotes.
void check_source(const View& receiver, const std::string& source, Complaints& complaints) {
  if (source.empty()) return;
  const auto endpoint = fleet::parse_endpoint(source);
  if (endpoint) return;
  Spot spot = receiver.spot_of("source");
  spot.column += endpoint.error().place.column;
  complaints.error(spot, "`source`: " + endpoint.error().what, endpoint.error().expected);
}

void read_receivers(const View& file, fleet::Site& site, Complaints& complaints) {
  const NameIndex sheets{sheet_names(site.receiver_sheets)};
  Taken<std::string> names;
  for (const View& part : file.tables("receiver")) {
    fleet::Receiver receiver;
    receiver.name = part.text_or_empty("name");
    if (!receiver.name.empty()) {
      if (const auto line = names.enter(receiver.name, part.spot_of("name"))) {
        complaints.error(part.spot_of("name"),
                         "the name " + quoted(receiver.name) + " is that of the receiver on line " +
                             std::to_string(*line),
                         "expected a name that no other receiver has");
      }
    }
    receiver.sheet = sheets.look_up(part, "sheet", "receiver sheet", complaints);
    receiver.source = part.text_or_empty("source");
    receiver.sends_log = part.text_or_empty("content") == "log";
    check_source(part, receiver.source, complaints);
    receiver.at_m = part.position("at_m");
    site.receivers.push_back(std::move(receiver));
  }
}

/// Reads the nodes one by one, with what has to be known of the others.
class NodeReader {
 public:
  NodeReader(fleet::Site& site, Complaints& complaints)
      : site_{site},
        complaints_{complaints},
        sheets_{sheet_names(site.node_sheets)},
        needs_{need_names(site)} {}

  void read(const View& part) {
    fleet::Node node;
    node.name = part.text_or_empty("name");
    node.address = part.address("address");
    if (const auto label = part.address("label")) node.label = label->text();
    check_name(part, node);
    check_address(part, node);
    check_label(part, node);
    node.sheet = sheets_.look_up(part, "sheet", "node sheet", complaints_);
    node.need = needs_.look_up(part, "need", "need", complaints_);
    node.at_m = part.position("at_m");
    node.mounting = part.text_or_empty("mounting");
    if (const auto card = part.table("card")) {
      node.card.interval = card->duration("interval");
      check_interval(*card, node);
    }
    node.cells_fitted = part.date("cells_fitted");
    site_.nodes.push_back(std::move(node));
  }

 private:
  static std::vector<std::string_view> need_names(const fleet::Site& site) {
    std::vector<std::string_view> names;
    names.reserve(site.needs.size());
    for (const fleet::Need& need : site.needs) names.push_back(need.name);
    return names;
  }

  void check_name(const View& part, const fleet::Node& node) {
    if (node.name.empty()) return;
    const Spot spot = part.spot_of("name");
    if (const auto line = names_.enter(node.name, spot)) {
      complaints_.error(
          spot,
          "the name " + quoted(node.name) + " is that of the node on line " + std::to_string(*line),
          "expected a name that no other node has");
    }
    const auto as_address = parse_address(node.name);
    if (as_address && as_address != node.address) {
      complaints_.warning(spot,
                          "the name " + quoted(node.name) +
                              " reads as an address: in logs it always means this node",
                          "better a name with a letter past f");
    }
  }

  void check_address(const View& part, const fleet::Node& node) {
    if (!node.address) return;
    const Spot spot = part.spot_of("address");
    if (const auto line = addresses_.enter(*node.address, spot)) {
      complaints_.error(spot,
                        "the address " + node.address->text() + " is that of the node on line " +
                            std::to_string(*line),
                        "expected the address on this node's own label");
    }
    const bool has_owner_bit = node.address->digits == 12 || node.address->digits == 16;
    if (site_.invented && has_owner_bit && !node.address->locally_administered()) {
      complaints_.warning(
          spot,
          "the address " + node.address->text() + " of an invented site may be somebody's device",
          "better a locally administered one, such as 02:00:…");
    }
  }

  void check_label(const View& part, const fleet::Node& node) {
    if (node.label.empty() || !node.address || node.address->text().ends_with(node.label)) return;
    complaints_.warning(
        part.spot_of("label"),
        "the label " + node.label + " is not how the address " + node.address->text() + " ends",
        "expected the last digits of its address; or its label is on another case");
  }

  /// Reports that come more rarely than readings may be old can't be fresh.
  void check_interval(const View& card, const fleet::Node& node) {
    const fleet::Need* need = need_of(site_, node);
    if (!need || !need->fresh_within || !node.card.interval) return;
    if (*node.card.interval <= *need->fresh_within) return;
    complaints_.warning(card.spot_of("interval"),
                        "the interval of " + plain_number(node.card.interval->in_seconds()) +
                            " s is longer than readings for the need " + quoted(need->name) +
                            " may be old (" + plain_number(need->fresh_within->in_seconds()) +
                            " s)",
                        "a shorter interval would meet the need");
  }

  fleet::Site& site_;
  Complaints& complaints_;
  NameIndex sheets_;
  NameIndex needs_;
  Taken<std::string> names_;
  Taken<Address> addresses_;
};

}  // namespace

fleet::Site read_site(std::string_view text, const std::string& place, SheetShelf shelf,
                      Complaints& complaints) {
  fleet::Site site;
  site.node_sheets = std::move(shelf.nodes);
  site.receiver_sheets = std::move(shelf.receivers);
  site.cell_sheets = std::move(shelf.cells);

  complaints.begin_file(place);
  const auto tree = parse_tree(text, place);
  if (!tree) {
    complaints.error(tree.error());
    return site;
  }
  check_section(*tree, kSiteFile, {}, complaints);
  const View file{*tree, kSiteFile, {}};
  read_head(file, site);
  read_shared_radio(file, site);
  read_needs(file, site, complaints);
  read_proof(file, site.proof, complaints);
  read_receivers(file, site, complaints);
  NodeReader reader{site, complaints};
  for (const View& part : file.tables("node")) reader.read(part);
  return site;
}

}  // namespace fieldfare::site
