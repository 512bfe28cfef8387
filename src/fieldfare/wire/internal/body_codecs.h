// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <memory>

#include "fieldfare/wire/body_codec.h"

namespace fieldfare::wire {

std::unique_ptr<BodyCodec> make_binary_codec(const fleet::FrameFacts& frame);
std::unique_ptr<BodyCodec> make_text_codec(const fleet::FrameFacts& frame);
/// JSON and CBOR, by pointers. A field that repeats is a list of as many values
/// as the sheet or its counter says. What single values may be: ReportBuilder.
std::unique_ptr<BodyCodec> make_tree_codec(const fleet::FrameFacts& frame);
/// SenML packs (RFC 8428), in JSON and CBOR.
///
/// A resolved name is taken apart into the node's part and a field's name. A
/// record belongs to the field with the longest name that the resolved name ends
/// in, where that ending is all of the name, or stands right behind the base name,
/// behind `/` or `:`, or begins with one of `/ : - . _` itself. Separators `/` and
/// `:` at the end of the node's part don't count. To a field with an empty name
/// belong the records that no other takes; the node's part is then all of the name.
/// Where a field has a unit, the record's must be the same. Records that belong to
/// no field are other people's, and passed over.
///
/// Records of one node and one time are one report, in the order of their first
/// ones. Where a field comes again within it, the next report of that node and time
/// begins. The time goes to the report's time
/// where it is absolute, else to its age; 0 stands for neither. Relative times to
/// come, which actuators get, are bad values.
///
/// Address, name and receiver with an empty record name are the node's part, the
/// address what stands behind its last `/` or `:`, in hex digits (as in
/// urn:dev:mac: and urn:dev:ow: of RFC 9039); with one, they are that record's
/// value. Sums are not used; a record with a sum alone is passed over. A node's
/// part of more than 200 characters is a bad value.
///
/// Encoding: one pack, the node's part as base name (the name, else the address,
/// an EUI-64 behind urn:dev:mac:), the time or age as base time.
std::unique_ptr<BodyCodec> make_senml_codec(const fleet::FrameFacts& frame);

}  // namespace fieldfare::wire
