// SPDX-License-Identifier: Apache-2.0
#include "fieldfare/wire/internal/senml_pack.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <nlohmann/json.hpp>

#include "fieldfare/wire/internal/octet_text.h"

namespace fieldfare::wire {
namespace {

constexpr int kVersion = 10;
/// Names and units beyond this are noise. Each record holds its own, so that a long
/// base name in front of many short records would multiply.
constexpr std::size_t kLongestText = 256;

enum class Label : std::uint8_t {
  version,
  base_name,
  base_time,
  base_unit,
  base_value,
  base_sum,
  name,
  unit,
  value,
  text,
  truth,
  sum,
  time,
  update,
  data
};
constexpr std::size_t kLabels = 15;

struct LabelName {
  std::string_view json;
  std::string_view cbor;
};

/// RFC 8428 table 4, in its order.
constexpr std::array<LabelName, kLabels> kNames{{{"bver", "-1"},
                                                 {"bn", "-2"},
                                                 {"bt", "-3"},
                                                 {"bu", "-4"},
                                                 {"bv", "-5"},
                                                 {"bs", "-6"},
                                                 {"n", "0"},
                                                 {"u", "1"},
                                                 {"v", "2"},
                                                 {"vs", "3"},
                                                 {"vb", "4"},
                                                 {"s", "5"},
                                                 {"t", "6"},
                                                 {"ut", "7"},
                                                 {"vd", "8"}}};

bool is_base(Label label) { return label <= Label::base_sum; }

/// The fields of one record by their labels, null pointers where absent.
using Fields = std::array<const Tree*, kLabels>;

class Resolver {
 public:
  explicit Resolver(bool in_cbor) : in_cbor_{in_cbor} {}

  /// Appends the record to `records`, unless it holds base fields alone.
  std::optional<BodyFault> take(const Tree& record, std::vector<SenmlRecord>& records) {
    if (!record.is_object()) return BodyFault::bad_syntax;
    Fields fields{};
    if (const auto fault = sort(record, fields)) return fault;
    if (const auto fault = take_base(fields)) return fault;
    bool regular = false;
    for (std::size_t i = 0; i < kLabels; ++i) {
      regular = regular || (fields[i] != nullptr && !is_base(static_cast<Label>(i)));
    }
    return regular ? take_regular(fields, records) : std::nullopt;
  }

 private:
  using Fault = std::optional<BodyFault>;

  std::optional<Label> label_of(const std::string& key) const {
    for (std::size_t i = 0; i < kLabels; ++i) {
      if (key == kNames[i].json || (in_cbor_ && key == kNames[i].cbor))
        return static_cast<Label>(i);
    }
    return std::nullopt;
  }

  Fault sort(const Tree& record, Fields& fields) const {
    for (const auto& [key, value] : record.items()) {
      const auto label = label_of(key);
      if (!label && key.ends_with('_')) return BodyFault::bad_syntax;
      if (!label) continue;
      const Tree*& place = fields[static_cast<std::size_t>(*label)];
      if (place != nullptr) return BodyFault::bad_syntax;
      place = &value;
    }
    return std::nullopt;
  }

  static const Tree* at(const Fields& fields, Label label) {
    return fields[static_cast<std::size_t>(label)];
  }

  static Fault take_number(const Tree* field, std::optional<double>& number) {
    if (field == nullptr) return std::nullopt;
    if (!field->is_number()) return BodyFault::bad_syntax;
    number = field->get<double>();
    return std::isfinite(*number) ? Fault{} : BodyFault::bad_value;
  }

  static Fault take_text(const Tree* field, std::string& text) {
    if (field == nullptr) return std::nullopt;
    if (!field->is_string()) return BodyFault::bad_syntax;
    text = field->get_ref<const std::string&>();
    return text.size() > kLongestText ? BodyFault::bad_value : Fault{};
  }

  Fault take_version(const Tree* field) {
    if (field == nullptr) {
      version_ = version_.value_or(kVersion);
      return std::nullopt;
    }
    if (!field->is_number_unsigned() || *field == 0) return BodyFault::bad_syntax;
    const auto version = field->get<std::uint64_t>();
    if (version > kVersion) return BodyFault::another_kind;
    if (version_ && *version_ != version) return BodyFault::bad_syntax;
    version_ = version;
    return std::nullopt;
  }

  Fault take_base(const Fields& fields) {
    Fault fault = take_version(at(fields, Label::version));
    if (!fault) fault = take_text(at(fields, Label::base_name), base_name_);
    if (!fault) fault = take_text(at(fields, Label::base_unit), base_unit_);
    if (!fault) fault = take_number(at(fields, Label::base_time), base_time_s_);
    if (!fault) fault = take_number(at(fields, Label::base_value), base_value_);
    if (!fault) fault = take_number(at(fields, Label::base_sum), base_sum_);
    return fault;
  }

  Fault take_regular(const Fields& fields, std::vector<SenmlRecord>& records) const {
    SenmlRecord record;
    std::string name;
    std::optional<double> time_s;
    record.unit = base_unit_;
    Fault fault = take_text(at(fields, Label::name), name);
    if (!fault) fault = take_text(at(fields, Label::unit), record.unit);
    if (!fault) fault = take_number(at(fields, Label::time), time_s);
    if (!fault) fault = take_number(at(fields, Label::update), record.update_s);
    if (!fault) fault = take_number(at(fields, Label::sum), record.sum);
    if (!fault) fault = take_value(fields, record);
    if (fault) return fault;
    record.name = base_name_ + name;
    record.base_size = base_name_.size();
    if (!is_senml_name(record.name)) return BodyFault::bad_value;
    record.time_s = base_time_s_.value_or(0) + time_s.value_or(0);
    if (!std::isfinite(record.time_s)) return BodyFault::bad_value;
    if (record.sum || base_sum_) record.sum = record.sum.value_or(0) + base_sum_.value_or(0);
    records.push_back(std::move(record));
    return std::nullopt;
  }

  Fault take_value(const Fields& fields, SenmlRecord& record) const {
    const Tree* const number = at(fields, Label::value);
    const Tree* const text = at(fields, Label::text);
    const Tree* const truth = at(fields, Label::truth);
    const Tree* const data = at(fields, Label::data);
    const int values = (number ? 1 : 0) + (text ? 1 : 0) + (truth ? 1 : 0) + (data ? 1 : 0);
    if (values > 1) return BodyFault::bad_syntax;
    if (number) return take_measured(*number, record);
    if (text && !text->is_string()) return BodyFault::bad_syntax;
    if (truth && !truth->is_boolean()) return BodyFault::bad_syntax;
    if (data) return take_data(*data, record);
    if (text || truth) {
      record.value = *scalar_of(text ? *text : *truth);
    } else if (base_value_) {
      record.value = *base_value_;
    } else if (!record.sum && !base_sum_) {
      return BodyFault::bad_syntax;
    }
    return std::nullopt;
  }

  Fault take_measured(const Tree& number, SenmlRecord& record) const {
    std::optional<double> value;
    if (const auto fault = take_number(&number, value)) return fault;
    record.value = *scalar_of(number);
    if (base_value_) record.value = *value + *base_value_;
    return std::nullopt;
  }

  Fault take_data(const Tree& data, SenmlRecord& record) const {
    if (in_cbor_ && data.is_binary()) {
      record.value = fleet::Octets{data.get_binary()};
      return std::nullopt;
    }
    if (in_cbor_ || !data.is_string()) return BodyFault::bad_syntax;
    auto octets = octets_of_base64(data.get_ref<const std::string&>());
    if (!octets) return BodyFault::bad_value;
    record.value = std::move(*octets);
    return std::nullopt;
  }

  bool in_cbor_;
  std::optional<std::uint64_t> version_;
  std::string base_name_;
  std::string base_unit_;
  std::optional<double> base_time_s_;
  std::optional<double> base_value_;
  std::optional<double> base_sum_;
};

bool is_letter_or_digit(char c) {
  return (c >= 'A' && c <= 'Z') || (c >= 'a' && c <= 'z') || (c >= '0' && c <= '9');
}

}  // namespace

Result<std::vector<SenmlRecord>, BodyError> resolve_senml(const Tree& pack, bool in_cbor) {
  if (!pack.is_array() || pack.empty()) return Failure{BodyError{BodyFault::bad_syntax}};
  Resolver resolver{in_cbor};
  std::vector<SenmlRecord> records;
  for (const Tree& record : pack) {
    if (const auto fault = resolver.take(record, records)) return Failure{BodyError{*fault}};
  }
  return records;
}

std::string senml_cbor_label(const std::string& label) {
  for (const LabelName& name : kNames) {
    if (name.json == label) return std::string{name.cbor};
  }
  return label;
}

bool is_senml_name(std::string_view name) {
  if (name.empty() || !is_letter_or_digit(name.front())) return false;
  return std::all_of(name.begin(), name.end(), [](char c) {
    return is_letter_or_digit(c) || std::string_view{"-:./_"}.find(c) != std::string_view::npos;
  });
}

}  // namespace fieldfare::wire
