#!/usr/bin/python3
# SPDX-License-Identifier: Apache-2.0
"""What the program learns of devices made up by chance, with at most 40 frames of each.

Limits: framing, check, address and counter together right in 95 %, fields and scales in 90 %, and never
certain of a check that is wrong. Few devices scatter: a limit here is the share that a learner who just
reaches it stays below in half a per cent of draws of seeds (`shares.FALSE_ALARM`). With many devices
`./measure learn` prints the shares themselves.
"""

import os
import unittest

import shares

DEVICES = int(os.environ.get("FIELDFARE_LEARN_DEVICES", "60"))


class Learning(unittest.TestCase):
    def check_shares(self, kind, devices):
        found = shares.Shares(range(devices), kind)
        report = "\n".join(found.lines())
        print(f"-- {devices} devices, {kind}\n{report}", flush=True)
        self.assertEqual(found.falsely_certain(), [], report)
        for name, share, limit in (("framing, check, address, counter", found.core(), 0.95),
                                   ("fields", found.fields(), 0.90), ("scale", found.scales(), 0.90)):
            with self.subTest(name):
                self.assertGreaterEqual(share.right, shares.least_right(share.of, limit), f"{name}\n{report}")

    def test_octets_in_frames(self):
        self.check_shares("binary", DEVICES)

    def test_lines_of_text(self):
        self.check_shares("text", DEVICES // 3)

    def test_documents_in_json(self):
        self.check_shares("json", DEVICES // 3)


if __name__ == "__main__":
    unittest.main()
