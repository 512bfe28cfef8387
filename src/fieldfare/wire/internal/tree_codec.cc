// SPDX-License-Identifier: Apache-2.0
// JSON and CBOR bodies, their fields addressed by pointers.
#include <nlohmann/json.hpp>

#include "fieldfare/wire/internal/body_codecs.h"
#include "fieldfare/wire/internal/envelope.h"
#include "fieldfare/wire/internal/report_builder.h"
#include "fieldfare/wire/internal/report_writer.h"
#include "fieldfare/wire/internal/tree.h"

namespace fieldfare::wire {
namespace {

using Tokens = std::vector<std::string>;

/// Puts a value where a pointer says; objects and lists are made along its way. A
/// list grows at its end alone, and begins with 0. False where something else is
/// in the way.
bool place(Tree& root, std::span<const std::string> tokens, Tree value) {
  Tree* at = &root;
  for (const std::string& token : tokens) {
    if (at->is_null()) *at = token == "0" ? Tree::array() : Tree::object();
    if (at->is_array() && token == std::to_string(at->size())) at->push_back(nullptr);
    Tree* next = find_in(*at, std::span{&token, 1});
    if (next == nullptr && at->is_object()) next = &(*at)[token];
    if (next == nullptr) return false;
    at = next;
  }
  if (!at->is_null()) return false;
  *at = std::move(value);
  return true;
}

class TreeCodec : public BodyCodec {
 public:
  explicit TreeCodec(const fleet::FrameFacts& frame)
      : frame_{&frame}, each_{pointer_tokens(frame.each)}, batch_{frame} {
    for (const fleet::FieldLayout& field : frame.fields) {
      pointers_.push_back(pointer_tokens(std::get<fleet::AtPointer>(field.place).pointer));
    }
  }

  std::optional<BodyError> decode(std::span<const std::uint8_t> body, ReportSink& sink) override {
    const auto span = body_span(*frame_, body.size());
    if (!span) return BodyError{BodyFault::too_short, body.size()};
    const auto document = body.subspan(span->from, span->to - span->from);
    Tree tree;
    if (auto error = is_json() ? read_json(document, tree) : read_cbor(document, tree)) {
      error->offset += span->from;
      return error;
    }
    batch_.clear();
    if (auto error = take_all(tree)) return error;
    batch_.hand_to(sink);
    return std::nullopt;
  }

  Result<fleet::Octets, BodyError> encode(const ReportValues& values) override {
    const ReportWriter writer{*frame_, values};
    Tree report;
    for (std::size_t i = 0; i < pointers_.size(); ++i) {
      if (const auto error = write_field(writer, i, report)) return Failure{*error};
    }
    if (report.is_null()) report = Tree::object();
    Tree document = std::move(report);
    if (!each_.empty()) {
      Tree list = Tree::array({std::move(document)});
      document = nullptr;
      place(document, each_, std::move(list));
    }
    return with_envelope(*frame_, text_of(document));
  }

 private:
  bool is_json() const { return frame_->body == fleet::Body::json; }

  std::optional<BodyError> take_all(const Tree& tree) {
    if (each_.empty()) return take_report(tree);
    const Tree* const list = find_in(tree, each_);
    if (list == nullptr || list->is_null()) return BodyError{BodyFault::missing_field};
    if (!list->is_array()) return BodyError{BodyFault::bad_value};
    if (list->size() > kMostReportsInBody) return BodyError{BodyFault::too_many};
    for (const Tree& report : *list) {
      if (auto error = take_report(report)) return error;
    }
    return std::nullopt;
  }

  std::optional<BodyError> take_report(const Tree& report) {
    ReportBuilder& builder = batch_.add();
    for (std::size_t i = 0; i < pointers_.size(); ++i) {
      if (!builder.is_due(i)) continue;
      const Tree* const value = find_in(report, pointers_[i]);
      const bool repeats = frame_->fields[i].repeat.has_value();
      const auto fault = repeats ? take_list(builder, i, value) : take_value(builder, i, 0, value);
      if (fault) return BodyError{*fault, 0, i};
    }
    return std::nullopt;
  }

  static std::optional<BodyFault> take_value(ReportBuilder& builder, std::size_t field,
                                             std::size_t repetition, const Tree* value) {
    if (value == nullptr) return builder.take_nothing(field);
    const auto scalar = scalar_of(*value);
    return scalar ? builder.take(field, repetition, *scalar) : BodyFault::bad_value;
  }

  /// A field that repeats is a list of as many values as the sheet says.
  static std::optional<BodyFault> take_list(ReportBuilder& builder, std::size_t field,
                                            const Tree* list) {
    if (list == nullptr || list->is_null()) return builder.take_nothing(field);
    if (!list->is_array()) return BodyFault::bad_value;
    const auto expected = builder.repetitions(field);
    if (!expected) return BodyFault::missing_field;
    if (*expected > kMostRepetitions || list->size() > *expected) return BodyFault::too_many;
    for (std::size_t i = 0; i < *expected; ++i) {
      const Tree* const value = i < list->size() ? &(*list)[i] : nullptr;
      if (const auto fault = take_value(builder, field, i, value)) return fault;
    }
    return std::nullopt;
  }

  std::optional<BodyError> write_field(const ReportWriter& writer, std::size_t field,
                                       Tree& report) const {
    auto value = written(writer, field);
    if (!value) return value.error();
    if (value->is_null()) return std::nullopt;
    if (place(report, pointers_[field], std::move(*value))) return std::nullopt;
    return BodyError{BodyFault::does_not_fit, 0, field};
  }

  /// Null where the field is left out.
  Result<Tree, BodyError> written(const ReportWriter& writer, std::size_t field) const {
    if (!frame_->fields[field].repeat) {
      const auto scalar = writer.scalar(field);
      if (!scalar) return Failure{scalar.error()};
      return *scalar ? tree_of(**scalar) : Tree{};
    }
    Tree list = Tree::array();
    bool something = !frame_->fields[field].optional;
    for (std::size_t i = 0; i < writer.repetitions(field); ++i) {
      const auto scalar = writer.scalar(field, i);
      if (!scalar) return Failure{scalar.error()};
      list.push_back(*scalar ? tree_of(**scalar) : Tree{});
      something = something || scalar->has_value();
    }
    return something ? std::move(list) : Tree{};
  }

  fleet::Octets text_of(const Tree& document) const {
    fleet::Octets octets;
    if (is_json()) {
      const std::string text = document.dump(-1, ' ', false, Tree::error_handler_t::replace);
      octets.assign(text.begin(), text.end());
    } else {
      write_cbor(document, CborKeys::as_text, octets);
    }
    return octets;
  }

  const fleet::FrameFacts* frame_;
  Tokens each_;
  std::vector<Tokens> pointers_;  ///< by field
  ReportBatch batch_;
};

}  // namespace

std::unique_ptr<BodyCodec> make_tree_codec(const fleet::FrameFacts& frame) {
  return std::make_unique<TreeCodec>(frame);
}

}  // namespace fieldfare::wire
