// SPDX-License-Identifier: Apache-2.0
#include <nlohmann/json.hpp>
#include <utility>

#include "fieldfare/wire/internal/tree_builder.h"

namespace fieldfare::wire {
namespace {

/// What the library's reader, which does not recurse, meets in a text.
class Events : public nlohmann::json_sax<Tree> {
 public:
  explicit Events(Tree& tree) : builder_{tree} {}

  const std::optional<BodyError>& error() const { return error_; }

  bool null() override { return put(nullptr); }
  bool boolean(bool value) override { return put(value); }
  bool number_integer(number_integer_t value) override { return put(value); }
  bool number_unsigned(number_unsigned_t value) override { return put(value); }
  bool number_float(number_float_t value, const string_t&) override { return put(value); }
  bool string(string_t& value) override { return put(std::move(value)); }
  bool binary(binary_t& value) override { return put(Tree::binary(std::move(value))); }
  bool start_object(std::size_t) override { return went_well(builder_.open_object()); }
  bool start_array(std::size_t) override { return went_well(builder_.open_array()); }
  bool key(string_t& name) override { return went_well(builder_.key(std::move(name))); }
  bool end_object() override { return close(); }
  bool end_array() override { return close(); }
  bool parse_error(std::size_t position, const std::string&,
                   const nlohmann::detail::exception&) override {
    error_ = BodyError{BodyFault::bad_syntax, position > 0 ? position - 1 : 0};
    return false;
  }

 private:
  bool put(Tree value) {
    builder_.put(std::move(value));
    return true;
  }
  bool close() {
    builder_.close();
    return true;
  }
  bool went_well(std::optional<BodyFault> fault) {
    if (fault) error_ = BodyError{*fault};
    return !fault;
  }

  TreeBuilder builder_;
  std::optional<BodyError> error_;
};

}  // namespace

std::optional<BodyError> read_json(std::span<const std::uint8_t> text, Tree& tree) {
  Events events{tree};
  Tree::sax_parse(text.begin(), text.end(), &events);
  return events.error();
}

}  // namespace fieldfare::wire
