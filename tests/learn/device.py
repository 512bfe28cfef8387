# SPDX-License-Identifier: Apache-2.0
"""A device made up by chance: what its reports look like, and what five of its nodes send."""

import checks
import framers
import quantities
from dice import Dice

BEGIN_S = 1772431200  # 2026-03-02T06:00:00Z; any time would do
NODES = 5
FRAMINGS = (("none", 15), ("slip", 17), ("hdlc", 20), ("cobs", 14), ("length-prefixed", 17), ("delimited", 17))
SENDERS = {"slip": framers.slip, "hdlc": framers.hdlc, "cobs": framers.cobs}


class Field:
    def __init__(self, quantity, form, order):
        self.quantity, self.form, self.order = quantity, form, order
        self.name, self.at = quantity.name, None

    @property
    def type(self):
        name = f"{'i' if self.form.signed else 'u'}{8 * self.form.width}"
        return name if self.form.width == 1 else name + ("be" if self.order == "big" else "le")


class Report:
    def __init__(self, node, at_s, counter, values, restarts):
        self.node, self.at_s, self.counter, self.values, self.restarts = node, at_s, counter, values, restarts


class Device:
    """`kind`: binary, or text and json, whose reports are lines or documents."""

    def __init__(self, seed, kind="binary"):
        self.dice, self.seed, self.kind = Dice(seed), seed, kind
        self.draw_counter()
        self.draw_addresses()
        self.draw_fields()
        self.draw_check_and_frame()
        self.draw_traffic()

    # What a node of this kind is.

    def draw_counter(self):
        self.counter_bits = self.dice.pick((8, 16, 32))
        self.counter_starts_at = self.dice.pick((0, 0, 1))
        self.main_order = self.dice.pick(("big", "little"))
        self.counter_order = self.some_order()

    def some_order(self):
        """Mostly that of the rest of the device."""
        other = "little" if self.main_order == "big" else "big"
        return self.main_order if self.dice.happens(0.9) else other

    def draw_addresses(self):
        width = self.address_width = self.dice.pick((2, 4, 6, 8))
        self.address_order = self.dice.pick(("big", "big", "little"))
        varying = 2 if width == 2 or self.dice.happens(0.4) else self.dice.whole(2, min(4, width - 1))
        begin = bytearray(self.dice.octets(width - varying))
        if width > 2:
            begin[0] = begin[0] & 0xFC | 0x02  # locally administered, of one node
        self.addresses, endings = [], set()
        while len(self.addresses) < NODES:
            end = self.dice.octets(varying)
            if end[-2:] not in endings:
                endings.add(end[-2:])
                self.addresses.append(bytes(begin) + end)

    def draw_fields(self):
        known = [q for q in quantities.QUANTITIES if q.digits is not None]
        main = self.dice.pick(known)
        others = self.dice.shuffled([q for q in quantities.QUANTITIES if q is not main])
        chosen = self.dice.shuffled([main, *others[:self.dice.whole(0, 7)]])
        self.fields = [Field(q, self.dice.pick(q.forms), self.some_order()) for q in chosen]
        levels = {q.name: self.dice.between(q.low, q.high) for q in chosen}
        self.courses = [[quantities.Course(self.dice, q, levels[q.name]) for q in chosen] for _ in range(NODES)]

    # How a report is laid out.

    def draw_check_and_frame(self):
        if self.kind != "binary":
            return self.draw_document()
        dice = self.dice
        self.framing = dice.pick_weighted(FRAMINGS)
        self.start = self.end = b""
        self.length_at = None
        if self.framing in ("length-prefixed", "delimited"):
            self.start = dice.octets(dice.whole(1, 2))
            if self.framing == "delimited" and dice.happens(0.5):
                self.end = dice.pick((b"\x0d\x0a", b"\x03", b"\x0d", bytes([dice.whole(0, 255)])))
                if self.end in (b"\x00", b"\x7e", b"\xc0"):  # then it would be another framing until it escapes
                    self.end = b"\x04"
        self.check = self.some_check()
        blocks = [("constant", dice.octets(dice.whole(0, 3))), *self.some_order_of_blocks()]
        checked_in_front = self.check is not None and dice.happens(0.05)
        if self.check is not None:
            blocks.insert(1 if checked_in_front else len(blocks), ("check",))
        if self.framing == "length-prefixed":
            self.length_at = len(self.start)
            self.length_width = dice.pick((1, 1, 1, 2))
            self.length_order = self.main_order
            blocks.insert(0, ("length",))
        self.blocks = [("constant", self.start), *blocks]
        self.place_blocks(checked_in_front)

    def some_check(self):
        bare = {"none": 0.5, "slip": 0.15, "cobs": 0.15}.get(self.framing, 0)
        if self.dice.happens(bare):
            return None
        if self.framing == "hdlc" and self.dice.happens(0.6):
            return checks.Check("crc-16/ibm-sdlc")
        known = checks.USUAL if self.dice.happens(0.7) else tuple(checks.CRCS)
        of_width = {width: tuple(name for name in known if checks.CRCS[name].width == width) for width in (8, 16, 32)}
        of_width[24] = ("crc-24/ble", "crc-24/openpgp")
        family = self.dice.pick_weighted(((of_width[16], 50), (of_width[8], 18), (of_width[32], 10), (of_width[24], 2),
                                          (("sum-8", "sum-16"), 12), (("xor-8",), 8)))
        kind = self.dice.pick(family)
        order = self.dice.pick(("little", "big")) if self.dice.happens(0.2) else None
        complement = self.dice.pick(("none", "ones", "twos")) if kind.startswith("sum") else "none"
        return checks.Check(kind, order, complement)

    def some_order_of_blocks(self):
        address, counter = [("address",)], [("counter",)]
        fields = [("field", number) for number in range(len(self.fields))]
        return self.dice.pick_weighted(((address + counter + fields, 65), (counter + address + fields, 15),
                                        (address + fields + counter, 10), (counter + fields + address, 5),
                                        (fields + address + counter, 5)))

    def width_of(self, block):
        what = block[0]
        if what == "constant":
            return len(block[1])
        if what == "field":
            return self.fields[block[1]].form.width
        return {"address": self.address_width, "counter": self.counter_bits // 8,
                "check": self.check and checks.sent_width(self.check),
                "length": self.length_at is not None and self.length_width}[what]

    def place_blocks(self, checked_in_front):
        at = 0
        for block in self.blocks:
            if block[0] == "field":
                self.fields[block[1]].at = at
            elif block[0] != "constant":
                setattr(self, f"{block[0]}_at", at)
            at += self.width_of(block)
        self.octets = at  # of a frame as the framing hands it on: `start` and length still there, `end` gone
        if self.check is None:
            return
        if checked_in_front:
            self.check_from, self.check_to = self.check_at + checks.sent_width(self.check), at
        else:
            behind_framing = len(self.start) + (self.length_width if self.length_at is not None else 0)
            self.check_from = self.dice.pick_weighted(((0, 65), (behind_framing, 25), (min(1, self.check_at), 10)))
            self.check_to = self.check_at
        if self.length_at is not None:
            width = checks.sent_width(self.check)
            behind = self.length_at + self.length_width
            self.length_adds = self.dice.pick((0, behind, behind + width, width))

    def frame(self, report):
        """Octets of a report as the framing hands them on."""
        out = bytearray()
        for block in self.blocks:
            out += self.block_octets(block, report)
        if self.check is not None:
            sent = checks.as_sent(self.check, bytes(out[self.check_from:self.check_to]))
            out[self.check_at:self.check_at + len(sent)] = sent
        return bytes(out)

    def block_octets(self, block, report):
        what = block[0]
        if what == "constant":
            return block[1]
        if what == "address":
            address = self.addresses[report.node]
            return address if self.address_order == "big" else address[::-1]
        if what == "counter":
            return report.counter.to_bytes(self.counter_bits // 8, self.counter_order)
        if what == "length":
            return (self.octets - self.length_adds).to_bytes(self.length_width, self.length_order)
        if what == "check":
            return bytes(checks.sent_width(self.check))
        field = self.fields[block[1]]
        return self.raw(field, report).to_bytes(field.form.width, field.order, signed=field.form.signed)

    def shows_all_octets(self, field, reports):
        """Whether each octet of a field that counts changes among these. The highest ones may be 00 or FF
        throughout: then a narrower number reads the same."""
        if self.kind != "binary":
            return len({self.raw(field, report) for report in reports}) > 1
        width = field.form.width
        sent = [self.raw(field, report).to_bytes(width, "big", signed=field.form.signed) for report in reports]
        held = [{octets[at] for octets in sent} for at in range(width)]
        while held and held[0] in ({0}, {0xFF}):
            held.pop(0)
        return bool(held) and all(len(octets) > 1 for octets in held)

    def is_rough(self, field, reports):
        """Whether a number of several octets moves so far from report to report of a node, by half an octet's
        range or more, that its lowest octet can't be told from chance."""
        if self.kind != "binary" or field.form.width == 1:
            return False
        moves, last = [], {}
        for report in reports:
            raw = self.raw(field, report)
            if report.node in last:
                moves.append(abs(raw - last[report.node]))
            last[report.node] = raw
        return bool(moves) and sorted(moves)[len(moves) // 2] >= 128

    def shows_sign(self, field, reports):
        """Whether its highest bit is 0 at times and 1 at others. Else the number with a sign and the one without
        differ by a constant, and octets alone can't tell them apart."""
        if self.kind != "binary":
            return True
        half = 1 << 8 * field.form.width - 1
        return len({self.raw(field, report) & half for report in reports}) > 1

    def raw(self, field, report):
        """The number that a report sends for a field: of text and JSON, the reading as written."""
        if self.kind != "binary":
            return round(report.values[field.name], field.decimals)
        return quantities.raw_of(field.form, report.values[field.name])

    def on_stream(self, frame):
        if self.framing == "line":
            return frame + self.line_end
        return SENDERS.get(self.framing, lambda octets: octets + self.end)(frame)

    # What comes of text and JSON instead.

    def draw_document(self):
        dice = self.dice
        self.start = self.end = b""
        self.framing = dice.pick(("line", "none"))
        self.line_end = dice.pick((b"\n", b"\r\n"))
        self.check = None
        for field in self.fields:
            field.decimals = dice.whole(1, 2)
        self.keyed = dice.happens(0.5)
        self.separator = dice.pick((",", ";", " ", "\t"))
        self.assignment = dice.pick(("=", ":"))
        self.grouped = dice.pick((":", "-", ""))
        self.nested = dice.happens(0.5)
        self.header = dice.pick(([], ["R1"], ["$RPT"]))
        if self.kind == "text":
            self.frame = self.line_of
            if dice.happens(0.4):
                self.check = checks.Check(dice.pick(("xor-8", "sum-8", "crc-16/modbus")), "big", digits=True)
                self.check_from = 0
        else:
            self.frame = self.document_of

    def written_address(self, node):
        return self.addresses[node].hex(self.grouped).upper() if self.grouped else self.addresses[node].hex().upper()

    def line_of(self, report):
        columns = [*self.header, self.written_address(report.node)]
        columns.append(f"n{self.assignment}{report.counter}" if self.keyed else str(report.counter))
        for field in self.fields:
            text = f"{self.raw(field, report):.{field.decimals}f}"
            columns.append(f"{field.name[0]}{field.name[-1]}{self.assignment}{text}" if self.keyed else text)
        line = self.separator.join(columns).encode()
        if self.check is None:
            return line
        line += self.separator.encode()
        return line + checks.as_sent(self.check, line)

    def document_of(self, report):
        readings = ", ".join(f'"{field.name[:4]}": {self.raw(field, report)}' for field in self.fields)
        inner = f'"data": {{{readings}}}' if self.nested else readings
        return f'{{"id": "{self.written_address(report.node)}", "n": {report.counter}, {inner}}}'.encode()

    # What its nodes send.

    def draw_traffic(self):
        dice = self.dice
        nominal = dice.pick((10, 30, 60, 120, 300, 600, 900))
        alike = dice.happens(0.5)
        self.intervals = [nominal * dice.between(0.98, 1.02) if alike else nominal * dice.between(0.5, 2)
                          for _ in range(NODES)]
        self.next_s = [interval * dice.random() for interval in self.intervals]
        top = (1 << self.counter_bits) - 1
        self.counters = [min(top, int(dice.random() ** 2 * min(top, 60000)) + self.counter_starts_at)
                         for _ in range(NODES)]
        self.loss = dice.between(0, 0.1)
        # Lines and documents come from receivers that have checked what they heard: few are damaged.
        self.damage = dice.between(0, 0.3 if self.kind == "binary" else 0.1)
        self.noise = dice.pick((0, 0, dice.between(0.05, 0.5)))
        span = nominal * 40 / NODES
        self.restarts = sorted((dice.between(0.15, 0.85) * span, node)
                               for node in dice.shuffled(range(NODES))[:dice.whole(1, 3)])

    def next_report(self):
        """The next in order of time, heard or not."""
        node = min(range(NODES), key=lambda n: self.next_s[n])
        restarts = bool(self.restarts) and self.restarts[0][0] <= self.next_s[node]
        if restarts:
            at_s, node = self.restarts.pop(0)
            self.next_s[node] = at_s
            self.counters[node] = self.counter_starts_at
        at_s = self.next_s[node]
        counter = self.counters[node]
        self.counters[node] = (counter + 1) % (1 << self.counter_bits)
        self.next_s[node] = at_s + self.intervals[node] + 0.05 * self.dice.bell()
        values = {course.quantity.name: course.at(at_s) for course in self.courses[node]}
        return Report(node, BEGIN_S + at_s, counter, values, restarts)

    def heard_reports(self, count):
        heard = []
        while len(heard) < count:
            report = self.next_report()
            if report.restarts or not self.dice.happens(self.loss):
                heard.append(report)
        return heard
