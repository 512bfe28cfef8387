// SPDX-License-Identifier: Apache-2.0
// SenML packs: records into reports and back.
#include <map>
#include <nlohmann/json.hpp>

#include "fieldfare/wire/internal/body_codecs.h"
#include "fieldfare/wire/internal/envelope.h"
#include "fieldfare/wire/internal/octet_text.h"
#include "fieldfare/wire/internal/report_builder.h"
#include "fieldfare/wire/internal/report_writer.h"
#include "fieldfare/wire/internal/senml_pack.h"

namespace fieldfare::wire {
namespace {

using fleet::FieldRole;

constexpr std::string_view kMacUrn = "urn:dev:mac:";  ///< RFC 9039 section 4.1, from memory

/// So that every name that was read can be written, with a separator behind it.
constexpr std::size_t kLongestNode = 200;

const fleet::AtRecord& record_of(const fleet::FieldLayout& field) {
  return std::get<fleet::AtRecord>(field.place);
}

bool is_separator(char c) { return c == '/' || c == ':'; }
bool begins_apart(std::string_view name) {
  return !name.empty() && std::string_view{"/:-._"}.find(name.front()) != std::string_view::npos;
}

/// Fields that the node's part of names goes to, and no record.
bool takes_node(const fleet::FieldLayout& field) {
  const bool names = field.role == FieldRole::address || field.role == FieldRole::name ||
                     field.role == FieldRole::receiver;
  return names && record_of(field).name.empty();
}

std::string_view without_separators(std::string_view node) {
  while (!node.empty() && is_separator(node.back())) node.remove_suffix(1);
  return node;
}

/// What stands behind the last `/` or `:`.
std::string_view last_part(std::string_view node) {
  return node.substr(node.find_last_of("/:") + 1);
}

/// Where the field's name begins in a record's; nothing where it doesn't end in it.
std::optional<std::size_t> ending(const SenmlRecord& record, std::string_view name) {
  if (!record.name.ends_with(name)) return std::nullopt;
  const std::size_t at = record.name.size() - name.size();
  const bool apart = at == 0 || at == record.base_size || is_separator(record.name[at - 1]) ||
                     begins_apart(name) || name.empty();
  return apart ? std::optional{at} : std::nullopt;
}

Tree senml_record(const std::string& label, const Tree& value) {
  Tree record = Tree::object();
  record[label] = value;
  return record;
}

/// The keys of records as the integers of RFC 8428 table 4.
Tree with_cbor_labels(const Tree& pack) {
  Tree relabelled = Tree::array();
  for (const Tree& record : pack) {
    Tree copy = Tree::object();
    for (const auto& [label, value] : record.items()) copy[senml_cbor_label(label)] = value;
    relabelled.push_back(std::move(copy));
  }
  return relabelled;
}

/// Where the records of a pack belong.
class Sorter {
 public:
  Sorter(const fleet::FrameFacts& frame, ReportBatch& batch) : frame_{&frame}, batch_{&batch} {}

  std::optional<BodyError> take(const SenmlRecord& record) {
    const auto home = home_of(record);
    const bool only_a_sum = std::holds_alternative<std::monostate>(record.value);
    if (!home || only_a_sum) return std::nullopt;
    if (home->node.size() > kLongestNode) return BodyError{BodyFault::bad_value, 0, home->field};
    auto group = group_for(record, *home);
    if (!group) return group.error();
    Group& at = groups_[*group];
    at.values[home->field] = record.value;
    return std::nullopt;
  }

  /// Gives the fields their values in the order of the sheet, which lets those
  /// that depend on others see them.
  std::optional<BodyError> finish() {
    if (groups_.empty()) return BodyError{BodyFault::missing_field};
    for (const Group& group : groups_) {
      ReportBuilder& builder = batch_->add();
      if (group.time) builder.set_time(*group.time);
      if (group.age) builder.set_age(*group.age);
      if (auto error = build(group, builder)) return error;
    }
    return std::nullopt;
  }

 private:
  /// The field that a record belongs to, and the node that it is of.
  struct Home {
    std::size_t field = 0;
    std::string_view node;
  };
  struct Group {
    std::string node;
    std::optional<Instant> time;
    std::optional<Duration> age;
    std::vector<Scalar> values;  ///< by field
  };

  std::optional<Home> home_of(const SenmlRecord& record) const {
    std::optional<Home> home;
    std::size_t longest = 0;
    for (std::size_t i = 0; i < frame_->fields.size(); ++i) {
      const fleet::FieldLayout& field = frame_->fields[i];
      const fleet::AtRecord& place = record_of(field);
      if (takes_node(field) || (!place.unit.empty() && place.unit != record.unit)) continue;
      const auto at = ending(record, place.name);
      if (!at || (home && place.name.size() <= longest)) continue;
      longest = place.name.size();
      home = Home{i, without_separators(std::string_view{record.name}.substr(0, *at))};
    }
    return home;
  }

  Result<std::size_t, BodyError> group_for(const SenmlRecord& record, const Home& home) {
    const auto [found, is_new] =
        latest_.try_emplace({std::string{home.node}, record.time_s}, groups_.size());
    if (!is_new) {
      const Scalar& before = groups_[found->second].values[home.field];
      if (std::holds_alternative<std::monostate>(before)) return found->second;
    }
    if (groups_.size() == kMostReportsInBody) return Failure{BodyError{BodyFault::too_many}};
    Group group;
    group.node = home.node;
    group.values.resize(frame_->fields.size());
    if (!set_time(record.time_s, group)) return Failure{BodyError{BodyFault::bad_value}};
    found->second = groups_.size();
    groups_.push_back(std::move(group));
    return found->second;
  }

  static bool set_time(double time_s, Group& group) {
    const auto ns = whole_ns(time_s);
    if (!ns || (time_s > 0 && time_s < kSenmlAbsolute)) return false;
    if (time_s >= kSenmlAbsolute) group.time = Instant{*ns};
    if (*ns < 0) group.age = Duration{-*ns};
    return true;
  }

  std::optional<BodyError> build(const Group& group, ReportBuilder& builder) const {
    for (std::size_t i = 0; i < frame_->fields.size(); ++i) {
      if (!builder.is_due(i)) continue;
      const auto fault = takes_node(frame_->fields[i]) ? take_node(group, i, builder)
                                                       : builder.take(i, 0, group.values[i]);
      if (fault) return BodyError{*fault, 0, i};
    }
    return std::nullopt;
  }

  std::optional<BodyFault> take_node(const Group& group, std::size_t field,
                                     ReportBuilder& builder) const {
    if (group.node.empty()) return builder.take_nothing(field);
    if (frame_->fields[field].role != FieldRole::address) return builder.take(field, 0, group.node);
    const std::string address{last_part(group.node)};
    const bool optional = frame_->fields[field].optional;
    if (optional && !parse_address(address)) return std::nullopt;
    return builder.take(field, 0, address);
  }

  const fleet::FrameFacts* frame_;
  ReportBatch* batch_;
  std::vector<Group> groups_;
  std::map<std::pair<std::string, double>, std::size_t> latest_;  ///< by node and time
};

/// Makes the pack of one report.
class PackWriter {
 public:
  PackWriter(const fleet::FrameFacts& frame, const ReportValues& values)
      : frame_{&frame}, values_{&values}, writer_{frame, values} {}

  Result<Tree, BodyError> pack() {
    if (!time_fits()) return Failure{BodyError{BodyFault::does_not_fit}};
    if (auto error = find_base()) return Failure{*error};
    for (std::size_t i = 0; i < frame_->fields.size(); ++i) {
      if (takes_node(frame_->fields[i])) continue;
      if (auto error = write(i)) return Failure{*error};
    }
    if (pack_.empty()) return Failure{BodyError{BodyFault::does_not_fit}};
    return std::move(pack_);
  }

 private:
  using Error = std::optional<BodyError>;

  Error find_base() {
    const fleet::FrameFacts& frame = *frame_;
    std::optional<std::size_t> node_field;
    bool apart = true;
    for (std::size_t i = 0; i < frame.fields.size(); ++i) {
      const fleet::FieldLayout& field = frame.fields[i];
      if (!takes_node(field)) {
        apart = apart && !record_of(field).name.empty() && !begins_apart(record_of(field).name);
      } else if (auto error = take_node(i)) {
        return error;
      } else if (!field.optional) {
        node_field = i;
      }
    }
    if (node_.empty() && (node_field || !apart)) node_ = "0";
    if (without_separators(node_) != node_)
      return BodyError{BodyFault::does_not_fit, 0, node_field};
    if (!node_.empty() && apart) node_ += ':';
    joint_ = apart || node_.empty() ? "" : ":";
    return std::nullopt;
  }

  /// The node's part of names must give all fields that it goes to.
  Error take_node(std::size_t field) {
    const BodyError does_not_fit{BodyFault::does_not_fit, 0, field};
    if (frame_->fields[field].role == FieldRole::address) {
      if (!values_->address) return std::nullopt;
      const bool urn = values_->address->digits == 16;
      if (node_.empty()) {
        node_ = (urn ? std::string{kMacUrn} : std::string{}) + values_->address->text();
        from_address_ = true;
      }
      return parse_address(last_part(node_)) == values_->address ? Error{} : does_not_fit;
    }
    const std::string_view name =
        frame_->fields[field].role == FieldRole::name ? values_->node_name : values_->receiver;
    if (name.empty()) return std::nullopt;
    if (from_address_ || node_.empty()) {
      if (from_address_ && parse_address(last_part(name)) != values_->address) return does_not_fit;
      node_ = name;
      from_address_ = false;
    }
    return node_ == name ? Error{} : does_not_fit;
  }

  Error write(std::size_t field) {
    const auto scalar = writer_.scalar(field);
    if (!scalar) return scalar.error();
    if (!*scalar) return std::nullopt;
    const fleet::AtRecord& place = record_of(frame_->fields[field]);
    Tree record = senml_record(label_for(**scalar), value_for(**scalar));
    const std::string name = joined(place.name);
    if (!is_senml_name(node_ + name)) return BodyError{BodyFault::does_not_fit, 0, field};
    if (!name.empty()) record["n"] = name;
    if (!place.unit.empty()) record["u"] = place.unit;
    if (pack_.empty()) {
      if (!node_.empty()) record["bn"] = node_;
      if (const auto base_time = time()) record["bt"] = *base_time;
    }
    pack_.push_back(std::move(record));
    return std::nullopt;
  }

  std::string joined(const std::string& name) const {
    return name.empty() || begins_apart(name) ? name : joint_ + name;
  }

  /// Early times would read as relative ones, and ages before now as times to come.
  bool time_fits() const {
    if (values_->time) return static_cast<double>(values_->time->ns) >= kSenmlAbsolute * 1e9;
    return !values_->age || values_->age->ns >= 0;
  }

  /// The time, else the age as a relative one; whole seconds as integers.
  std::optional<Tree> time() const {
    if (!values_->time && !values_->age) return std::nullopt;
    const std::int64_t ns = values_->time ? values_->time->ns : -values_->age->ns;
    if (ns % 1'000'000'000 == 0) return Tree(ns / 1'000'000'000);
    return Tree(seconds_of(ns));
  }

  static std::string label_for(const Scalar& value) {
    if (std::holds_alternative<std::string>(value)) return "vs";
    return std::holds_alternative<fleet::Octets>(value) ? "vd" : "v";
  }

  Tree value_for(const Scalar& value) const {
    const auto* const octets = std::get_if<fleet::Octets>(&value);
    if (octets == nullptr || frame_->body == fleet::Body::senml_cbor) return tree_of(value);
    return base64url_of(*octets);
  }

  const fleet::FrameFacts* frame_;
  const ReportValues* values_;
  ReportWriter writer_;
  std::string node_;   ///< base name
  std::string joint_;  ///< between it and the name of a field
  bool from_address_ = false;
  Tree pack_ = Tree::array();
};

class SenmlCodec : public BodyCodec {
 public:
  explicit SenmlCodec(const fleet::FrameFacts& frame) : frame_{&frame}, batch_{frame} {}

  std::optional<BodyError> decode(std::span<const std::uint8_t> body, ReportSink& sink) override {
    const auto span = body_span(*frame_, body.size());
    if (!span) return BodyError{BodyFault::too_short, body.size()};
    const auto document = body.subspan(span->from, span->to - span->from);
    Tree tree;
    if (auto error = is_cbor() ? read_cbor(document, tree) : read_json(document, tree)) {
      error->offset += span->from;
      return error;
    }
    batch_.clear();
    if (auto error = take_pack(tree)) return error;
    batch_.hand_to(sink);
    return std::nullopt;
  }

  Result<fleet::Octets, BodyError> encode(const ReportValues& values) override {
    const auto pack = PackWriter{*frame_, values}.pack();
    if (!pack) return Failure{pack.error()};
    fleet::Octets octets;
    if (is_cbor()) {
      write_cbor(with_cbor_labels(*pack), CborKeys::as_integers, octets);
    } else {
      const std::string text = pack->dump(-1, ' ', false, Tree::error_handler_t::replace);
      octets.assign(text.begin(), text.end());
    }
    return with_envelope(*frame_, octets);
  }

 private:
  bool is_cbor() const { return frame_->body == fleet::Body::senml_cbor; }

  std::optional<BodyError> take_pack(const Tree& tree) {
    const auto records = resolve_senml(tree, is_cbor());
    if (!records) return records.error();
    Sorter sorter{*frame_, batch_};
    for (const SenmlRecord& record : *records) {
      if (auto error = sorter.take(record)) return error;
    }
    return sorter.finish();
  }

  const fleet::FrameFacts* frame_;
  ReportBatch batch_;
};

}  // namespace

std::unique_ptr<BodyCodec> make_senml_codec(const fleet::FrameFacts& frame) {
  return std::make_unique<SenmlCodec>(frame);
}

}  // namespace fieldfare::wire
