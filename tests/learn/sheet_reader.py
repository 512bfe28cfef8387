# SPDX-License-Identifier: Apache-2.0
"""Reads frames as a sheet describes them (docs/formats/sheet.md), as far as learnt sheets go.

For clean streams: it finds its place again after a frame whose check fails, and that is all.
"""

import collections
import json
import re
import struct
import tomllib

import checks
import framers

Read = collections.namedtuple("Read", "octets sound fields")
"""A frame, whether its check and constants hold, and what its fields hold, by name, as sent."""


class Unread(Exception):
    """The sheet asks for something that this reader doesn't know."""


class SheetReader:
    def __init__(self, text):
        sheet = tomllib.loads(text)
        if "frame" not in sheet:
            raise Unread("no [frame]")
        self.sequence = sheet.get("sequence", {})
        self.frame = sheet["frame"]
        self.fields = self.frame.get("field", [])
        self.framing = self.frame.get("framing", "none")
        self.body = self.frame.get("body", "binary")
        self.start, self.end = (octets_of(self.frame.get(key, "")) for key in ("start", "end"))
        self.read_check()

    def read_check(self):
        said = self.frame.get("check")
        if said is None:
            self.check = None
            return
        said = {"kind": said} if isinstance(said, str) else said
        kind = said["kind"].lower()
        if kind not in checks.CRCS and kind not in ("sum-8", "sum-16", "xor-8"):
            raise Unread(f"a check of the kind {kind}")
        self.check = checks.Check(kind, said.get("order"), said.get("complement", "none"), said.get("digits", False))
        width = checks.sent_width(self.check)
        self.check_at, self.check_from = said.get("at", -width), said.get("from", 0)
        self.check_to = said.get("to", 0)

    def role(self, role):
        return next((field for field in self.fields if field.get("role", "reading") == role), None)

    # From a stream to frames.

    def read(self, arrivals):
        """All frames of some arrivals; of messages each is one."""
        if self.framing == "none":
            return [self.one(octets) for octets in arrivals]
        stream = b"".join(arrivals)
        if self.framing in ("length-prefixed", "delimited"):
            return list(self.searched(stream))
        delimiter, undo = {"slip": (b"\xc0", framers.unslip), "hdlc": (b"\x7e", framers.unhdlc),
                           "cobs": (b"\x00", framers.uncobs),
                           "line": (b"\n", lambda line: line.removesuffix(b"\r"))}[self.framing]
        undone = (undo(piece) for piece in stream.split(delimiter) if piece)
        return [self.one(octets) for octets in undone if octets]

    def searched(self, stream):
        at = 0
        while at < len(stream):
            end = self.end_of_frame(stream, at)
            if end is not None:
                read = self.one(stream[at:end - len(self.end)])
                if read.sound:
                    yield read
                    at = end
                    continue
            at += 1

    def end_of_frame(self, stream, at):
        if stream[at:at + len(self.start)] != self.start:
            return None
        length = self.frame.get("length")
        if self.framing == "length-prefixed":
            type_ = re.fullmatch(r"u(\d+)(be|le)?", length["type"])
            width = int(type_[1]) // 8
            sent = stream[at + length["at"]:at + length["at"] + width]
            end = at + int.from_bytes(sent, "little" if type_[2] == "le" else "big") + length.get("adds", 0)
            return end if at + length["at"] + width <= end <= len(stream) else None
        if length is not None:
            end = at + length
            return end if end <= len(stream) and stream[:end].endswith(self.end) else None
        behind_start = at + max(1, len(self.start))
        if self.end:
            found = stream.find(self.end, behind_start)
            return None if found < 0 else found + len(self.end)
        found = stream.find(self.start, behind_start)
        return len(stream) if found < 0 else found

    # From a frame to its fields.

    def one(self, octets):
        sound = self.holds(octets)
        try:
            fields = self.values(octets) if sound else {}
        except (IndexError, KeyError, ValueError, TypeError, UnicodeDecodeError, struct.error):
            return Read(octets, False, {})
        return Read(octets, sound and all(self.is_as_constant(field, fields) for field in self.fields), fields)

    def holds(self, octets):
        """Whether the check does; and the frame begins as all do."""
        if not octets.startswith(self.start):
            return False
        if self.check is None:
            return True
        length, width = len(octets), checks.sent_width(self.check)
        at = self.check_at if self.check_at >= 0 else length + self.check_at
        begin = self.check_from if self.check_from >= 0 else length + self.check_from
        end = self.check_to if self.check_to > 0 else length + self.check_to if self.check_to < 0 else None
        if end is None:
            end = length if at < begin else at
        if at < 0 or begin < 0 or at + width > length or not begin <= end <= length:
            return False
        sent = octets[at:at + width]
        return (sent.upper() if self.check.digits else sent) == checks.as_sent(self.check, octets[begin:end])

    @staticmethod
    def is_as_constant(field, fields):
        due = field.get("equals")
        if due is None or field["name"] not in fields:
            return True
        held = fields[field["name"]]
        if isinstance(held, bytes):
            return held == octets_of(due)
        return held == (int.from_bytes(octets_of(due), "big") if isinstance(due, str) and isinstance(held, int) else due)

    def values(self, octets):
        front, back = self.margins(len(octets))
        if self.body == "binary":
            return self.binary_values(octets, front, back)
        body = octets[front:back]
        if self.body == "json":
            return self.json_values(json.loads(body))
        if self.body == "text":
            return self.text_values(body.decode())
        raise Unread(f"a body of the kind {self.body}")

    def margins(self, length):
        """Of what is between start, length and check in front and the check at the end."""
        front, back = len(self.start), length
        if self.framing == "length-prefixed" and self.frame["length"]["at"] <= front:
            front = self.frame["length"]["at"] + int(re.sub(r"\D", "", self.frame["length"]["type"])) // 8
        if self.check is not None and self.check_at < 0:
            back = length + self.check_at
        elif self.check is not None and self.check_at == front:
            front += checks.sent_width(self.check)
        return front, back

    def binary_values(self, octets, front, back):
        values, at = {}, front
        for field in self.fields:
            if "when" in field or "repeat" in field:
                raise Unread("a field that is there at times, or repeats")
            if "at" in field:
                at = field["at"] if field["at"] >= 0 else len(octets) + field["at"]
            value, at = one_value(octets, at, back, field)
            values[field["name"]] = value
        return values

    def json_values(self, document):
        values = {}
        for field in self.fields:
            held = document
            for step in field["pointer"].split("/")[1:]:
                held = held[int(step)] if isinstance(held, list) else held[step]
            values[field["name"]] = held
        return values

    def text_values(self, line):
        separator = self.frame.get("separator", ",")
        columns = line.split() if separator == " " else [column.strip() for column in line.split(separator)]
        sign = self.frame.get("assignment", "=")
        keyed = dict(column.split(sign, 1) for column in columns if sign in column)
        return {field["name"]: self.text_value(field, line, columns, keyed) for field in self.fields}

    def text_value(self, field, line, columns, keyed):
        is_text = field.get("role") in ("address", "name", "receiver", "part") or "equals" in field
        if "after" in field:
            place = columns[field["column"]] if "column" in field else line
            text = place[place.index(field["after"]) + len(field["after"]):].lstrip(" \t")
            text = re.match(r"[^\s%s]*" % re.escape(self.frame.get("separator", ",")) if is_text
                            else r"[-+]?[\d.,]*", text)[0]
        else:
            text = keyed[field["key"]] if "key" in field else columns[field["column"]]
        if is_text:
            return text
        if field.get("coding") == "hex":
            return int(text, 16)
        return float(text.replace(self.frame.get("decimal", "."), "."))


def octets_of(text):
    return text[5:].encode() if text.startswith("text:") else bytes.fromhex(text)


def one_value(octets, at, back, field):
    """A field's number, or its octets as people write them, and the place behind it."""
    said = field["type"]
    number = re.fullmatch(r"([uif])(\d+)(be|le)?", said)
    if number:
        width, order = int(number[2]) // 8, "little" if number[3] == "le" else "big"
        sent = taken(octets, at, width)
        if number[1] == "f":
            return struct.unpack((">" if order == "big" else "<") + {2: "e", 4: "f", 8: "d"}[width], sent)[0], at + width
        value = int.from_bytes(sent, order, signed=number[1] == "i")
        if "bits" in field:
            low, high = field["bits"]
            value = value >> low & (1 << high - low + 1) - 1
            if number[1] == "i" and value >> high - low:
                value -= 1 << high - low + 1
        return value, at + width
    decimal = re.fullmatch(r"bcd(\d)(le)?", said)
    if decimal:
        sent = taken(octets, at, int(decimal[1]))
        return int((sent[::-1] if decimal[2] else sent).hex()), at + len(sent)
    run = re.fullmatch(r"(bytes|text)(\d*)(le)?", said)
    if not run:
        raise Unread(f"a field of the type {said}")
    sent = taken(octets, at, int(run[2]) if run[2] else back - at)
    return (sent[::-1] if run[3] else sent), at + len(sent)


def taken(octets, at, width):
    if at < 0 or width < 0 or at + width > len(octets):
        raise IndexError
    return octets[at:at + width]
