// SPDX-License-Identifier: Apache-2.0
#include <algorithm>
#include <cctype>
#include <string>
#include <string_view>
#include <vector>

#include "fieldfare/base/number_text.h"
#include "fieldfare/wire/internal/body_codecs.h"
#include "fieldfare/wire/internal/envelope.h"
#include "fieldfare/wire/internal/report_builder.h"
#include "fieldfare/wire/internal/report_writer.h"
#include "fieldfare/wire/internal/text_line.h"

namespace fieldfare::wire {
namespace {

/// A line without its end, which a message may still have.
std::string_view line_in(std::span<const std::uint8_t> body) {
  std::string_view text{reinterpret_cast<const char*>(body.data()), body.size()};
  if (text.ends_with('\n')) text.remove_suffix(1);
  if (text.ends_with('\r')) text.remove_suffix(1);
  return text;
}

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

std::string with_decimal(std::string text, char decimal) {
  std::replace(text.begin(), text.end(), '.', decimal);
  return text;
}

bool is_nan(std::string_view text) {
  const auto is = [](char c, char lower) { return c == lower || c == lower - ('a' - 'A'); };
  return text.size() == 3 && is(text[0], 'n') && is(text[1], 'a') && is(text[2], 'n');
}

/// Puts a line together: columns, assignments, and what stands behind a text.
class LineWriter {
 public:
  explicit LineWriter(const fleet::FrameFacts& frame) : frame_{frame} {}

  /// False where the text can't stand in a column of its own.
  bool put(const fleet::FieldLayout& field, std::size_t repetition, const std::string& text) {
    if (!can_stand(text)) return false;
    if (const auto* const place = std::get_if<fleet::AtKey>(&field.place)) {
      behind_.push_back(place->key + frame_.assignment + text);
      return true;
    }
    if (const auto* const place = std::get_if<fleet::AfterText>(&field.place)) {
      return put_after(*place, text);
    }
    if (reads_as_assignment(text)) return false;
    const auto& place = std::get<fleet::AtColumn>(field.place);
    column(static_cast<std::size_t>(place.column) + repetition) = text;
    return true;
  }

  /// Columns that no field knows stay empty, or hold `-` between blanks.
  std::string line() {
    while (!columns_.empty() && columns_.back().empty()) columns_.pop_back();
    if (!behind_.empty()) columns_.resize(std::max(columns_.size(), columns_of_fields()));
    columns_.insert(columns_.end(), behind_.begin(), behind_.end());
    std::string line;
    for (std::size_t i = 0; i < columns_.size(); ++i) {
      if (i > 0) line += frame_.separator;
      line += columns_[i].empty() && frame_.separator == ' ' ? "-" : columns_[i];
    }
    return line;
  }

 private:
  std::string& column(std::size_t index) {
    if (columns_.size() <= index) columns_.resize(index + 1);
    return columns_[index];
  }
  bool put_after(const fleet::AfterText& place, const std::string& text) {
    if (place.column) {
      column(static_cast<std::size_t>(*place.column)) += place.text + text;
      return true;
    }
    const auto last = static_cast<unsigned char>(place.text.back());
    const bool is_word = std::isalnum(last) != 0;
    behind_.push_back(place.text + (is_word ? " " : "") + text);
    return true;
  }
  /// One more than the highest column that a field stands in.
  std::size_t columns_of_fields() const {
    int most = 0;
    for (const fleet::FieldLayout& field : frame_.fields) {
      const auto* const column = std::get_if<fleet::AtColumn>(&field.place);
      const auto* const after = std::get_if<fleet::AfterText>(&field.place);
      if (column != nullptr) most = std::max(most, column->column + 1);
      if (after != nullptr && after->column) most = std::max(most, *after->column + 1);
    }
    return static_cast<std::size_t>(most);
  }
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
  std::vector<std::string> behind_;
};

class TextCodec : public BodyCodec {
 public:
  explicit TextCodec(const fleet::FrameFacts& frame)
      : frame_{&frame},
        builder_{frame},
        line_{frame},
        checks_what_it_writes_{std::any_of(
            frame.fields.begin(), frame.fields.end(),
            [](const auto& f) { return std::holds_alternative<fleet::AfterText>(f.place); })} {}

  std::optional<BodyError> decode(std::span<const std::uint8_t> body, ReportSink& sink) override {
    const auto span = body_span(*frame_, body.size());
    if (!span) return BodyError{BodyFault::too_short, body.size(), std::nullopt};
    line_.split(line_in(body.subspan(span->from, span->to - span->from)));
    builder_.begin();
    for (std::size_t i = 0; i < frame_->fields.size(); ++i) {
      if (!builder_.is_due(i)) continue;
      const std::size_t count = builder_.repetitions(i).value_or(frame_->fields[i].repeat ? 0 : 1);
      if (count > kMostRepetitions) return BodyError{BodyFault::too_many, 0, i};
      for (std::size_t repetition = 0; repetition < count; ++repetition) {
        const std::string_view value = line_.value_of(frame_->fields[i], repetition);
        const auto fault = take(i, repetition, value);
        if (fault) return BodyError{*fault, span->from + line_.offset_of(value), i};
      }
    }
    sink.report(builder_.finish());
    return std::nullopt;
  }

  Result<fleet::Octets, BodyError> encode(const ReportValues& values) override {
    const ReportWriter writer{*frame_, values};
    LineWriter line{*frame_};
    std::vector<Written> written;
    for (std::size_t i = 0; i < frame_->fields.size(); ++i) {
      const fleet::FieldLayout& field = frame_->fields[i];
      const std::size_t count = field.repeat ? writer.repetitions(i) : 1;
      for (std::size_t repetition = 0; repetition < count; ++repetition) {
        const auto scalar = writer.scalar(i, repetition);
        if (!scalar) return Failure{scalar.error()};
        written.push_back({i, repetition, *scalar ? text_for(field, **scalar) : std::string{}});
        if (*scalar && !line.put(field, repetition, written.back().text)) {
          return Failure{BodyError{BodyFault::does_not_fit, 0, i}};
        }
      }
    }
    const std::string text = line.line();
    if (const auto lost = lost_in(text, written)) {
      return Failure{BodyError{BodyFault::does_not_fit, 0, *lost}};
    }
    return with_envelope(*frame_,
                         {reinterpret_cast<const std::uint8_t*>(text.data()), text.size()});
  }

 private:
  struct Written {
    std::size_t field;
    std::size_t repetition;
    std::string text;  ///< empty: left out
  };

  std::optional<BodyFault> take(std::size_t index, std::size_t repetition, std::string_view value) {
    const bool is_number = wants_number(frame_->fields[index]);
    if (value.empty() || (is_number && is_nan(value))) return builder_.take_nothing(index);
    std::string text{value};
    // A number has one sign before its decimals, and the other one none.
    if (frame_->decimal == ',' && is_number && !is_word(index, value) && !parse_rfc3339(value)) {
      for (char& c : text) c = c == ',' ? '.' : c == '.' ? ',' : c;
    }
    return builder_.take(index, repetition, Scalar{std::move(text)});
  }

  bool is_word(std::size_t index, std::string_view text) const {
    const auto& words = frame_->fields[index].words;
    return std::any_of(words.begin(), words.end(),
                       [&](const auto& each) { return each.second == text; });
  }

  std::string text_for(const fleet::FieldLayout& field, const Scalar& value) const {
    std::string text = text_of(value);
    const bool is_text = std::holds_alternative<std::string>(value);
    return is_text || !wants_number(field) ? text : with_decimal(std::move(text), frame_->decimal);
  }

  /// A field that would not be read again as it was written: what another one holds
  /// may read like the text before its value.
  std::optional<std::size_t> lost_in(const std::string& text, const std::vector<Written>& written) {
    if (!checks_what_it_writes_) return std::nullopt;
    line_.split(text);
    for (const Written& each : written) {
      // Nobody looks for what another field says isn't there.
      if (each.text.empty() && frame_->fields[each.field].when) continue;
      if (line_.value_of(frame_->fields[each.field], each.repetition) != each.text) {
        return each.field;
      }
    }
    return std::nullopt;
  }

  const fleet::FrameFacts* frame_;
  ReportBuilder builder_;
  TextLine line_;
  bool checks_what_it_writes_;  ///< only values behind texts can be mistaken for each other
};

}  // namespace

std::unique_ptr<BodyCodec> make_text_codec(const fleet::FrameFacts& frame) {
  return std::make_unique<TextCodec>(frame);
}

}  // namespace fieldfare::wire
