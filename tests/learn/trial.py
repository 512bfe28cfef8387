# SPDX-License-Identifier: Apache-2.0
"""What the program learns of a device, held against what the device is.

Descriptions that read the same count as the same: learnt and true ones are compared by what they make
of twenty fresh, undamaged frames, and of these with a bit turned.
"""

import json
import os
import pathlib
import re
import subprocess
import tempfile

import checks
import sample as samples
from device import Device
from sheet_reader import SheetReader, Unread

PROGRAM = os.environ.get("FIELDFARE_PROGRAM", "fieldfare")
MOST_S = 60


def learn(sample, program=PROGRAM, timeout_s=MOST_S):
    """The program's answer, as `--json` gives it."""
    with tempfile.TemporaryDirectory() as folder:
        log = pathlib.Path(folder) / "bytes.log"
        log.write_text(sample.log())
        done = subprocess.run([program, "learn", log, *sample.arguments(), "--json"], stdin=subprocess.DEVNULL,
                              capture_output=True, text=True, timeout=timeout_s, check=False)
    if done.returncode not in (0, 1) or not done.stdout:
        raise AssertionError(f"learn exits {done.returncode} for {describe(sample)}: {done.stderr[-500:]}")
    return json.loads(done.stdout)


def describe(sample):
    device = sample.device
    return f"device {device.seed} ({device.kind}, {device.framing}, {device.check and device.check.kind})"


class Trial:
    """`core`: framing, check, address and counter, each right or not."""

    def __init__(self, sample, answer):
        self.sample, self.device, self.answer = sample, sample.device, answer
        self.core = {"framing": False, "check": False, "address": False, "counter": False}
        self.whole_address = self.start_right = False
        self.fields_shown, self.fields_right, self.fields_same_form = len(sample.shown_fields), 0, 0
        self.rough_right = 0
        self.scale_counts = sample.value_tells and sample.instrument in sample.shown_fields
        self.scale_right = False
        self.why = ""
        self.reader = None
        try:
            self.reader = SheetReader(answer.get("sheet") or "")
            self.compare()
        except Unread as unread:
            self.why = str(unread)
        self.is_falsely_certain = not self.core["check"] and not self.check_holds_in_true_frames() and any(
            finding["part"] == "check" and finding["sureness"] == "certain" for finding in answer["findings"])

    def check_holds_in_true_frames(self):
        """Where the framing alone is wrong, the check is not: it holds in frames that are cut as they were sent."""
        if self.device.check is None or self.reader is None or self.reader.check is None:
            return False
        return all(self.reader.holds(self.device.frame(report)) for report in self.sample.fresh) and (
            not self.core["framing"])

    @property
    def right(self):
        return all(self.core.values())

    @property
    def had_provoked_restart(self):
        return bool(self.sample.provoked)

    def compare(self):
        device, fresh = self.device, self.sample.fresh
        frames = [device.frame(report) for report in fresh]
        read = self.reader.read([device.on_stream(frame) for frame in frames])
        sound = [one for one in read if one.sound]
        self.core["framing"] = len(sound) == len(fresh) == len(read)
        if not self.core["framing"]:
            self.why = f"{len(read)} frames cut of {len(fresh)}, {len(sound)} sound"
            return
        self.core["check"] = self.check_agrees(frames)
        self.core["address"] = self.address_agrees(sound)
        counter = self.reader.role("sequence")
        self.core["counter"] = counter is not None and all(
            one.fields.get(counter["name"]) == report.counter for one, report in zip(sound, fresh))
        self.start_right = self.reader.sequence.get("starts_at", 0) == device.counter_starts_at
        self.compare_fields(sound)

    def check_agrees(self, frames):
        """Holds for what is sound, and no longer where a bit was turned of those checked octets that change."""
        if self.device.check is None or self.reader.check is None:
            return self.device.check is None and self.reader.check is None
        for number, frame in enumerate(frames):
            at = self.nth_changing(frames, number)
            turned = frame[:at] + bytes([frame[at] ^ 1 << number % 8]) + frame[at + 1:]
            if any(one.sound for one in self.reader.read([self.device.on_stream(turned)])):
                return False
        return True

    def nth_changing(self, frames, number):
        """Place of a checked octet that is not the same in all frames, as far as they are of one length."""
        device, length = self.device, min(map(len, frames))
        first, end = device.check_from, device.check_to if device.kind == "binary" else length - 8
        places = [at for at in range(first, end) if len({frame[at] for frame in frames}) > 1]
        return places[number % len(places)]

    def address_agrees(self, sound):
        """Tells the nodes apart, and is the end of what stands on the label, with all that differs in it."""
        field = self.reader.role("address") or self.reader.role("name")
        if field is None:
            return False
        self.whole_address, known = True, {}
        for one, report in zip(sound, self.sample.fresh):
            true, held = self.device.addresses[report.node].hex().upper(), one.fields.get(field["name"])
            held = held.hex().upper() if isinstance(held, bytes) else (
                f"{held:0{octets_wide(field) * 2}X}" if isinstance(held, int) else re.sub(r"[^0-9A-F]", "", str(held).upper()))
            if not (true.endswith(held) or held.endswith(true)) or len(held) < 4:
                return False
            self.whole_address &= held == true
            known[report.node] = held
        return len(set(known.values())) == len(known)

    # Fields.

    def compare_fields(self, sound):
        for field in self.sample.shown_fields:
            self.fields_right += self.is_read_right(field, sound)
            self.fields_same_form += any(learnt.get("at") == field.at and learnt.get("type") == field.type
                                         and "bits" not in learnt for learnt in self.reader.fields)
        self.rough_right = sum(self.is_read_right(field, sound) for field in self.sample.rough_fields)
        self.compare_scale(sound)

    def is_read_right(self, field, sound):
        return any(self.reads_as(learnt, field, sound) for learnt in self.reader.fields)

    def reads_as(self, learnt, field, sound, exactly=False):
        """Reads the same numbers; up to the sign, where the sample doesn't show it."""
        if learnt.get("role", "reading") in ("address", "sequence", "name"):
            return False
        shows_sign = exactly or self.device.shows_sign(field, self.sample.sound_reports())
        modulus = None if shows_sign else 1 << 8 * field.form.width
        for one, report in zip(sound, self.sample.fresh):
            held, due = one.fields.get(learnt["name"]), self.device.raw(field, report)
            if not isinstance(held, (int, float)) or (held != due and (modulus is None or (held - due) % modulus)):
                return False
        return True

    def compare_scale(self, sound):
        field = self.sample.instrument
        scale, offset = (field.form.scale, field.form.offset) if self.device.kind == "binary" else (1, 0)
        names = [one for one in self.reader.fields if one["name"] == field.name or (
            field.name == "supply_v" and one.get("role") == "supply")]
        self.scale_right = any(self.reads_as(one, field, sound, exactly=True)
                               and abs(one.get("scale", 1) / scale - 1) < 1e-6
                               and abs(one.get("offset", 0) - offset) < 1e-6 for one in names)


def octets_wide(field):
    return int(re.sub(r"\D", "", field.get("type", "0")) or 0) // 8


def try_device(seed, kind="binary"):
    sample = samples.Sample(Device(seed, kind))
    return Trial(sample, learn(sample))


def true_sheet(device):
    """The sheet that says of a device what it is: what a perfect learner would write."""
    lines = ['[sheet]', 'name = "true"', 'kind = "node"', '[sequence]', f'bits = {device.counter_bits}',
             f'starts_at = {device.counter_starts_at}', '[frame]', f'framing = "{device.framing}"']
    if device.framing in ("length-prefixed", "delimited"):
        lines.append(f'start = "{device.start.hex()}"')
    if device.end:
        lines.append(f'end = "{device.end.hex()}"')
    if device.framing == "delimited":
        lines.append(f"length = {device.octets + len(device.end)}")
    if device.framing == "length-prefixed":
        suffix = "" if device.length_width == 1 else device.length_order[0] + "e"
        lines.append(f'length = {{ at = {device.length_at}, type = "u{8 * device.length_width}{suffix}", '
                     f'adds = {device.length_adds} }}')
    if device.check is not None:
        at_end = device.check_at > device.check_from or device.check_to == device.check_at
        at = -checks.sent_width(device.check) if at_end else device.check_at
        to = "" if at_end else f", to = {device.check_to}"
        lines.append(f'check = {{ kind = "{device.check.kind}", at = {at}, from = {device.check_from}{to}, '
                     f'order = "{checks.order_of(device.check)}", complement = "{device.check.complement}" }}')
    little = "le" if device.address_order == "little" else ""
    wide = 8 * (device.counter_bits // 8)
    order = "" if wide == 8 else device.counter_order[0] + "e"
    fields = [("node", device.address_at, f"bytes{device.address_width}{little}", 'role = "address"'),
              ("seq", device.counter_at, f"u{wide}{order}", 'role = "sequence"')]
    fields += [(f.name, f.at, f.type, f"scale = {f.form.scale}\noffset = {f.form.offset}") for f in device.fields]
    for name, at, type_, more in fields:
        lines += ["[[frame.field]]", f'name = "{name}"', f"at = {at}", f'type = "{type_}"', more]
    return "\n".join(lines) + "\n"
