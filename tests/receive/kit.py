# SPDX-License-Identifier: Apache-2.0
"""A site in a folder of its own, and the program listening for it."""

import collections
import json
import os
import pathlib
import signal
import sqlite3
import subprocess
import sys
import tempfile
import threading
import unittest

import standin

PROGRAM = os.environ.get("FIELDFARE_PROGRAM", "fieldfare")


class Listening:
    """A running `fieldfare listen`. What it says is read as it comes."""

    def __init__(self, folder, *arguments):
        self.process = subprocess.Popen([PROGRAM, "listen", str(folder), *arguments],
                                        stdin=subprocess.DEVNULL, stdout=subprocess.PIPE,
                                        stderr=subprocess.PIPE, text=True)
        self.shown, self.told = [], []
        self.readers = [threading.Thread(target=self.gather, args=(self.process.stdout, self.shown)),
                        threading.Thread(target=self.gather, args=(self.process.stderr, self.told))]
        for reader in self.readers:
            reader.start()

    @staticmethod
    def gather(stream, lines):
        for line in stream:
            lines.append(line.rstrip("\n"))

    def has_told(self, text):
        return any(text in line for line in self.told)

    def wait_told(self, text, seconds=60):
        standin.wait_for(lambda: self.has_told(text) or self.process.poll() is not None, seconds,
                         f"'{text}' (told so far: {self.told})")
        if not self.has_told(text):
            raise AssertionError(f"it ended before it told '{text}': {self.told}")

    def end(self, how=signal.SIGTERM):
        self.process.send_signal(how)
        return self.wait()

    def wait(self):
        code = self.process.wait(120)
        for reader in self.readers:
            reader.join()
        self.process.stdout.close()
        self.process.stderr.close()
        return code

    def answer(self):
        return json.loads("\n".join(self.shown))


class SiteTest(unittest.TestCase):
    maxDiff = None

    def setUp(self):
        self.folder_holder = tempfile.TemporaryDirectory()
        self.addCleanup(self.folder_holder.cleanup)
        self.folder = pathlib.Path(self.folder_holder.name)
        self.listenings = []
        self.addCleanup(self.end_all)

    def end_all(self):
        for listening in self.listenings:
            if listening.process.poll() is None:
                listening.end(signal.SIGKILL)

    def make_site(self, receivers, folder=None, nodes=3):
        """`receivers`: lines of TOML below each [[receiver]], by name."""
        site = pathlib.Path(folder or self.folder / "site")
        (site / "sheets").mkdir(parents=True)
        text = '[site]\nname = "Stand-in yard"\ninvented = true\n'
        for name, lines in receivers.items():
            text += f'[[receiver]]\nname = "{name}"\n{lines}\n'
        for number in range(1, nodes + 1):
            text += f'[[node]]\nname = "node {number}"\naddress = "{standin.address(number)}"\nsheet = "stand-in"\n'
        (site / "site.toml").write_text(text)
        (site / "sheets" / "stand-in.toml").write_text(standin.SHEET)
        return site

    def listen(self, site, *arguments):
        listening = Listening(site, *arguments)
        self.listenings.append(listening)
        return listening

    def stored(self, site, receiver=None):
        """How often each (node, seq) is in the store."""
        if not (site / "fieldfare.db").exists():
            return collections.Counter()
        with sqlite3.connect(f"file:{site}/fieldfare.db?mode=ro", uri=True, timeout=30) as database:
            wanted = "" if receiver is None else " WHERE receiver = ?"
            rows = database.execute("SELECT node, seq FROM hearings" + wanted,
                                    () if receiver is None else (receiver,)).fetchall()
        database.close()
        return collections.Counter(rows)

    def query(self, site, sql):
        with sqlite3.connect(f"file:{site}/fieldfare.db?mode=ro", uri=True, timeout=30) as database:
            rows = database.execute(sql).fetchall()
        database.close()
        return rows

    def check_balance(self, ledger):
        bytes_, frames, reports = ledger["bytes"], ledger["frames"], ledger["reports"]
        self.assertEqual(bytes_["fed"], bytes_["in_frames"] + bytes_["lost"] + bytes_["pending"])
        self.assertEqual(frames["seen"], frames["read"] + frames["unread"] + frames["foreign"])
        self.assertEqual(frames["unread"], sum(frames["unread_by_reason"].values()))
        self.assertEqual(reports["seen"], reports["hearings"] + reports["refused"])


main = unittest.main
