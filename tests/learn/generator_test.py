#!/usr/bin/python3
# SPDX-License-Identifier: Apache-2.0
"""That the made-up devices, their checks and framings are what they claim, and that a trial of a
perfect description passes while a wrong one does not."""

import re
import unittest

import checks
import framers
import sample as samples
import trial
from device import Device
from dice import Dice

SEEDS = range(150)


def tried(sample, sheet):
    return trial.Trial(sample, {"sheet": sheet, "findings": [{"part": "check", "sureness": "certain"}]})


class Parts(unittest.TestCase):
    def test_each_crc_gives_the_check_value_of_the_catalogue(self):
        for name, model in checks.CRCS.items():
            self.assertEqual(checks.crc(model, b"123456789"), model.check, name)

    def test_slip_is_that_of_rfc_1055(self):
        # RFC 1055, from memory: END 192 becomes 219 220, ESC 219 becomes 219 221.
        self.assertEqual(framers.slip(bytes([1, 192, 2, 219, 3])), bytes([192, 1, 219, 220, 2, 219, 221, 3, 192]))

    def test_hdlc_is_that_of_rfc_1662(self):
        # RFC 1662, 4.2, from memory: 7E is sent as 7D 5E, 7D as 7D 5D.
        self.assertEqual(framers.hdlc(bytes.fromhex("017E7D02")), bytes.fromhex("7E017D5E7D5D027E"))

    def test_cobs_is_that_of_its_paper(self):
        # Published examples of consistent overhead byte stuffing, from memory.
        for plain, stuffed in (("00", "0101"), ("0000", "010101"), ("11220033", "0311220233"),
                               ("11223344", "0511223344"), ("11000000", "0211010101")):
            self.assertEqual(framers.cobs(bytes.fromhex(plain)), b"\0" + bytes.fromhex(stuffed) + b"\0", plain)

    def test_what_is_stuffed_comes_back(self):
        for seed in SEEDS:
            octets = Dice(seed).octets(40) + b"\x00\x7d\x7e\xc0\xdb"
            for stuff, undo in ((framers.slip, framers.unslip), (framers.hdlc, framers.unhdlc),
                                (framers.cobs, framers.uncobs)):
                self.assertEqual(undo(stuff(octets)[1:-1]), octets)


class Samples(unittest.TestCase):
    def test_a_seed_gives_the_same_log_again(self):
        for seed in range(10):
            self.assertEqual(samples.Sample(Device(seed)).log(), samples.Sample(Device(seed)).log())
        self.assertNotEqual(samples.Sample(Device(1)).log(), samples.Sample(Device(2)).log())

    def test_all_that_was_asked_for_is_among_them(self):
        made = [samples.Sample(Device(seed)) for seed in SEEDS]
        devices = [sample.device for sample in made]
        self.assertLessEqual(max(len(sample.reports) for sample in made), 40)
        self.assertEqual({device.framing for device in devices},
                         {"none", "slip", "hdlc", "cobs", "length-prefixed", "delimited"})
        self.assertEqual({device.counter_bits for device in devices}, {8, 16, 32})
        self.assertEqual({device.address_width for device in devices}, {2, 4, 6, 8})
        self.assertEqual({len(device.fields) for device in devices}, set(range(1, 9)))
        self.assertEqual({field.form.width for device in devices for field in device.fields}, {1, 2, 3, 4})
        shares = [1 - sum(sample.sound) / len(sample.sound) for sample in made]
        self.assertTrue(min(shares) == 0 and 0.25 < max(shares), shares)
        for sample in made:
            self.assertEqual({report.node for report in sample.reports}, set(range(5)))
            self.assertTrue(sample.provoked)


class Trials(unittest.TestCase):
    def test_a_perfect_description_is_right_in_all(self):
        for seed in SEEDS:
            sample = samples.Sample(Device(seed))
            outcome = tried(sample, trial.true_sheet(sample.device))
            self.assertTrue(outcome.right and outcome.whole_address and outcome.start_right, trial.describe(sample))
            self.assertEqual(outcome.fields_right, len(sample.shown_fields))
            self.assertEqual(outcome.fields_same_form, len(sample.shown_fields))
            self.assertTrue(outcome.scale_right, trial.describe(sample))
            self.assertFalse(outcome.is_falsely_certain)

    def test_a_wrong_check_is_wrong_and_falsely_certain(self):
        for seed in SEEDS:
            sample = samples.Sample(Device(seed))
            sheet = trial.true_sheet(sample.device)
            if sample.device.check is None:
                continue
            without = re.sub(r"check = .*\n", "", sheet)
            other = re.sub(r'kind = "(crc|sum|xor)-(8|16|24|32)[^"]*"', r'kind = "crc-\2/none-such"', sheet)
            wrong = re.sub(r'order = "big"', 'order = "small"', sheet).replace('"little"', '"big"').replace(
                '"small"', '"little"')
            for text in (without, other) + ((wrong,) if checks.width_of(sample.device.check) > 1 else ()):
                outcome = tried(sample, text)
                self.assertFalse(outcome.core["check"], trial.describe(sample) + text)
                self.assertTrue(outcome.is_falsely_certain)

    def test_a_field_read_otherwise_is_not_right(self):
        for seed in SEEDS:
            sample = samples.Sample(Device(seed))
            sheet = trial.true_sheet(sample.device)
            swapped = re.sub(r'type = "([ui]\d+)(be|le)"(?!,)',
                             lambda found: f'type = "{found[1]}{"le" if found[2] == "be" else "be"}"', sheet)
            outcome = tried(sample, swapped)
            wide = [field for field in sample.shown_fields if field.form.width > 1]
            self.assertLessEqual(outcome.fields_right, len(sample.shown_fields) - len(wide))

    def test_a_scale_ten_times_too_large_is_not_right(self):
        for seed in SEEDS:
            sample = samples.Sample(Device(seed))
            sheet = re.sub(r"scale = (\S+)", lambda found: f"scale = {float(found[1]) * 10}",
                           trial.true_sheet(sample.device))
            self.assertFalse(tried(sample, sheet).scale_right)


if __name__ == "__main__":
    unittest.main()
