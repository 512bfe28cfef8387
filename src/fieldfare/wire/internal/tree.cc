// SPDX-License-Identifier: Apache-2.0
#include "fieldfare/wire/internal/tree.h"

#include <charconv>
#include <nlohmann/json.hpp>
#include <utility>

namespace fieldfare::wire {
namespace {

std::string unescaped(std::string_view token) {
  std::string text;
  for (std::size_t i = 0; i < token.size(); ++i) {
    const std::string_view two = token.substr(i, 2);
    if (two == "~0" || two == "~1") {
      text += two == "~0" ? '~' : '/';
      ++i;
    } else {
      text += token[i];
    }
  }
  return text;
}

std::optional<std::size_t> index_of(std::string_view token) {
  if (token.empty() || (token.size() > 1 && token.front() == '0')) return std::nullopt;
  std::size_t index = 0;
  const char* const end = token.data() + token.size();
  const auto [at, error] = std::from_chars(token.data(), end, index);
  if (error != std::errc{} || at != end) return std::nullopt;
  return index;
}

const Tree* step(const Tree& tree, const std::string& token) {
  if (tree.is_object()) {
    const auto found = tree.find(token);
    return found == tree.end() ? nullptr : &*found;
  }
  if (!tree.is_array()) return nullptr;
  const auto index = index_of(token);
  return index && *index < tree.size() ? &tree[*index] : nullptr;
}

}  // namespace

std::vector<std::string> pointer_tokens(std::string_view pointer) {
  std::vector<std::string> tokens;
  while (!pointer.empty()) {
    pointer.remove_prefix(1);
    const std::string_view token = pointer.substr(0, pointer.find('/'));
    tokens.push_back(unescaped(token));
    pointer.remove_prefix(token.size());
  }
  return tokens;
}

const Tree* find_in(const Tree& tree, std::span<const std::string> tokens) {
  const Tree* at = &tree;
  for (const std::string& token : tokens) {
    at = step(*at, token);
    if (at == nullptr) return nullptr;
  }
  return at;
}

Tree* find_in(Tree& tree, std::span<const std::string> tokens) {
  return const_cast<Tree*>(find_in(std::as_const(tree), tokens));
}

std::optional<Scalar> scalar_of(const Tree& value) {
  switch (value.type()) {
    case Tree::value_t::boolean:
      return Scalar{value.get<bool>()};
    case Tree::value_t::number_unsigned:
      return Scalar{value.get<std::uint64_t>()};
    case Tree::value_t::number_integer:
      return Scalar{value.get<std::int64_t>()};
    case Tree::value_t::number_float:
      return Scalar{value.get<double>()};
    case Tree::value_t::string:
      return Scalar{value.get_ref<const std::string&>()};
    case Tree::value_t::binary:
      return Scalar{fleet::Octets{value.get_binary()}};
    case Tree::value_t::object:
    case Tree::value_t::array:
      return std::nullopt;
    case Tree::value_t::null:
    case Tree::value_t::discarded:
      break;
  }
  return Scalar{};
}

Tree tree_of(const Scalar& scalar) {
  struct Maker {
    Tree operator()(std::monostate) const { return nullptr; }
    Tree operator()(const fleet::Octets& octets) const { return Tree::binary(octets); }
    Tree operator()(bool value) const { return value; }
    Tree operator()(std::uint64_t value) const { return value; }
    Tree operator()(std::int64_t value) const { return value; }
    Tree operator()(double value) const { return value; }
    Tree operator()(const std::string& value) const { return value; }
  };
  return std::visit(Maker{}, scalar);
}

}  // namespace fieldfare::wire
