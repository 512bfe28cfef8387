// SPDX-License-Identifier: Apache-2.0
#include <algorithm>
#include <string>
#include <string_view>
#include <vector>

#include "fieldfare/base/number_text.h"
#include "fieldfare/wire/internal/body_codecs.h"
#include "fieldfare/wire/internal/envelope.h"
#include "fieldfare/wire/internal/report_builder.h"
#include "fieldfare/wire/internal/report_writer.h"

namespace fieldfare::wire {
namespace {

std::string_view trimmed(std::string_view text) {
  const std::size_t first = text.find_first_not_of(" \t");
  if (first == std::string_view::npos) return {};
  return text.substr(first, text.find_last_not_of(" \t") - first + 1);
}

/// A line without its end, which a message may still have.
std::string_view line_in(std::span<const std::uint8_t> body) {
  std::string_view text{reinterpret_cast<const char*>(body.data()), body.size()};
  if (text.ends_with('\n')) text.remove_suffix(1);
  if (text.ends_with('\r')) text.remove_suffix(1);
  return text;
}

/// The columns of a line, blanks around them gone. A blank as separator stands for
/// any run of them, and none at the line's beginning and end count.
class Columns {
 public:
  void split(std::string_view line, char separator) {
    line_ = line;
    columns_.clear();
    if (separator == ' ') return split_at_blanks(line);
    for (;;) {
      const std::size_t end = line.find(separator);
      columns_.push_back(trimmed(line.substr(0, end)));
      if (end == std::string_view::npos) return;
      line.remove_prefix(end + 1);
    }
  }

  /// Empty where there is none.
  std::string_view at(std::size_t column) const {
    return column < columns_.size() ? columns_[column] : std::string_view{};
  }
  std::string_view after(std::string_view key, char assignment) const {
    for (const std::string_view column : columns_) {
      const std::size_t sign = column.find(assignment);
      if (sign == std::string_view::npos || trimmed(column.substr(0, sign)) != key) continue;
      return trimmed(column.substr(sign + 1));
    }
    return {};
  }
  /// Where in the line a column stands that is not empty.
  std::size_t offset_of(std::string_view column) const {
    return column.empty() ? 0 : static_cast<std::size_t>(column.data() - line_.data());
  }

 private:
  void split_at_blanks(std::string_view line) {
    for (line = trimmed(line); !line.empty();) {
      const std::string_view column = line.substr(0, line.find_first_of(" \t"));
      columns_.push_back(column);
      line = trimmed(line.substr(column.size()));
    }
  }

  std::string_view line_;
  std::vector<std::string_view> columns_;
};

std::string text_of(const Scalar& value) {
  struct Write {
    std::string operator()(std::monostate) const { return {}; }
    std::string operator()(bool truth) const { return truth ? "1" : "0"; }
    std::string operator()(std::uint64_t number) const { return std::to_string(number); }
    std::string operator()(std::int64_t number) const { return std::to_string(number); }
    std::string operator()(double number) const { return number_text(number); }
    std::string operator()(const std::string& text) const { return text; }
    std::string operator()(const fleet::Octets& octets) const {
      return {octets.begin(), octets.end()};
    }
  };
  return std::visit(Write{}, value);
}

/// Puts a line together, column by column.
class LineWriter {
 public:
  explicit LineWriter(const fleet::FrameFacts& frame) : frame_{frame} {}

  /// False where the text can't stand in a column of its own.
  bool put(const fleet::FieldLayout& field, std::size_t repetition, const std::string& text) {
    if (!can_stand(text)) return false;
    if (const auto* const place = std::get_if<fleet::AtKey>(&field.place)) {
      assignments_.push_back(place->key + frame_.assignment + text);
      return true;
    }
    if (reads_as_assignment(text)) return false;
    const auto& place = std::get<fleet::AtColumn>(field.place);
    const std::size_t column = static_cast<std::size_t>(place.column) + repetition;
    if (columns_.size() <= column) columns_.resize(column + 1);
    columns_[column] = text;
    return true;
  }

  /// Columns that no field knows stay empty, or hold `-` between blanks.
  std::string line() {
    while (!columns_.empty() && columns_.back().empty()) columns_.pop_back();
    columns_.insert(columns_.end(), assignments_.begin(), assignments_.end());
    std::string line;
    for (std::size_t i = 0; i < columns_.size(); ++i) {
      if (i > 0) line += frame_.separator;
      line += columns_[i].empty() && frame_.separator == ' ' ? "-" : columns_[i];
    }
    return line;
  }

 private:
  bool can_stand(std::string_view text) const {
    const auto cannot = [&](char c) {
      return c == frame_.separator || static_cast<unsigned char>(c) < ' ' || c == '\x7F';
    };
    return !text.empty() && trimmed(text).size() == text.size() &&
           std::none_of(text.begin(), text.end(), cannot);
  }
  bool reads_as_assignment(std::string_view text) const {
    const std::size_t sign = text.find(frame_.assignment);
    if (sign == std::string_view::npos) return false;
    return std::any_of(frame_.fields.begin(), frame_.fields.end(), [&](const auto& field) {
      const auto* const place = std::get_if<fleet::AtKey>(&field.place);
      return place != nullptr && place->key == trimmed(text.substr(0, sign));
    });
  }

  const fleet::FrameFacts& frame_;
  std::vector<std::string> columns_;
  std::vector<std::string> assignments_;
};

class TextCodec : public BodyCodec {
 public:
  explicit TextCodec(const fleet::FrameFacts& frame) : frame_{&frame}, builder_{frame} {}

  std::optional<BodyError> decode(std::span<const std::uint8_t> body, ReportSink& sink) override {
    const auto span = body_span(*frame_, body.size());
    if (!span) return BodyError{BodyFault::too_short, body.size(), std::nullopt};
    columns_.split(line_in(body.subspan(span->from, span->to - span->from)), frame_->separator);
    builder_.begin();
    for (std::size_t i = 0; i < frame_->fields.size(); ++i) {
      if (!builder_.is_due(i)) continue;
      const std::size_t count = builder_.repetitions(i).value_or(frame_->fields[i].repeat ? 0 : 1);
      if (count > kMostRepetitions) return BodyError{BodyFault::too_many, 0, i};
      for (std::size_t repetition = 0; repetition < count; ++repetition) {
        const std::string_view column = column_of(frame_->fields[i], repetition);
        const auto fault = column.empty()
                               ? builder_.take_nothing(i)
                               : builder_.take(i, repetition, Scalar{std::string{column}});
        if (fault) return BodyError{*fault, span->from + columns_.offset_of(column), i};
      }
    }
    sink.report(builder_.finish());
    return std::nullopt;
  }

  Result<fleet::Octets, BodyError> encode(const ReportValues& values) override {
    const ReportWriter writer{*frame_, values};
    LineWriter line{*frame_};
    for (std::size_t i = 0; i < frame_->fields.size(); ++i) {
      const fleet::FieldLayout& field = frame_->fields[i];
      const std::size_t count = field.repeat ? writer.repetitions(i) : 1;
      for (std::size_t repetition = 0; repetition < count; ++repetition) {
        const auto scalar = writer.scalar(i, repetition);
        if (!scalar) return Failure{scalar.error()};
        if (*scalar && !line.put(field, repetition, text_of(**scalar))) {
          return Failure{BodyError{BodyFault::does_not_fit, 0, i}};
        }
      }
    }
    const std::string text = line.line();
    return with_envelope(*frame_,
                         {reinterpret_cast<const std::uint8_t*>(text.data()), text.size()});
  }

 private:
  std::string_view column_of(const fleet::FieldLayout& field, std::size_t repetition) const {
    if (const auto* const place = std::get_if<fleet::AtKey>(&field.place)) {
      return columns_.after(place->key, frame_->assignment);
    }
    const auto& place = std::get<fleet::AtColumn>(field.place);
    return columns_.at(static_cast<std::size_t>(place.column) + repetition);
  }

  const fleet::FrameFacts* frame_;
  ReportBuilder builder_;
  Columns columns_;
};

}  // namespace

std::unique_ptr<BodyCodec> make_text_codec(const fleet::FrameFacts& frame) {
  return std::make_unique<TextCodec>(frame);
}

}  // namespace fieldfare::wire
