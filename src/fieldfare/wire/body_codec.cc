// SPDX-License-Identifier: Apache-2.0
#include "fieldfare/wire/body_codec.h"

#include "fieldfare/wire/internal/body_codecs.h"

namespace fieldfare::wire {
namespace {

struct FaultWords {
  std::string_view code;
  std::string_view text;
};

FaultWords words_for(BodyFault fault) {
  switch (fault) {
    case BodyFault::too_short:
      return {"too-short", "the frame ends too early"};
    case BodyFault::too_long:
      return {"too-long", "the frame goes on behind its last field"};
    case BodyFault::another_kind:
      return {"another-kind", "a constant differs: the frame is of another kind"};
    case BodyFault::bad_value:
      return {"bad-value", "what stands there is no value for its field"};
    case BodyFault::missing_field:
      return {"missing-field", "a field that must be there is not"};
    case BodyFault::bad_syntax:
      return {"bad-syntax", "the body is not well formed"};
    case BodyFault::too_deep:
      return {"too-deep", "the body is nested too deeply"};
    case BodyFault::too_many:
      return {"too-many", "there are more reports, records or repetitions than can be taken"};
    case BodyFault::does_not_fit:
      return {"does-not-fit", "the value has no room in its field"};
  }
  return {};
}

}  // namespace

std::string_view body_fault_code(BodyFault fault) { return words_for(fault).code; }

std::string body_error_text(const BodyError& error, const fleet::FrameFacts& frame) {
  std::string text{words_for(error.fault).text};
  const bool names_field = error.field && *error.field < frame.fields.size();
  if (names_field) {
    text += ": field `" + frame.fields[*error.field].name + "`";
  }
  if (error.offset > 0)
    text += (names_field ? ", octet " : ": octet ") + std::to_string(error.offset);
  return text;
}

std::unique_ptr<BodyCodec> make_body_codec(const fleet::FrameFacts& frame) {
  switch (frame.body) {
    case fleet::Body::text:
      return make_text_codec(frame);
    case fleet::Body::json:
    case fleet::Body::cbor:
      return make_tree_codec(frame);
    case fleet::Body::senml_json:
    case fleet::Body::senml_cbor:
      return make_senml_codec(frame);
    case fleet::Body::binary:
      break;
  }
  return make_binary_codec(frame);
}

}  // namespace fieldfare::wire
