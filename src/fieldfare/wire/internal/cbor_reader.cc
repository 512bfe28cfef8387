// SPDX-License-Identifier: Apache-2.0
#include <algorithm>
#include <bit>
#include <charconv>
#include <cmath>
#include <nlohmann/json.hpp>
#include <utility>

#include "fieldfare/wire/excerpt.h"
#include "fieldfare/wire/internal/tree_builder.h"

namespace fieldfare::wire {
namespace {

/// Major types of RFC 8949 section 3.1.
enum class Major : std::uint8_t { positive, negative, octets, text, array, map, tag, simple };

/// Tags whose content is a number in parts: RFC 8949 sections 3.4.3 and 3.4.4.
enum Tag : std::uint64_t { kNoTag = 0, kBignum = 2, kNegativeBignum, kDecimal, kBigfloat };

/// The first octets of an item.
struct Head {
  Major major{};
  std::uint8_t info = 0;
  std::uint64_t argument = 0;

  bool indefinite() const { return info == 31; }
};

/// IEEE 754 binary16, as RFC 8949 appendix D takes it apart.
double half_value(std::uint64_t bits) {
  const int exponent = static_cast<int>(bits >> 10 & 0x1F);
  const double fraction = static_cast<double>(bits & 0x3FF);
  double value = 0;
  if (exponent == 0) {
    value = std::ldexp(fraction, -24);
  } else if (exponent != 31) {
    value = std::ldexp(fraction + 1024, exponent - 25);
  } else {
    value = fraction == 0 ? HUGE_VAL : std::nan("");
  }
  return (bits & 0x8000) != 0 ? -value : value;
}

/// -1 - n, exact where 64 bits hold it.
Tree negative_of(std::uint64_t n) {
  if (n <= static_cast<std::uint64_t>(INT64_MAX)) return -1 - static_cast<std::int64_t>(n);
  return -1.0 - static_cast<double>(n);
}

/// An unsigned bignum, rounded once: the octets beyond 64 bits only tell to which side.
Tree bignum_of(std::span<const std::uint8_t> octets, bool negative) {
  while (!octets.empty() && octets.front() == 0) octets = octets.subspan(1);
  std::uint64_t top = 0;
  for (const std::uint8_t octet : octets.first(std::min<std::size_t>(8, octets.size()))) {
    top = top << 8 | octet;
  }
  if (octets.size() <= 8) return negative ? negative_of(top) : Tree(top);
  bool more = false;
  for (const std::uint8_t octet : octets.subspan(8)) more = more || octet != 0;
  const int beyond = static_cast<int>(std::min<std::size_t>(octets.size() - 8, 1024)) * 8;
  const double value = std::ldexp(static_cast<double>(top | (more ? 1U : 0U)), beyond);
  return negative ? -value : value;
}

/// mantissa times 10 to the exponent, from its decimal text: rounded once.
double decimal_of(const Tree& mantissa, std::int64_t exponent) {
  if (mantissa.is_number_float()) {
    return mantissa.get<double>() * std::pow(10.0, static_cast<double>(exponent));
  }
  const std::string text = mantissa.dump() + "e" + std::to_string(exponent);
  double value = 0;
  const auto read = std::from_chars(text.data(), text.data() + text.size(), value);
  if (read.ec != std::errc::result_out_of_range) return value;
  const double beyond = exponent > 0 && mantissa != 0 ? HUGE_VAL : 0.0;
  return mantissa < 0 ? -beyond : beyond;
}

/// Makes the content of a tag a number. False where it isn't of the tag's kind.
bool apply_tag(std::uint64_t tag, Tree& content) {
  if (tag == kBignum || tag == kNegativeBignum) {
    if (!content.is_binary()) return false;
    const fleet::Octets octets{content.get_binary()};
    content = bignum_of(octets, tag == kNegativeBignum);
    return true;
  }
  if (tag != kDecimal && tag != kBigfloat) return true;
  if (!content.is_array() || content.size() != 2) return false;
  const Tree mantissa = content[1];
  if (!content[0].is_number_integer() || !mantissa.is_number()) return false;
  if (content[0].is_number_unsigned() && content[0].get<std::uint64_t>() > INT64_MAX) return false;
  const auto exponent = content[0].get<std::int64_t>();
  if (tag == kDecimal) {
    content = decimal_of(mantissa, exponent);
  } else {
    const auto bounded = std::clamp<std::int64_t>(exponent, -4096, 4096);
    content = std::ldexp(mantissa.get<double>(), static_cast<int>(bounded));
  }
  return true;
}

class CborReader {
 public:
  CborReader(std::span<const std::uint8_t> item, Tree& tree) : item_{item}, builder_{tree} {}

  std::optional<BodyError> read() {
    do {
      if (const auto fault = ends_container() ? close() : take_item())
        return BodyError{*fault, at_};
    } while (!open_.empty());
    if (at_ != item_.size()) return BodyError{BodyFault::bad_syntax, at_};
    return std::nullopt;
  }

 private:
  using Fault = std::optional<BodyFault>;

  struct Open {
    bool map = false;
    std::optional<std::uint64_t> left;  ///< items, keys counted; nothing: until the break
    bool key_is_next = false;
    std::uint64_t tag = kNoTag;
  };

  bool ends_container() const {
    if (open_.empty()) return false;
    const Open& open = open_.back();
    if (open.left) return *open.left == 0;
    return at_ < item_.size() && item_[at_] == 0xFF;
  }

  Fault close() {
    const Open closed = open_.back();
    if (!closed.left) {
      // A break between a key and its value: RFC 8949 section 3.2.2.
      if (closed.map && !closed.key_is_next) return BodyFault::bad_syntax;
      ++at_;
    }
    open_.pop_back();
    return apply_tag(closed.tag, *builder_.close()) ? Fault{} : BodyFault::bad_syntax;
  }

  Fault take_item() {
    if (!open_.empty()) {
      Open& open = open_.back();
      if (open.left) --*open.left;
      const bool is_key = open.key_is_next;
      if (open.map) open.key_is_next = !open.key_is_next;
      if (is_key) return take_key();
    }
    std::uint64_t tag = kNoTag;
    std::size_t tags = 0;
    std::optional<Head> head = take_head();
    while (head && head->major == Major::tag && !head->indefinite()) {
      tag = head->argument;
      if (builder_.depth() + ++tags > kDeepestBody) return BodyFault::too_deep;
      head = take_head();
    }
    return head ? take_value(*head, tag) : BodyFault::bad_syntax;
  }

  Fault take_key() {
    const std::optional<Head> head = take_head();
    if (!head) return BodyFault::bad_syntax;
    if (head->major == Major::text) {
      auto text = take_text(*head);
      return text ? builder_.key(std::move(*text)) : BodyFault::bad_syntax;
    }
    if (head->indefinite()) return BodyFault::bad_syntax;
    if (head->major == Major::positive) return builder_.key(std::to_string(head->argument));
    if (head->major != Major::negative || head->argument > INT64_MAX) return BodyFault::bad_syntax;
    return builder_.key(negative_of(head->argument).dump());
  }

  Fault take_value(const Head& head, std::uint64_t tag) {
    switch (head.major) {
      case Major::array:
      case Major::map:
        return open(head, tag);
      case Major::text: {
        auto text = take_text(head);
        return text ? put(std::move(*text), tag) : BodyFault::bad_syntax;
      }
      case Major::octets: {
        auto octets = take_string(head);
        return octets ? put(Tree::binary(std::move(*octets)), tag) : BodyFault::bad_syntax;
      }
      default:
        break;
    }
    if (head.indefinite()) return BodyFault::bad_syntax;
    if (head.major == Major::positive) return put(head.argument, tag);
    if (head.major == Major::negative) return put(negative_of(head.argument), tag);
    return put(simple_of(head), tag);
  }

  static Tree simple_of(const Head& head) {
    switch (head.info) {
      case 20:
        return false;
      case 21:
        return true;
      case 25:
        return half_value(head.argument);
      case 26:
        return std::bit_cast<float>(static_cast<std::uint32_t>(head.argument));
      case 27:
        return std::bit_cast<double>(head.argument);
      default:
        return nullptr;
    }
  }

  Fault put(Tree value, std::uint64_t tag) {
    return apply_tag(tag, *builder_.put(std::move(value))) ? Fault{} : BodyFault::bad_syntax;
  }

  Fault open(const Head& head, std::uint64_t tag) {
    const bool map = head.major == Major::map;
    if (const Fault fault = map ? builder_.open_object() : builder_.open_array()) {
      return fault;
    }
    Open open{.map = map, .left = {}, .key_is_next = map, .tag = tag};
    if (!head.indefinite()) {
      // More items than octets are left can't come; that keeps the doubling in range.
      if (head.argument > item_.size() - at_) return BodyFault::bad_syntax;
      open.left = map ? head.argument * 2 : head.argument;
    }
    open_.push_back(open);
    return std::nullopt;
  }

  /// Nothing where octets are missing, or the head is not well-formed.
  std::optional<Head> take_head() {
    if (at_ == item_.size()) return std::nullopt;
    const std::uint8_t first = item_[at_++];
    Head head{static_cast<Major>(first >> 5), static_cast<std::uint8_t>(first & 0x1F),
              first & 0x1FU};
    if (head.info < 24 || head.info == 31) return head;
    if (head.info > 27) return std::nullopt;
    const std::size_t octets = std::size_t{1} << (head.info - 24);
    if (item_.size() - at_ < octets) return std::nullopt;
    head.argument = 0;
    for (const std::uint8_t octet : item_.subspan(at_, octets)) {
      head.argument = head.argument << 8 | octet;
    }
    at_ += octets;
    // Simple values below 32 have but one form: RFC 8949 section 3.3.
    if (head.major == Major::simple && head.info == 24 && head.argument < 32) return std::nullopt;
    return head;
  }

  std::optional<fleet::Octets> take_string(const Head& head) {
    fleet::Octets octets;
    if (!head.indefinite()) {
      return append_chunk(head, octets) ? std::optional{std::move(octets)} : std::nullopt;
    }
    while (true) {
      const std::optional<Head> chunk = take_head();
      if (!chunk) return std::nullopt;
      if (chunk->major == Major::simple && chunk->indefinite()) return octets;
      if (chunk->major != head.major || chunk->indefinite()) return std::nullopt;
      if (!append_chunk(*chunk, octets)) return std::nullopt;
    }
  }

  bool append_chunk(const Head& head, fleet::Octets& octets) {
    if (head.argument > item_.size() - at_) return false;
    const auto chunk = item_.subspan(at_, static_cast<std::size_t>(head.argument));
    if (head.major == Major::text && !is_utf8(chunk)) return false;
    octets.insert(octets.end(), chunk.begin(), chunk.end());
    at_ += chunk.size();
    return true;
  }

  static bool is_utf8(std::span<const std::uint8_t> octets) {
    const std::string_view text{reinterpret_cast<const char*>(octets.data()), octets.size()};
    return well_formed_size(text) == text.size();
  }

  std::optional<std::string> take_text(const Head& head) {
    const auto octets = take_string(head);
    if (!octets) return std::nullopt;
    return std::string{octets->begin(), octets->end()};
  }

  std::span<const std::uint8_t> item_;
  std::size_t at_ = 0;
  TreeBuilder builder_;
  std::vector<Open> open_;
};

}  // namespace

std::optional<BodyError> read_cbor(std::span<const std::uint8_t> item, Tree& tree) {
  return CborReader{item, tree}.read();
}

}  // namespace fieldfare::wire
