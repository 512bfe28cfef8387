// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <cstdint>
#include <nlohmann/json_fwd.hpp>
#include <optional>
#include <span>
#include <string>
#include <string_view>
#include <vector>

#include "fieldfare/wire/body_codec.h"
#include "fieldfare/wire/internal/scalar.h"

// JSON and CBOR documents as one kind of tree.
namespace fieldfare::wire {

using Tree = nlohmann::json;

/// Reads one JSON text (RFC 8259), in UTF-8. A key that stands twice in an object
/// and a number beyond the range of double are faults; integers beyond 64 bits
/// are read as the nearest double.
std::optional<BodyError> read_json(std::span<const std::uint8_t> text, Tree& tree);

/// Reads one CBOR item (RFC 8949), without recursion. What JSON doesn't have:
/// - integers as keys become their decimal text; other keys, and one that stands
///   twice, are faults;
/// - bignums, decimal fractions and bigfloats (tags 2 to 5) become numbers; other
///   tags are passed over, their content stands;
/// - `undefined` and simple values that mean nothing are null;
/// - text that is no UTF-8 is a fault, as RFC 8949 section 5.3.1 allows.
std::optional<BodyError> read_cbor(std::span<const std::uint8_t> item, Tree& tree);

/// How keys are written that are the decimal text of an integer.
enum class CborKeys : std::uint8_t { as_text, as_integers };

/// Appends a tree in the core deterministic encoding of RFC 8949 section 4.2.1:
/// heads and floating-point numbers in their shortest form, keys sorted. For trees
/// that this program made: recursive.
void write_cbor(const Tree& tree, CborKeys keys, fleet::Octets& octets);

/// The reference tokens of a pointer (RFC 6901), their escapes undone.
std::vector<std::string> pointer_tokens(std::string_view pointer);

/// What a pointer leads to, null pointer where there is nothing. Numbers in front
/// of arrays are indices, as RFC 6901 section 4 writes them; `-` leads nowhere.
const Tree* find_in(const Tree& tree, std::span<const std::string> tokens);

Tree* find_in(Tree& tree, std::span<const std::string> tokens);

/// A value that is neither object nor array. Nothing for these.
std::optional<Scalar> scalar_of(const Tree& value);
/// Precondition for JSON: no octets, texts in UTF-8.
Tree tree_of(const Scalar& scalar);

}  // namespace fieldfare::wire
