#!/usr/bin/python3
# SPDX-License-Identifier: Apache-2.0
"""A newcomer's first day, through the terminal alone: five nodes on a desk of which nothing is described.

One is mute, one wears another's label, one is so near that it overloads the receiver, one belongs to
another network, and one is well. He sees the screen and presses keys; nodes report when it suits them.
"""

import grp
import json
import os
import pathlib
import pwd
import re
import subprocess
import tempfile
import time
import unittest

from desk_nodes import FOREIGN, Desk, MuteNode, Node, Port
from dice import Dice
from seated import ENTER, ESCAPE, PROGRAM, Seated

PAGE_DOWN = "\x1b[6~"
CLAIMS = ("identity", "counter", "reading", "margin", "settings")
VERDICT = re.compile(rf"^\s*({'|'.join(CLAIMS)})\s+(met|open|failed):", re.MULTILINE)
MOST_PROVOKED = 3
SAID_TWICE_S = 10  # what is said again within that is a key pressed twice
ANSWERED_WITHIN_S = 120  # after that the program waits no longer for a provoked report
BEFORE_S = 30  # a report may have come so long before somebody said that he provoked it
LEARNT_S = 90


class FirstDay(unittest.TestCase):
    maxDiff = None

    def setUp(self):
        holder = tempfile.TemporaryDirectory()
        self.addCleanup(holder.cleanup)
        self.folder = pathlib.Path(holder.name)
        self.port = Port()
        self.addCleanup(self.port.unplug)

    def seat(self, *arguments, user=None):
        seated = Seated(self.folder, *arguments, user=user)
        self.addCleanup(seated.close)
        return seated

    def lay_out(self, *nodes):
        desk = Desk(self.port, nodes)
        desk.start()
        self.addCleanup(desk.stop)
        return desk

    # What the newcomer does.

    @staticmethod
    def back_to_list(seated):
        for _ in range(3):
            seated.press(ESCAPE)
            time.sleep(0.15)  # an escape character that something follows is no key of its own

    def type_label(self, seated, digits):
        self.back_to_list(seated)
        seated.press(f"/{digits}{ENTER}")
        seated.wait_for(lambda: any(re.match(rf"[> *][! ] {digits}\b", line) for line in seated.lines()))

    def page_of(self, seated, digits):
        """All that stands about a node."""
        self.back_to_list(seated)
        seated.press(f"/{digits}{ENTER}")
        time.sleep(0.1)
        seated.press(ENTER)
        seated.wait_for(r"\bheard\b")
        text = seated.text()
        seated.press(PAGE_DOWN)
        time.sleep(0.3)
        text += "\n" + seated.text()
        self.back_to_list(seated)
        return text

    def provoke(self, seated, desk, node):
        """Says that he presses the button, and presses it."""
        self.back_to_list(seated)
        seated.press(f"/{node.label}p")
        time.sleep(0.5)
        desk.press_button_of(node)

    def provoke_until(self, seated, desk, node, headline):
        """Does so until he reads what he should; three times at most."""
        for _ in range(MOST_PROVOKED):
            self.provoke(seated, desk, node)
            page = self.read_until(seated, node, headline, SAID_TWICE_S + 1)
            if re.search(headline, page):
                return page
        self.fail(f"label {node.label} is not told as '{headline}':\n{page}\n{seated.text()}")
        return ""

    def read_until(self, seated, node, headline, seconds):
        limit = time.monotonic() + seconds
        while True:
            page = self.page_of(seated, node.label)
            if re.search(headline, page) or time.monotonic() > limit:
                return page
            time.sleep(0.5)

    def save(self, seated, name):
        self.back_to_list(seated)
        seated.press("s")
        seated.wait_for("save as a site in folder:")
        seated.press("\x7f" * 40 + name + ENTER)
        seated.wait_for(rf"saved in \S*{name}")

    def run_program(self, *arguments):
        return subprocess.run([PROGRAM, *arguments], cwd=self.folder, stdin=subprocess.DEVNULL, capture_output=True,
                              text=True, timeout=60, check=False)

    def judged(self, site):
        done = self.run_program("judge", site, "--json")
        self.assertIn(done.returncode, (0, 1), done.stderr)
        return json.loads(done.stdout)["nodes"]

    # What must come of it.

    def test_five_nodes_are_told_rightly_and_nothing_is_lost(self):
        good = Node("024D210000005CE7")
        near = Node("024D2100000077C3", level=-8, damage=0.2, interval_s=2.1)
        foreign = Node("024D2100000030EE", network=FOREIGN, level=-55, interval_s=1.9)
        swapped = Node("024D21000000A1B2", label="B0D4", level=-51, interval_s=2.2)
        mute = MuteNode("024D210000009F31")
        desk = self.lay_out(good, near, foreign, swapped, mute)
        seated = self.seat("listen", "--port", self.port.name)
        for node in desk.nodes:
            self.type_label(seated, node.label)
        seated.wait_for("frames learnt", LEARNT_S)

        page = self.provoke_until(seated, desk, swapped, "wrong label")
        self.assertIn("A1B2", page)
        last_swapped = time.monotonic()
        self.provoke_until(seated, desk, good, "works")
        self.provoke_until(seated, desk, near, "too close")
        self.provoke_until(seated, desk, foreign, "other network")
        # Whoever answered the label before must not be taken for an answer to this one.
        time.sleep(max(0.0, last_swapped + BEFORE_S + 1 - time.monotonic()))
        for _ in range(MOST_PROVOKED):
            self.provoke(seated, desk, mute)
            time.sleep(SAID_TWICE_S + 1)
        last_mute = time.monotonic()

        self.back_to_list(seated)
        seated.press(f"/5CE7{ENTER}ncellar{ENTER}")
        seated.wait_for("cellar")
        seated.press(f"vtemperature_c {good.temperature:.1f}{ENTER}")
        seated.wait_for(rf"{int(good.temperature)}\.\d+ °C")
        self.save(seated, "barn")
        self.assertRegex(self.read_until(seated, mute, "mute", last_mute + ANSWERED_WITHIN_S - time.monotonic()), "mute")
        desk.stop()
        time.sleep(1.5)
        rows = [*(node.label for node in desk.nodes), swapped.address[-4:]]
        seen = {digits: dict(VERDICT.findall(self.page_of(seated, digits))) for digits in rows}
        seated.press("q")
        self.assertEqual(seated.wait_end(), 0)
        self.assertEqual(seated.screen.unknown, [])

        check = self.run_program("check", "barn")
        self.assertEqual(check.returncode, 0, check.stdout + check.stderr)
        nodes = self.judged("barn")
        self.assertEqual(nodes, self.judged("barn"))
        self.assertEqual({node["address"]: node["heard"]["reports"] for node in nodes if node["heard"]["reports"]},
                         {node.address: node.reports for node in desk.nodes if node is not mute})
        for digits, told in seen.items():
            self.assertEqual(self.judged_of(nodes, digits), told, digits)
        self.assertEqual({digits: told["identity"] for digits, told in seen.items()},
                         {"5CE7": "met", "77C3": "met", "30EE": "met", "B0D4": "failed", "A1B2": "failed",
                          "9F31": "failed"})

    @staticmethod
    def judged_of(nodes, digits):
        entry = next(node for node in nodes if (node.get("address") or node["node"]).endswith(digits))
        return {claim["claim"]: claim["verdict"] for claim in entry["claims"] if claim["claim"] in CLAIMS}

    def test_a_port_that_is_pulled_out_is_told_in_the_list_with_the_remedy(self):
        seated = self.seat("listen", "--port", self.port.name)
        seated.wait_for("listening")
        self.port.unplug()
        seated.wait_for(r"gone|vanished|not there")
        seated.wait_for(r"plug it in|plug")
        seated.press("q")
        self.assertEqual(seated.wait_end(), 0)

    def test_a_port_without_rights_is_told_in_the_list_with_the_remedy(self):
        if os.geteuid() != 0:
            self.skipTest("only root may be somebody without rights")
        nobody = pwd.getpwnam("nobody").pw_uid
        os.chown(self.folder, nobody, -1)
        os.chown(self.port.name, 0, grp.getgrnam("dialout").gr_gid)
        os.chmod(self.port.name, 0o660)
        seated = self.seat("listen", "--port", self.port.name, user=nobody)
        seated.wait_for("rights")
        seated.wait_for("dialout")
        seated.press("q")
        self.assertEqual(seated.wait_end(), 0)

    def test_a_wrong_speed_is_told_in_the_list_from_garbage(self):
        seated = self.seat("listen", "--port", self.port.name)
        seated.wait_for("listening")
        dice = Dice(9600)
        for _ in range(200):
            self.port.send(dice.octets(dice.whole(1, 40)))
        seated.wait_for("baud")
        seated.press("q")


    def test_killed_in_the_middle_it_has_kept_all_bytes(self):
        desk = self.lay_out(Node("024D210000005CE7"), Node("024D2100000077C3"), Node("024D2100000030EE"))
        seated = self.seat("listen", "--port", self.port.name)
        seated.wait_for("frames learnt", LEARNT_S)
        seated.press("?" + PAGE_DOWN)
        kept = seated.wait_for(lambda: re.search(r"All bytes are kept in (\S+?), saved", seated.flowing()))[1]
        time.sleep(3)
        seated.process.kill()
        killed = time.monotonic()
        seated.wait_end()
        desk.stop()
        log = (self.folder / kept).read_text()
        octets = b"".join(bytes.fromhex(fields[3]) for fields in map(str.split, log.splitlines())
                          if len(fields) > 3 and fields[2] == "stream")
        self.assertTrue(octets.startswith(self.port.sent_until(killed - 2)))
        self.assertTrue(self.port.sent_until(killed).startswith(octets))
        learnt = self.run_program("learn", self.folder / kept, "--label", "5CE7,77C3,30EE", "--json")
        self.assertEqual(learnt.returncode, 0, learnt.stderr)
        self.assertIn("crc-16/ibm-sdlc", json.loads(learnt.stdout)["sheet"].lower())


if __name__ == "__main__":
    unittest.main()
